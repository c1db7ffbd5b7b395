"""A logbook with two trips, two years and another diver, for the tests of the Logbook room."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

from driver import ON_THE_DOCK, Driver

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Dive, Site
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import AIR, BreathingGas

NITROX = BreathingGas(0.32)
LEDGE, STEPS = "Gännet Ledge", "Otter Steps"
DIVES = (
    # digit of the id, start, depth, minutes, number, site, buddies, gas, trip, tags, notes, diver
    ("a", "2025-06-01T09:00", 12.0, 50, 1, LEDGE, ("Imke",), AIR, "Sorvane", ("reef",), "kelp", ""),
    ("b", "2025-06-01T13:00", 31.0, 30, 2, STEPS, ("Tom",), NITROX, "Sorvane", ("wreck",), "crab", ""),
    ("c", "2025-06-02T09:00", 18.0, 40, 3, LEDGE, ("Imke",), AIR, "Sorvane", (), "", ""),
    ("d", "2026-05-09T09:00", 22.0, 45, 4, "Winch Terrace", (), NITROX, "Gannock", ("wreck",), "kelp", ""),
    ("e", "2026-05-10T09:00", 40.0, 25, 5, "", ("Imke", "Tom"), NITROX, "", (), "", ""),
    ("f", "2026-05-10T09:05", 41.0, 26, None, STEPS, (), AIR, "", (), "kelp", "Imke"),
)  # fmt: skip


def logbook_of_trips(folder: Path) -> Path:
    """Write the logbook and return its path."""
    path = folder / "trips.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    logbook.keep_dives([_dive(*told) for told in DIVES])
    logbook.close()
    return path


def _dive(
    name: str, began: str, depth_m: float, minutes: float, number: int | None, site: str, *rest: Any
) -> Dive:
    buddies, gas, trip, tags, notes, diver = rest
    return Dive(
        id=name * 32,
        began_at=datetime.fromisoformat(f"{began}+01:00"),
        utc_offset_min=60,
        duration_min=minutes,
        max_depth_m=depth_m,
        number=number,
        site=Site.named(site) if site else None,
        buddies=buddies,
        cylinders=(Cylinder(gas),),
        trip=trip,
        tags=tags,
        notes=notes,
        diver=diver,
        estimate=True,
    )


def rows(driver: Driver) -> list[Any]:
    """Return the rows on the screen, the upper first."""
    return sorted(driver.find_all(role="DiveRow"), key=lambda row: -row.y)


def listed(driver: Driver) -> str:
    """Return the dives that are listed by the digit of their ids, headings by their names."""
    lines = driver.app.shell.rooms.room("logbook").ids.dives.data
    return " ".join(line.site if line.heading else line.chosen[:1] for line in lines)


def row_of(driver: Driver, words: str) -> Any:
    """Return the row on the screen that stands for a dive or a name."""
    (found,) = [row for row in rows(driver) if row.words.chosen == words * 32 or row.words.site == words]
    return found


def look_for(driver: Driver, text: str) -> None:
    """Write into the search field."""
    driver.tap(test_id="search")
    driver.type(text)
    settle(driver)


def settle(driver: Driver) -> None:
    """Wait until what was asked, and what that asked in turn, is drawn."""
    driver.idle()
    driver.idle()


def open_sheet(driver: Driver, sheet: str) -> None:
    """Open the sheet of one filter, behind Filter where there is no room for all of them."""
    if not driver.find_all(test_id=f"chip-{sheet}"):
        driver.tap(test_id="chip-filter")
        settle(driver)
        touch(driver, f"chip-{sheet}")
        return
    driver.tap(test_id=f"chip-{sheet}")
    settle(driver)


def touch(driver: Driver, test_id: str) -> None:
    """Touch something on a sheet, scrolled to where it does not show as a whole."""
    widget = driver.find(test_id=test_id)
    page = next(page for page in driver.find_all(role="Page"))
    bottom, top = page.to_window(page.x, page.y)[1], page.to_window(page.x, page.top)[1]
    if not bottom <= widget.to_window(*widget.pos)[1] <= top - widget.height:
        driver.bring_into_view(widget)
    driver.tap(widget)
    settle(driver)


def close_sheet(driver: Driver) -> None:
    """Go back to the list."""
    driver.tap(test_id="sheet-done")
    settle(driver)

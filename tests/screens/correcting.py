"""A logbook with dives to correct, and a finger that corrects them."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

from driver import ON_THE_DOCK, Driver

from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.record import Dive, Site, Water
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.shipped_files import shipped_folder

STEPS = Site.named("Otter Steps", elevation_m=412.0, water=Water.FRESH)


def weekend_and_two_by_hand(path: Path) -> Path:
    """Write the demo's last weekend (213 and 214, recorded), and 215 and 216 by hand at one site."""
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    logbook.import_files([shipped_folder("demo_data") / "last_weekend.uddf"])
    for hours in (26, 1):
        logbook.add_by_hand(
            HandEntry(
                began_local=ON_THE_DOCK - timedelta(hours=hours),
                duration_min=34,
                max_depth_m=13,
                gas=BreathingGas(0.32),
                site=STEPS,
                buddies=("Imke R.",),
                volume_l=12.0,
            )
        )
    logbook.close()
    return path


def dive_numbered(driver: Driver, number: int) -> Dive:
    """Return the record as the logbook has it now."""
    return next(dive for dive in asked(driver, lambda logbook: logbook.dives()) if dive.number == number)


def asked(driver: Driver, work: Any) -> Any:
    """Return what the logbook answers."""
    found: list[Any] = []
    driver.app.ask(work, then=found.append)
    driver.idle()
    return found[0]


def open_page(driver: Driver, number: int) -> Driver:
    """Turn to the page of the dive with this number."""
    driver.app.open_dive(dive_numbered(driver, number).id)
    driver.idle()
    driver.frames(3)
    return driver


def touch(driver: Driver, test_id: str) -> Any:
    """Tap what has this name, scrolled to first, and let the worker answer."""
    widget = driver.bring_into_view(driver.find(test_id=test_id))
    driver.tap(widget)
    driver.idle()
    return widget


def edit(driver: Driver, field: str) -> None:
    """Open the sheet on a field."""
    touch(driver, f"edit-{field}")
    driver.wait(0.2)
    assert driver.find_all(role="FieldPanel"), f"{field} did not open"


def press(driver: Driver, keys: str) -> None:
    """Press keys of the pad, then the one that goes on."""
    for key in keys:
        driver.tap(test_id=f"key-{key}")
    driver.tap(test_id="key-next")
    driver.idle()
    driver.wait(0.2)


def write(driver: Driver, field_id: str, text: str) -> None:
    """Write into a field, in place of what stands there."""
    field = touch(driver, field_id)
    field.select_all()
    field.delete_selection()
    driver.type(text)


def save(driver: Driver) -> None:
    """Save what stands on the sheet."""
    touch(driver, "panel-save")
    driver.wait(0.2)

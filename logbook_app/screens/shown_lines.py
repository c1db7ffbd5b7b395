"""What the club sees of a dive, in words: exactly what a record that shows it holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from logbook_app.language import _, later

PART_WORDS = (
    ("place", later("Place, by its name")),
    ("gas", later("Gas and cylinders")),
    ("samples", later("Depth profile")),
    ("buddies", later("Buddies' names")),
)
NEVER_SHOWN = later(
    "Notes, medical facts, the pre-dive card, the exact position, tags, trip, rating, weight, suit, kit with"
    " its prices, photos, remarks and every other field stay with you: what is shown has no place for them."
)


@dataclass(frozen=True, slots=True)
class SeenLine:
    """One thing that others see."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class ShownLines:
    """What a dive's page says of it.

    joined   whether there is a club
    shown    whether it sees the dive
    parts    that it sees, or would see
    state    in a sentence
    lines    what it sees, or would see
    """

    dive_id: str
    joined: bool
    shown: bool
    parts: tuple[str, ...]
    state: str
    lines: tuple[SeenLine, ...]


def part_answers() -> list[tuple[str, str]]:
    """Return the parts of a dive to choose from."""
    return [(part, _(words)) for part, words in PART_WORDS]


def shown_lines(logbook: Any, dive_id: str, parts: tuple[str, ...] | None = None) -> ShownLines | None:
    """Return what the club sees of a dive, None for one that is not the owner's. Runs in the worker.

    parts   that it would see where it sees nothing yet; the usual ones where None
    """
    from logbook_app.analysis.spoken_units import SpokenUnits

    if not logbook.has_club or not logbook.dive(dive_id).own:
        return None
    showing = logbook.for_others.showing(dive_id, parts)
    if not showing.joined:
        return None
    lines = tuple(_seen_lines(showing.sees, SpokenUnits(logbook.settings().units)))
    return ShownLines(dive_id, True, showing.shown, showing.parts, _state_words(showing.shown), lines)


def _state_words(shown: bool) -> str:
    if shown:
        return _("Every member of the club sees this of it, once you have synced:")
    return _("The club does not see this dive. Were it shown, every member would see this of it:")


def _seen_lines(sees: Any, units: Any) -> Iterator[SeenLine]:
    from logbook_app.analysis.spoken_times import clock_time, full_date
    from logbook_app.analysis.spoken_units import spoken_duration
    from logbook_app.dive.record import on_the_dock

    began = on_the_dock(sees.began_at, sees.utc_offset_min)
    yield SeenLine(_("Diver"), sees.diver or _("a member without a name; write yours in Settings"))
    yield SeenLine(_("Began"), f"{full_date(began)}, {clock_time(began)}")
    yield SeenLine(_("Duration"), spoken_duration(sees.duration_min))
    yield SeenLine(_("Greatest depth"), units.depth(sees.max_depth_m))
    if sees.mean_depth_m is not None:
        yield SeenLine(_("Mean depth"), units.depth(sees.mean_depth_m))
    if sees.lowest_temperature_c is not None:
        yield SeenLine(_("Lowest temperature"), units.temperature(sees.lowest_temperature_c))
    yield from _surroundings(sees, units)
    if sees.site:
        yield SeenLine(_("Site"), ", ".join(filter(None, (sees.site, sees.region))))
    if sees.cylinders:
        yield SeenLine(_("Cylinders"), "\n".join(_cylinder_words(each, units) for each in sees.cylinders))
    if sees.samples is not None:
        yield SeenLine(_("Depth profile"), _("time, depth, temperature and changes of gas"))
    if sees.buddies:
        yield SeenLine(_("Buddies"), ", ".join(sees.buddies))


def _surroundings(sees: Any, units: Any) -> Iterator[SeenLine]:
    from logbook_app.analysis.field_words import WATER

    yield SeenLine(_("Water"), _(WATER[sees.water]))
    if sees.elevation_m is not None:
        yield SeenLine(_("Elevation"), units.elevation(sees.elevation_m))
    if sees.surface_bar is not None:
        yield SeenLine(_("Surface pressure"), units.pressure(sees.surface_bar))


def _cylinder_words(cylinder: Any, units: Any) -> str:
    pressures = [units.pressure(bar) for bar in (cylinder.start_bar, cylinder.end_bar) if bar is not None]
    parts = (
        cylinder.gas.name if cylinder.gas else _("gas not recorded"),
        units.cylinder_volume(cylinder.volume_l) if cylinder.volume_l is not None else "",
        " → ".join(pressures),
    )
    return ", ".join(part for part in parts if part)

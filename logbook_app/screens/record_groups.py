"""The fields of a dive's record as its page shows them: in groups, each line to be touched and changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from logbook_app.analysis.field_words import cylinder_words, extra_label, extra_words, field_words, shown
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.edited_dive import FOLLOWS_RECORDING, is_for_the_diver
from logbook_app.dive.history import EXTRA
from logbook_app.dive.record import Dive
from logbook_app.language import _, later

CYLINDER = "cylinder."
NEW = "new"

_WHEN = ("began_at", "number", *FOLLOWS_RECORDING)
_WATER = ("lowest_temperature_c", "air_temperature_c", "visibility_m", "current", "conditions")
_GROUPS = (
    (later("When and how long"), _WHEN),
    (later("Where"), ("site", "water", "elevation_m", "surface_bar", "trip")),
    (later("Who"), ("diver", "buddies", "supervised_by", "role")),
    (later("Kit"), ("weights_kg", "suit")),
    (
        later("Water and air"),
        (
            "environments",
            "lowest_temperature_c",
            "air_temperature_c",
            "visibility_m",
            "current",
            "conditions",
        ),
    ),
    (later("About this dive"), ("purpose", "rating", "tags", "notes")),
)


@dataclass(frozen=True, slots=True)
class RecordLine:
    """One field to be touched.

    name    of the field; `cylinder.0` for a cylinder by its place, `cylinder.new` to add one
    value   what it says, empty for nothing
    detail  what there is to know of it
    fixed   True where it cannot be changed here
    """

    name: str
    label: str
    value: str
    detail: str = ""
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class RecordGroup:
    """Fields that belong together."""

    heading: str
    lines: tuple[RecordLine, ...]


def record_groups(dive: Dive, units: SpokenUnits) -> tuple[RecordGroup, ...]:
    """Return every field of a record that can be changed, in groups, with what follows the recording."""
    groups = [
        RecordGroup(_(heading), tuple(_line(dive, name, units) for name in names))
        for heading, names in _GROUPS
    ]
    groups.insert(3, RecordGroup(_("Cylinders"), tuple(_cylinders(dive, units))))
    if texts := tuple(_texts(dive)):
        groups.append(RecordGroup(_("Also in the file"), texts))
    return tuple(groups)


def _line(dive: Dive, name: str, units: SpokenUnits) -> RecordLine:
    line = shown(dive, name, units)
    if name in FOLLOWS_RECORDING and dive.profile_sha256 is not None:
        return RecordLine(name, line.label, line.value, _("follows the recording"), fixed=True)
    value = _("yours") if name == "diver" and dive.own else line.value
    return RecordLine(name, line.label, value, _detail(dive, name, units))


def _detail(dive: Dive, name: str, units: SpokenUnits) -> str:
    """Return what holds where a field says nothing."""
    if name == "elevation_m" and dive.elevation_m is None and dive.surface_elevation_m is not None:
        height = field_words(dive, name, dive.surface_elevation_m, units)
        return _("{height}, as its site").format(height=height)
    return ""


def _cylinders(dive: Dive, units: SpokenUnits) -> Iterator[RecordLine]:
    for place, cylinder in enumerate(dive.cylinders):
        label = _("Cylinder {number}").format(number=place + 1)
        yield RecordLine(f"{CYLINDER}{place}", label, cylinder_words(cylinder, units))
    yield RecordLine(f"{CYLINDER}{NEW}", _("Another cylinder"), "", _("add one"))


def _texts(dive: Dive) -> Iterator[RecordLine]:
    for name, text in dive.extra.items():
        for_the_diver = is_for_the_diver(name, text)
        if for_the_diver or not text.lstrip().startswith("<"):
            yield RecordLine(
                f"{EXTRA}{name}", extra_label(name), extra_words(name, text), fixed=not for_the_diver
            )

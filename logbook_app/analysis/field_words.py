"""What each field of a record is called, and what it says, in the diver's words and units."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Any, Final

from logbook_app.analysis.physics_sentences import gas_words
from logbook_app.analysis.spoken_times import moment, utc_offset
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_duration
from logbook_app.analysis.words_of_files import in_words
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.history import EXTRA
from logbook_app.dive.joined_dive import ALSO_WRITTEN
from logbook_app.dive.record import Dive, Environment, Recording, Role, Site, Water
from logbook_app.language import _, later, ngettext, number
from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.compressibility import HIGHEST_PRESSURE_BAR
from logbook_app.physics.minute_volume import free_gas_l

LABELS: Final[Mapping[str, str]] = {
    "number": later("Number"),
    "began_at": later("Start"),
    "utc_offset_min": later("Offset from UTC"),
    "duration_min": later("Dive time"),
    "max_depth_m": later("Greatest depth"),
    "mean_depth_m": later("Mean depth"),
    "site": later("Site"),
    "water": later("Water"),
    "elevation_m": later("Elevation of this dive"),
    "surface_bar": later("Surface pressure"),
    "cylinders": later("Cylinders"),
    "weights_kg": later("Weights"),
    "suit": later("Suit"),
    "kit": later("Kit"),
    "air_temperature_c": later("Air"),
    "lowest_temperature_c": later("Coldest water"),
    "visibility_m": later("Visibility"),
    "current": later("Current"),
    "conditions": later("Conditions"),
    "buddies": later("Buddies"),
    "diver": later("Whose dive"),
    "purpose": later("Purpose"),
    "supervised_by": later("Supervised by"),
    "role": later("There for"),
    "environments": later("Surroundings"),
    "trip": later("Trip"),
    "rating": later("Rating"),
    "tags": later("Tags"),
    "photos": later("Photos"),
    "camera_ahead_s": later("Camera's clock ahead"),
    "notes": later("Notes"),
    "recordings": later("Recordings"),
    "estimate": later("Samples"),
    "present": later("The dive"),
}

WATER: Final[Mapping[Water, str]] = {
    Water.RECORDER: later("as a depth gauge reckons, {rate}"),
    Water.FRESH: later("fresh water"),
    Water.SEA: later("sea water"),
}

ROLES: Final[Mapping[Role, str]] = {
    Role.TRAINING: later("training"),
    Role.ASSISTING: later("assisting"),
    Role.LEADING: later("leading the dive"),
    Role.TEACHING: later("teaching"),
    Role.SCIENCE: later("scientific work"),
}

ENVIRONMENTS: Final[Mapping[Environment, str]] = {
    Environment.CONFINED: later("confined water"),
    Environment.NIGHT: later("night"),
    Environment.LOW_VISIBILITY: later("low visibility"),
    Environment.CURRENT: later("current"),
    Environment.COLD: later("cold water"),
    Environment.ICE: later("under ice"),
    Environment.OVERHEAD: later("overhead"),
    Environment.WRECK: later("wreck"),
    Environment.ALTITUDE: later("altitude"),
    Environment.BLUE_WATER: later("blue water"),
}

# What UDDF calls a thing that the record has no field for.
_OF_A_FILE: Final[Mapping[str, str]] = {
    "alcoholbeforedive": later("Alcohol before the dive"),
    "anysymptoms": later("Symptoms"),
    "apparatus": later("Apparatus"),
    "breathingconsumptionvolume": later("Gas used, as the file says"),
    "datetime": later("Start, as the file has it"),
    "desaturationtime": later("Time to clear, as the file says"),
    "divenumberofday": later("Dive of the day"),
    "diveplan": later("Planned with"),
    "divetable": later("Table used"),
    "equipmentmalfunction": later("Trouble with kit"),
    "equipmentused": later("Kit in the file"),
    "globalalarmsgiven": later("Alarms"),
    "highestpo2": later("Highest ppO₂, as the file says"),
    "internaldivenumber": later("Number in the recorder"),
    "noflighttime": later("Time not to fly, as the file says"),
    "owner": later("Owner of the file"),
    "platform": later("Dived from"),
    "pressuredrop": later("Pressure drop"),
    "problems": later("Problems"),
    "program": later("Kind of diving"),
    "site.country": later("Country"),
    "site.density": later("Density of the water"),
    "site.environment": later("Kind of water"),
    "stateofrestbeforedive": later("Rest before the dive"),
    "surfaceintervalafterdive": later("Surface interval after, as the file says"),
    "surfaceintervalbeforedive": later("Surface interval before, as the file says"),
    "thermalcomfort": later("Comfort"),
    "workload": later("Workload"),
    "unread": later("Parts of the file that only go back into a file"),
}

_IN_SECONDS: Final = frozenset(
    ("desaturationtime", "noflighttime", "surfaceintervalafterdive", "surfaceintervalbeforedive")
)


@dataclass(frozen=True, slots=True)
class FieldLine:
    """One field as a page shows it: its name in the record, its label and what it says, empty for nothing."""

    name: str
    label: str
    value: str


def field_label(name: str) -> str:
    """Return what a field is called; a value of `extra` is named `extra.NAME`."""
    if name.startswith(EXTRA):
        return extra_label(name.removeprefix(EXTRA))
    return _(LABELS.get(name, name))


def extra_label(name: str) -> str:
    """Return a name of `extra` as a diver reads it.

    >>> extra_label("uddf:stateofrestbeforedive"), extra_label("also written: weights_kg")
    ('Rest before the dive', 'Also written: Weights')
    >>> extra_label("wave_height")
    'Wave height'
    """
    if name.startswith(ALSO_WRITTEN):
        return _("Also written: {field}").format(field=field_label(name.removeprefix(ALSO_WRITTEN)))
    plain = name.rpartition(":")[2].strip()
    if plain in _OF_A_FILE:
        return _(_OF_A_FILE[plain])
    told = " ".join(re.sub(r"[_.]+", " ", plain).split())
    return told[:1].upper() + told[1:]


def extra_words(name: str, text: str) -> str:
    """Return what a value of `extra` says: the standard writes times in seconds, and some fixed words.

    >>> extra_words("uddf:surfaceintervalbeforedive", "7870"), extra_words("uddf:owner", "7870")
    ('2 h 11 min', '7870')
    >>> extra_words("uddf:thermalcomfort", "very-cold")
    'very cold'
    """
    if name.rpartition(":")[2] in _IN_SECONDS and (seconds := _amount(text)) is not None:
        return spoken_duration(seconds / 60)
    return in_words(text) if name.rpartition(":")[2] in _OF_A_FILE else text


def _amount(text: str) -> float | None:
    """Return the amount that a file gives, None where it gives none."""
    try:
        amount = float(text)
    except ValueError:
        return None
    return amount if math.isfinite(amount) and amount >= 0 else None


def field_words(dive: Dive, name: str, value: Any, units: SpokenUnits) -> str:
    """Return what a value of a field says, empty where it says nothing.

    dive   whose field it is; an instant is told by its offset from UTC
    """
    if value is None or value in ("", ()):
        return ""
    if name == "began_at":
        return moment(value.astimezone(timezone(timedelta(minutes=dive.utc_offset_min))))
    if name in _SPOKEN:
        return _SPOKEN[name](value, units)
    return str(value)


def shown(dive: Dive, name: str, units: SpokenUnits) -> FieldLine:
    """Return a field of a dive as a page shows it."""
    if name.startswith(EXTRA):
        plain = name.removeprefix(EXTRA)
        return FieldLine(name, field_label(name), extra_words(plain, dive.extra.get(plain, "")))
    return FieldLine(name, field_label(name), field_words(dive, name, getattr(dive, name), units))


def water_words(water: Water, units: SpokenUnits) -> str:
    """Return what the depths were reckoned in.

    >>> water_words(Water.RECORDER, SpokenUnits("imperial"))
    'as a depth gauge reckons, 33 ft an atmosphere'
    """
    # EN 13319: 10 m a bar, so 1.01325 bar are 10.1325 m or 33.24 ft.
    rate = _("10 m a bar") if units.metric else _("33 ft an atmosphere")
    return _(WATER[water]).format(rate=rate)


def cylinder_size(cylinder: Cylinder, units: SpokenUnits) -> str:
    """Return how large a cylinder is, empty where that is not known.

    Where volumes are in cubic feet a cylinder is known by the gas that it holds when filled. The pressure
    that it is rated for is not in the record, so that is said of the pressure it had at the start.

    >>> cylinder_size(Cylinder(None, 11.1, 206.843), SpokenUnits("imperial")).replace("\u202f", " ")
    '77.8 cu ft at 3 000 psi (11.1 L of water)'
    """
    if cylinder.volume_l is None:
        return ""
    water = units.cylinder_volume(cylinder.volume_l)
    start_bar = cylinder.start_bar or 0.0
    if units.of.volume == "L" or not 0.0 < start_bar <= HIGHEST_PRESSURE_BAR:
        return water
    held_l = free_gas_l(cylinder.volume_l, start_bar, cylinder.gas or AIR)
    return _("{gas} at {pressure} ({volume} L of water)").format(
        gas=units.gas_volume(held_l),
        pressure=units.pressure(start_bar),
        volume=number(cylinder.volume_l, ".3g"),
    )


def cylinder_words(cylinder: Cylinder, units: SpokenUnits) -> str:
    """Return a cylinder in a line: gas, volume, pressures."""
    volume = cylinder_size(cylinder, units)
    start, end = (
        units.pressure(bar) if bar is not None else _("not written down")
        for bar in (cylinder.start_bar, cylinder.end_bar)
    )
    unwritten = cylinder.start_bar is None and cylinder.end_bar is None
    parts = [
        cylinder.name
        if cylinder.name not in (volume, SpokenUnits().cylinder_volume(cylinder.volume_l or 0))
        else "",
        gas_words(cylinder.gas) if cylinder.gas else _("gas not recorded"),
        volume,
        "" if unwritten else _("{start} to {end}").format(start=start, end=end),
    ]
    return ", ".join(part for part in parts if part)


def site_words(site: Site, units: SpokenUnits) -> str:
    """Return a site with all that is known of it."""
    parts = [
        site.name,
        site.region,
        "" if site.water is None else water_words(site.water, units),
        ""
        if site.elevation_m is None
        else _("{height} above sea level").format(height=units.elevation(site.elevation_m)),
        position_of(site),
    ]
    return ", ".join(part for part in parts if part)


def position_of(site: Site) -> str:
    """Return where a site is: `46.13120° N, 33.41270° W`, empty where not known."""
    if site.latitude_deg is None or site.longitude_deg is None:
        return ""
    north, east = site.latitude_deg, site.longitude_deg
    return (
        f"{abs(north):.5f}° {_('N') if north >= 0 else _('S')}, "
        f"{abs(east):.5f}° {_('E') if east >= 0 else _('W')}"
    )


def camera_words(ahead_s: int) -> str:
    """Return how far a camera's clock was ahead: `1 h 02 min`, `-3 min 20 s`."""
    sign, seconds = "\N{MINUS SIGN}" if ahead_s < 0 else "", abs(ahead_s)
    hours, minutes, rest = seconds // 3600, seconds % 3600 // 60, seconds % 60
    parts = [f"{hours} h" if hours else "", f"{minutes} min", f"{rest} s" if rest else ""]
    return sign + " ".join(part for part in parts if part)


def _photos(count: int) -> str:
    return ngettext("{count} photo", "{count} photos", count).format(count=count)


def _offset(minutes: int, _units: SpokenUnits) -> str:
    return utc_offset(datetime(2000, 1, 1, tzinfo=timezone(timedelta(minutes=minutes))))


def _recordings(recordings: tuple[Recording, ...], _units: SpokenUnits) -> str:
    named = [one.recorder or one.file_name for one in recordings]
    count = ngettext("{count} recording", "{count} recordings", len(named)).format(count=len(named))
    names = ", ".join(name for name in named if name)
    return f"{count}: {names}" if names else count


def _names(names: tuple[str, ...], _units: SpokenUnits) -> str:
    return ", ".join(names)


_SPOKEN: Final[Mapping[str, Callable[[Any, SpokenUnits], str]]] = {
    "utc_offset_min": _offset,
    "duration_min": lambda minutes, _units: spoken_duration(minutes),
    "max_depth_m": lambda depth_m, units: units.depth(depth_m),
    "mean_depth_m": lambda depth_m, units: units.depth(depth_m),
    "site": site_words,
    "water": water_words,
    "elevation_m": lambda height_m, units: units.elevation(height_m),
    "surface_bar": lambda bar, _units: number(bar, ".3f") + " bar",
    "cylinders": lambda several, units: "; ".join(cylinder_words(one, units) for one in several),
    "kit": lambda several, _units: ", ".join(one.name for one in several),
    "weights_kg": lambda weight_kg, units: units.weight(weight_kg),
    "air_temperature_c": lambda degrees, units: units.temperature(degrees),
    "lowest_temperature_c": lambda degrees, units: units.temperature(degrees),
    "visibility_m": lambda distance_m, units: units.round_depth(distance_m),
    "photos": lambda several, _units: _photos(len(several)),
    "camera_ahead_s": lambda seconds, _units: camera_words(seconds),
    "rating": lambda rating, _units: _("{rating} of 10").format(rating=rating),
    "role": lambda role, _units: _(ROLES[role]),
    "environments": lambda several, _units: ", ".join(_(ENVIRONMENTS[each]) for each in several),
    "suit": lambda suit, _units: in_words(suit),
    "current": lambda current, _units: in_words(current),
    "purpose": lambda purpose, _units: in_words(purpose),
    "buddies": _names,
    "tags": _names,
    "recordings": _recordings,
    "estimate": lambda estimate, _units: _("none") if estimate else _("recorded"),
    "present": lambda present, _units: _("in the logbook") if present else _("in the bin"),
}

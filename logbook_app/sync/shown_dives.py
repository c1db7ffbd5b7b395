"""What the other members of a club see of a dive: a record of its own, which holds nothing else.

A dive's record is its owner's alone; no list of readers opens it. What others see stands in a second
record of the owner, of the kind `shown`, which has the fields of `ShownDive` and no more. Notes, medical
facts, the card before the dive, prices, tags, ratings, photos and the exact position have no field there,
so that no choice, no error in an app and no change by a stranger can show them: the club takes no change
with another field or with anything more within one, and gives nobody but its owner a record that holds
some all the same (`server.permissions`).

The samples of a dive name what a recorder wrote of its diver as well. They are shown as a copy with
time, depth, temperature and gas alone, under the SHA-256 of that copy.

A kind whose name begins with `shown` is written for others; every other kind but the sign-off is its
owner's alone. That is how a later program shows more than dives, and how nothing is shown by default.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Final, get_type_hints

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive, Environment, Recording, Role, Site, Water, name_from_content
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.sync.changes import READERS, kind_of
from logbook_app.sync.merging import DELETED, Json, Record
from logbook_app.sync.records import holds_no_more, record_name

SHOWN: Final = "shown"
PLACE, GAS, SAMPLES, BUDDIES = "place", "gas", "samples", "buddies"
PARTS: Final = (PLACE, GAS, SAMPLES, BUDDIES)
SHOWN_CHANNELS: Final = ("temperature_c",)


@dataclass(frozen=True, slots=True)
class ShownCylinder:
    """A cylinder, without what its diver calls it."""

    gas: BreathingGas | None = None
    volume_l: float | None = None
    start_bar: float | None = None
    end_bar: float | None = None


@dataclass(frozen=True, slots=True)
class ShownSamples:
    """The copy of the samples that others may have.

    of   the beginning of the name of the samples that it was made from
    """

    profile_sha256: str
    of: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownDive:
    """All that others can ever see of a dive.

    diver    what its owner is called in the club
    site     the name of the place; where exactly it is nobody learns
    supervised   whether somebody stood over it, who is not said
    role, environments, visibility_m   what rules of experience ask of a dive
    parts    which of `PARTS` the owner chose; what belongs to no part is always shown
    """

    diver: str = ""
    began_at: datetime
    utc_offset_min: int = 0
    duration_min: float
    max_depth_m: float
    mean_depth_m: float | None = None
    surface_bar: float | None = None
    elevation_m: float | None = None
    water: Water = Water.RECORDER
    lowest_temperature_c: float | None = None
    estimate: bool = False
    site: str = ""
    region: str = ""
    cylinders: tuple[ShownCylinder, ...] = ()
    samples: ShownSamples | None = None
    buddies: tuple[str, ...] = ()
    supervised: bool = False
    role: Role | None = None
    environments: tuple[Environment, ...] = ()
    visibility_m: float | None = None
    parts: tuple[str, ...] = ()


_KINDS: Final = get_type_hints(ShownDive)
_FIELDS: Final = frozenset(each.name for each in fields(ShownDive))


def shown_name(dive_id: str) -> str:
    """Return the name of the record that shows a dive."""
    return record_name(SHOWN, record_name("dive", dive_id).partition(":")[2])


def may_be_shown(key: str) -> bool:
    """Return whether a record of this key is of a kind that is written for others."""
    return kind_of(key).startswith(SHOWN)


def only_shown(key: str, values: Mapping[str, Json]) -> bool:
    """Return whether what is written to a record is what others may see, down to the last key of it."""
    if kind_of(key) != SHOWN:
        return True
    return all(
        name in (READERS, DELETED) or (name in _FIELDS and holds_no_more(_KINDS[name], value))
        for name, value in values.items()
    )


def holds_only_shown(key: str, record: Record) -> bool:
    """Return whether a whole record is what others may see, what is kept beside included."""
    edits = ((name, edit.value) for name, field in record.items() for edit in field.heads)
    return all(only_shown(key, {name: value}) for name, value in edits)


def shown_dive(dive: Dive, diver: str, parts: Iterable[str], samples: ShownSamples | None) -> ShownDive:
    """Return what others see of a dive.

    diver     what its owner is called
    parts     that the owner chose
    samples   see `shown_samples`; left out where that part was not chosen
    """
    chosen = tuple(part for part in PARTS if part in set(parts))
    site = dive.site if PLACE in chosen else None
    return ShownDive(
        diver=diver,
        began_at=dive.began_at,
        utc_offset_min=dive.utc_offset_min,
        duration_min=dive.duration_min,
        max_depth_m=dive.max_depth_m,
        mean_depth_m=dive.mean_depth_m,
        surface_bar=dive.surface_bar,
        elevation_m=dive.surface_elevation_m,
        water=dive.water,
        lowest_temperature_c=dive.lowest_temperature_c,
        estimate=samples is None or SAMPLES not in chosen,
        site=site.name if site else "",
        region=site.region if site else "",
        cylinders=tuple(map(_shown_cylinder, dive.cylinders)) if GAS in chosen else (),
        samples=samples if SAMPLES in chosen else None,
        buddies=dive.buddies if BUDDIES in chosen else (),
        supervised=bool(dive.supervised_by),
        role=dive.role,
        environments=dive.environments,
        visibility_m=dive.visibility_m,
        parts=chosen,
    )


def shown_samples(profile: Profile, parts: Iterable[str]) -> Profile:
    """Return samples with nothing in them but time, depth, temperature, and changes of gas where it is shown.

    A recorder writes of its diver as well: heart rate, what was left of the gas, remarks.
    """
    channels = {name: profile.channels[name] for name in SHOWN_CHANNELS if name in profile.channels}
    switches = profile.switches if GAS in set(parts) else ()
    return Profile(profile.time_s, profile.depth_m, channels, switches)


def dive_of_another(key: str, shown: ShownDive, *, samples_here: bool) -> Dive:
    """Return what another member shows as a dive of theirs, to be looked at and compared.

    It is in no logbook: its id is that of the record, and whose it is makes it count nowhere.
    """
    samples = shown.samples if samples_here else None
    return Dive(
        id=key,
        began_at=shown.began_at,
        utc_offset_min=shown.utc_offset_min,
        duration_min=shown.duration_min,
        max_depth_m=shown.max_depth_m,
        mean_depth_m=shown.mean_depth_m,
        surface_bar=shown.surface_bar,
        elevation_m=shown.elevation_m,
        water=shown.water,
        lowest_temperature_c=shown.lowest_temperature_c,
        estimate=samples is None,
        diver=shown.diver or key.partition("/")[0][:8],
        site=Site.named(shown.site, region=shown.region) if shown.site else None,
        cylinders=tuple(Cylinder(c.gas, c.volume_l, c.start_bar, c.end_bar) for c in shown.cylinders),
        buddies=shown.buddies,
        role=shown.role,
        environments=shown.environments,
        visibility_m=shown.visibility_m,
        recordings=(Recording(name_from_content(SHOWN, key), samples.profile_sha256),) if samples else (),
    )


def _shown_cylinder(cylinder: Cylinder) -> ShownCylinder:
    return ShownCylinder(cylinder.gas, cylinder.volume_l, cylinder.start_bar, cylinder.end_bar)

"""The dive record: everything a diver writes down about one dive.

A record is complete when it exists, and never changes: `dataclasses.replace` makes the new one.
Instants are UTC with the local offset kept beside them, because a diver remembers the clock on
the dock and the loading needs the minutes between dives.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, timezone
from enum import StrEnum

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.kit import UsedKit
from logbook_app.dive.photo import MOST_AHEAD_S, Photo
from logbook_app.dive.pre_dive_card import PreDiveCard
from logbook_app.dive.problems import RefusedRecord, refuse_outside
from logbook_app.language import _, later
from logbook_app.physics.ambient_pressure import HIGHEST_ELEVATION_M, LOWEST_ELEVATION_M
from logbook_app.physics.constants import (
    DENSITY_EN13319_KG_M3,
    DENSITY_FRESH_KG_M3,
    DENSITY_SEA_KG_M3,
)

GREATEST_DEPTH_M = 350.0
LONGEST_DIVE_MIN = 48 * 60.0
FIRST_YEAR, LAST_YEAR = 1899, 2201  # in UTC, so that any clock may say 1900 to 2200

# Wide enough for any weather on any lake; outside it the analysis would reckon with nonsense.
LOWEST_SURFACE_BAR, HIGHEST_SURFACE_BAR = 0.2, 1.2

# Bounds for what enters no calculation: they keep out what is not a number.
_ANY_QUANTITY = 1e6

# Names made from content are the same on every device that reads the same file.
_NAMES = uuid.UUID("5b0a4f0e-3a5e-4a7e-9d6b-1a6c2f1d7e55")


class Water(StrEnum):
    """What a metre of depth weighs."""

    RECORDER = "recorder"  # 10 m per bar, as EN 13319 tells a depth gauge to show
    FRESH = "fresh"
    SEA = "sea"

    @property
    def density_kg_m3(self) -> float:
        """Density that turns this water's depth into pressure [kg/m3]."""
        return {
            Water.RECORDER: DENSITY_EN13319_KG_M3,
            Water.FRESH: DENSITY_FRESH_KG_M3,
            Water.SEA: DENSITY_SEA_KG_M3,
        }[self]


class Role(StrEnum):
    """What the diver was there for, where it was more than to dive."""

    TRAINING = "in training"
    ASSISTING = "assisting"
    LEADING = "leading"
    TEACHING = "teaching"
    SCIENCE = "scientific work"


class Environment(StrEnum):
    """What a dive had of its own, as rules of experience ask for it; open water unless it was confined."""

    CONFINED = "confined water"
    NIGHT = "night"
    LOW_VISIBILITY = "low visibility"
    CURRENT = "current"
    COLD = "cold water"
    ICE = "under ice"
    OVERHEAD = "overhead"
    WRECK = "wreck"
    ALTITUDE = "altitude"
    BLUE_WATER = "blue water"


@dataclass(frozen=True, slots=True)
class Site:
    """A place where people dive.

    elevation_m   height of its surface above sea level, None where not known [m]
    latitude_deg, longitude_deg   WGS 84, north and east positive [degree]
    water         fresh or sea where known; None leaves depth as the recorder means it

    Raises RefusedRecord for a place that is not on this planet.
    """

    id: str
    name: str
    elevation_m: float | None = None
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    water: Water | None = None
    region: str = ""

    def __post_init__(self) -> None:
        refuse_outside(later("An elevation"), self.elevation_m, "m", LOWEST_ELEVATION_M, HIGHEST_ELEVATION_M)
        refuse_outside(later("A latitude"), self.latitude_deg, later("degrees"), -90, 90)
        refuse_outside(later("A longitude"), self.longitude_deg, later("degrees"), -180, 180)

    @classmethod
    def named(cls, name: str, **known: float | Water | str | None) -> Site:
        """Return a site whose id follows from its name, so that two files mean the same place."""
        return cls(id=name_from_content("site", " ".join(name.casefold().split())), name=name, **known)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class Account:
    """What one recorder says of a dive that another recorder leads: by its own clock and gauge.

    The samples and gas switches of a recording only make sense with the start and the cylinders
    that came with them. While a recording leads, these are the dive's own fields.
    """

    began_at: datetime
    duration_min: float
    max_depth_m: float
    utc_offset_min: int = 0
    mean_depth_m: float | None = None
    surface_bar: float | None = None
    lowest_temperature_c: float | None = None
    cylinders: tuple[Cylinder, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "began_at", _as_utc(self.began_at))


@dataclass(frozen=True, slots=True)
class Recording:
    """One recorder's account of a dive; the first of a dive's recordings leads.

    fingerprint      names what was read, so that reading it again adds nothing
    profile_sha256   the stored profile, None for a dive without samples
    recorder         what the file calls the recorder
    file_name        the file it came from, without its folder
    account          what it says of the dive, None while it leads and where nobody kept it
    """

    fingerprint: str
    profile_sha256: str | None = None
    recorder: str = ""
    file_name: str = ""
    account: Account | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dive:
    """One dive of one diver.

    began_at         the instant the dive began, aware, UTC
    utc_offset_min   what the clock on the dock showed ahead of UTC [min]
    duration_min     from leaving the surface to returning to it [min]
    max_depth_m, mean_depth_m   as the file or the diver says; the analysis has its own from the
                     samples [m]
    surface_bar      pressure at the water's surface, as recorded [bar]
    elevation_m      of this dive, where it differs from the site's [m]
    water            decides what a metre of depth weighs
    cylinders        in the order the recorder or the diver names them
    kit              pieces of kit that it used; `suit` is what a file or a diver wrote of the suit
    photos           pictures taken on it, in the order they were added
    camera_ahead_s   how far the camera's clock was ahead of the clock on the dock [s]
    estimate         True where there are no samples: the loading takes a square profile
    trip             the journey that the dive was a part of, in the diver's words
    supervised_by    who stood over the dive in training, empty where nobody did
    role             what the diver was there for, None where it was to dive
    environments     what the dive had of its own, each once
    pre_dive         what was checked before it, None where no card was written
    diver            whose dive it is; empty for the owner of the logbook
    extra            values a file held that have no field of their own, kept as they were

    Raises RefusedRecord for a dive that contradicts itself.
    """

    id: str = field(default_factory=lambda: uuid.uuid4().hex)
    began_at: datetime
    utc_offset_min: int = 0
    duration_min: float
    max_depth_m: float
    mean_depth_m: float | None = None
    number: int | None = None
    diver: str = ""
    site: Site | None = None
    surface_bar: float | None = None
    elevation_m: float | None = None
    water: Water = Water.RECORDER
    cylinders: tuple[Cylinder, ...] = ()
    weights_kg: float | None = None
    suit: str = ""
    kit: tuple[UsedKit, ...] = ()
    air_temperature_c: float | None = None
    lowest_temperature_c: float | None = None
    visibility_m: float | None = None
    current: str = ""
    conditions: str = ""
    buddies: tuple[str, ...] = ()
    purpose: str = ""
    notes: str = ""
    rating: int | None = None
    tags: tuple[str, ...] = ()
    trip: str = ""
    supervised_by: str = ""
    role: Role | None = None
    environments: tuple[Environment, ...] = ()
    pre_dive: PreDiveCard | None = None
    photos: tuple[Photo, ...] = ()
    camera_ahead_s: int = 0
    estimate: bool = False
    recordings: tuple[Recording, ...] = ()
    extra: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "began_at", _as_utc(self.began_at))
        _refuse_impossible_times(self)
        _refuse_impossible_quantities(self)

    @property
    def ended_at(self) -> datetime:
        """The instant of surfacing, UTC, as recorded."""
        return self.began_at + timedelta(minutes=self.duration_min)

    @property
    def began_local(self) -> datetime:
        """The start as the clock on the dock showed it, with its offset."""
        return on_the_dock(self.began_at, self.utc_offset_min)

    @property
    def own(self) -> bool:
        """True where the dive is the logbook owner's, and so counts in the loading."""
        return not self.diver

    @property
    def surface_elevation_m(self) -> float | None:
        """Elevation of the water's surface: the dive's own, else the site's [m]."""
        if self.elevation_m is not None:
            return self.elevation_m
        return self.site.elevation_m if self.site else None

    @property
    def gas_words(self) -> str:
        """The gases of the dive, in the order of its cylinders."""
        names = [c.gas.name if c.gas else "gas not recorded" for c in self.cylinders]
        return ", ".join(dict.fromkeys(names)) or "gas not recorded"

    @property
    def profile_sha256(self) -> str | None:
        """Name of the leading recording's profile, None where there are no samples."""
        return self.recordings[0].profile_sha256 if self.recordings else None


def on_the_dock(instant: datetime, utc_offset_min: int) -> datetime:
    """Return an instant as a clock showed it that is this far ahead of UTC [min]."""
    return instant.astimezone(timezone(timedelta(minutes=utc_offset_min)))


def _as_utc(began_at: datetime) -> datetime:
    if began_at.tzinfo is None:
        raise RefusedRecord(_("The start of a dive needs its offset from UTC."))
    try:
        return began_at.astimezone(UTC)
    except OverflowError as error:
        raise RefusedRecord(
            _("A dive in the year {year} cannot be; check its date.").format(year=began_at.year)
        ) from error


def _refuse_impossible_times(dive: Dive) -> None:
    if not FIRST_YEAR <= dive.began_at.year <= LAST_YEAR:
        raise RefusedRecord(
            _("A dive in the year {year} cannot be; check its date.").format(year=dive.began_at.year)
        )
    if not -24 * 60 < dive.utc_offset_min < 24 * 60:
        raise RefusedRecord(
            _("An offset of {utc_offset_min} min from UTC cannot be; check the clock.").format(
                utc_offset_min=dive.utc_offset_min
            )
        )
    refuse_outside(later("A dive"), dive.duration_min, "min", 0, LONGEST_DIVE_MIN, least_can_be=False)


def _refuse_impossible_quantities(dive: Dive) -> None:
    refuse_outside(later("A greatest depth"), dive.max_depth_m, "m", 0, GREATEST_DEPTH_M, least_can_be=False)
    refuse_outside(later("A mean depth"), dive.mean_depth_m, "m", 0, GREATEST_DEPTH_M)
    refuse_outside(
        later("A surface pressure"), dive.surface_bar, "bar", LOWEST_SURFACE_BAR, HIGHEST_SURFACE_BAR
    )
    refuse_outside(later("An elevation"), dive.elevation_m, "m", LOWEST_ELEVATION_M, HIGHEST_ELEVATION_M)
    refuse_outside(later("A camera's clock"), dive.camera_ahead_s, "s", -MOST_AHEAD_S, MOST_AHEAD_S)
    refuse_outside(later("A rating"), dive.rating, "", 1, 10)
    refuse_outside(later("A dive number"), dive.number, "", 0, _ANY_QUANTITY)
    refuse_outside(later("A weight"), dive.weights_kg, "kg", 0, _ANY_QUANTITY)
    refuse_outside(later("A visibility"), dive.visibility_m, "m", 0, _ANY_QUANTITY)
    for temperature_c in (dive.air_temperature_c, dive.lowest_temperature_c):
        refuse_outside(
            later("A temperature"), temperature_c, later("degrees Celsius"), -273.15, _ANY_QUANTITY
        )


def name_from_content(kind: str, content: str) -> str:
    """Return an id that follows from what it names, the same on every device."""
    return uuid.uuid5(_NAMES, f"{kind}\n{content}").hex

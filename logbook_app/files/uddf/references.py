"""What the dives of a file refer to: people, sites, gases, cylinders and other pieces of equipment.

Since UDDF 3.0 one `link` element serves every reference, and the target's own name tells its role
(UDDF 3.2.x documentation, "Cross-referencing"). All targets of a file are therefore gathered
before its first dive is read, wherever in the file they stand.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final
from xml.etree.ElementTree import Element

from logbook_app.dive.record import Site, Water
from logbook_app.files.uddf.fields import (
    ALTITUDE_M,
    DENSITY_KG_M3,
    EQUIPMENT,
    FRACTION,
    LATITUDE_DEG,
    LONGITUDE_DEG,
    MEDIA,
    TIMEZONE_H,
    Fields,
    Odd,
)
from logbook_app.language import _, number
from logbook_app.physics.breathing_gas import BreathingGas

REFERRED: Final = (
    frozenset({"generator", "owner", "buddy", "site", "divebase", "mix", "trip"}) | EQUIPMENT | MEDIA
)

# Only where the kind of place leaves no doubt; lakes, pools and caves are met fresh and salt.
_WATER: Final = {"ocean-sea": Water.SEA, "river-spring": Water.FRESH}

_TRACE: Final = 0.02  # argon of the air is 0.0093; more than this of anything else is another gas


@dataclass(frozen=True, slots=True)
class ReferredSite:
    """A site, what the dive record has no field for, and its offset from UTC [min]."""

    site: Site
    utc_offset_min: int | None
    extra: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Mix:
    """A gas definition; `gas` is None where the file does not say what is in it."""

    name: str
    gas: BreathingGas | None


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of equipment by its kind, `suit` or `divecomputer`, with a tank's volume [L].

    key   its id in the file
    """

    kind: str
    name: str
    volume_l: float | None = None
    key: str = ""
    alias: str = ""
    maker: str = ""
    model: str = ""
    serial: str = ""
    notes: str = ""


@dataclass(slots=True)
class References:
    """Everything that a dive may link to, by id."""

    generator: str = ""
    owner: str = ""
    people: dict[str, str] = field(default_factory=dict)
    sites: dict[str, ReferredSite] = field(default_factory=dict)
    mixes: dict[str, Mix] = field(default_factory=dict)
    pieces: dict[str, Piece] = field(default_factory=dict)
    trips: dict[str, str] = field(default_factory=dict)
    dives_of_trips: dict[str, str] = field(default_factory=dict)
    media: dict[str, str] = field(default_factory=dict)
    others: set[str] = field(default_factory=set)

    def __len__(self) -> int:
        return sum(map(len, self._groups()))

    def __contains__(self, ref: str) -> bool:
        return any(ref in group for group in self._groups())

    def add(self, element: Element, odd: Odd) -> None:
        """Remember one element that a dive may refer to."""
        name, fields = element.tag, Fields(element, odd)
        key = element.get("id", "").strip()
        if name == "generator":
            self.generator = fields.text("name")
        elif name == "owner":
            self.owner = _person(fields)
            self.others.add(key)
        elif name == "buddy":
            self.people[key] = _person(fields)
        elif name == "site":
            self.sites[key] = _site(element, key, odd)
        elif name == "mix":
            self.mixes[key] = _mix(element, key, odd)
        elif name in EQUIPMENT:
            self.pieces[key] = _piece(name, key, fields)
        elif name in MEDIA:
            self.media[key] = fields.text("objectname")  # the element's name is from memory
        elif name == "trip":
            self._add_trip(element, key, fields.text("name"))
        else:
            self.others.add(key)

    def trip_of(self, dive_id: str, refs: Iterable[str]) -> str:
        """Return the trip that a dive names, else the one that names the dive, else nothing."""
        named = (self.trips[ref] for ref in refs if ref in self.trips)
        return next(named, self.dives_of_trips.get(dive_id, ""))

    def _add_trip(self, element: Element, key: str, name: str) -> None:
        self.trips[key] = name
        for related in element.iter("relateddives"):
            self.dives_of_trips |= {link.get("ref", "").strip(): name for link in related.iter("link")}

    def _groups(self) -> tuple[Collection[str], ...]:
        trips = self.trips, self.dives_of_trips
        return self.people, self.sites, self.mixes, self.pieces, *trips, self.media, self.others


def _piece(kind: str, key: str, fields: Fields) -> Piece:
    return Piece(
        kind=kind,
        name=fields.text("name") or fields.text("model"),
        volume_l=fields.litres("tankvolume"),
        key=key,
        alias=fields.text("aliasname"),
        maker=fields.text("manufacturer/name"),
        model=fields.text("model"),
        serial=fields.text("serialnumber"),
        notes=fields.paragraphs("notes"),
    )


def _person(fields: Fields) -> str:
    parts = (fields.text(f"personal/{part}") for part in ("firstname", "middlename", "lastname"))
    return " ".join(part for part in parts if part)


def _site(element: Element, key: str, odd: Odd) -> ReferredSite:
    name = (element.findtext("name") or element.findtext("geography/location") or key or "unnamed").strip()
    fields = Fields(element, lambda what: odd(_("site {name}: {what}").format(name=name, what=what)))
    environment = fields.text("environment")
    site = Site.named(
        name,
        elevation_m=fields.number("geography/altitude", ALTITUDE_M),
        latitude_deg=fields.number("geography/latitude", LATITUDE_DEG),
        longitude_deg=fields.number("geography/longitude", LONGITUDE_DEG),
        water=_WATER.get(environment),
        region=fields.text("geography/location"),
    )
    hours = fields.number("geography/timezone", TIMEZONE_H)
    return ReferredSite(site, None if hours is None else round(hours * 60), _site_extra(fields, environment))


def _site_extra(fields: Fields, environment: str) -> dict[str, str]:
    """Return what a dive keeps of its site beside the Site record.

    The density of the water at a site is one of these: it describes the place, not what a
    recorder was set to, so it must not turn a recorded depth into another pressure.
    """
    density = fields.number("sitedata/density", DENSITY_KG_M3)
    told = {
        "uddf:site.environment": environment,
        "uddf:site.density": fields.text("sitedata/density") if density is not None else "",
        "uddf:site.country": fields.text("geography/address/country"),
    }
    return {name: text for name, text in told.items() if text}


def _mix(element: Element, key: str, odd: Odd) -> Mix:
    name = (element.findtext("name") or key or "unnamed").strip()
    fields = Fields(element, lambda what: odd(_("mix {name}: {what}").format(name=name, what=what)))
    oxygen = fields.number("o2", FRACTION)
    helium = fields.number("he", FRACTION) or 0.0
    foreign = (fields.number("ar", FRACTION) or 0.0) + (fields.number("h2", FRACTION) or 0.0)
    if oxygen is None:
        odd(_("mix {name}: no usable share of oxygen (o2); its gas counts as unknown").format(name=name))
        return Mix(name, None)
    if foreign > _TRACE:
        odd(
            _(
                "mix {name}: holds {foreign} of other gases than oxygen, helium and nitrogen; unknown gas"
            ).format(name=name, foreign=number(foreign, ".0%"))
        )
        return Mix(name, None)
    return Mix(name, _gas(oxygen, helium, _("mix {name}").format(name=name), odd))


def _gas(oxygen: float, helium: float, where: str, odd: Odd) -> BreathingGas | None:
    try:
        return BreathingGas(oxygen, helium)
    except ValueError as error:
        odd(_("{where}: {error} Its gas counts as unknown").format(where=where, error=error))
        return None

"""Everything that the dives of a file refer to, each thing once, with the id that it gets.

The standard tells what is meant by an id and nothing else, so two cylinders of one dive need
two ids even where gas, volume and name are the same; across dives they are shared.
"""

from __future__ import annotations

import mimetypes
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final
from xml.etree.ElementTree import Element

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.kit import KitItem, UsedKit
from logbook_app.dive.record import Dive, Site, Water
from logbook_app.files.uddf.fields import (
    ALTITUDE_M,
    DENSITY_KG_M3,
    EQUIPMENT,
    FRACTION,
    LATITUDE_DEG,
    LONGITUDE_DEG,
    MEDIA,
    MEDIUM,
    TANK_M3,
    parse_number,
)
from logbook_app.files.uddf.kit_pieces import OURS, element_of
from logbook_app.files.uddf.references import References
from logbook_app.files.uddf.word_lists import WORDS
from logbook_app.files.uddf.written_values import CUBIC_METRES, number_text, put, put_number

OWNER: Final = "owner"
_NO_DENSITY: Final = {Water.RECORDER, None}


class Referred:
    """People, sites, trips, gases and equipment of a logbook's dives.

    references  the same as a reader would have them
    kit         what is known of pieces of kit, by their ids
    """

    def __init__(self, dives: Sequence[Dive], kit: Mapping[str, KitItem] = {}) -> None:
        self.references = References(generator=OURS)
        self._kit = kit
        self._elements: dict[str, dict[tuple[object, ...], Element]] = {}
        self._kit_elements: dict[str, Element] = {}
        self._owner_name = _owner_name(dives)
        self._define("owner", (), OWNER)
        for dive in dives:
            self._add(dive)
        for item in kit.values():
            self._define_kit(item.used)

    def sections(self) -> Iterator[Element]:
        """Yield the sections that stand before the dives, in the order of the documentation."""
        if media := [element for kind in sorted(MEDIA) for element in self._all(kind)]:
            section = Element("mediadata")
            section.extend(media)
            yield section
        yield self._diver()
        if sites := self._all("site"):
            section = Element("divesite")
            section.extend(sites)
            yield section
        if trips := self._all("trip"):
            section = Element("divetrip")
            section.extend(trips)
            yield section
        if mixes := self._all("mix"):
            section = Element("gasdefinitions")
            section.extend(mixes)
            yield section

    def links(self, dive: Dive) -> list[str]:
        """Return the ids of a dive's site and buddies."""
        found = [self._id("site", _site_key(dive))] if dive.site else []
        found += [self._id("buddy", (name,)) for name in dive.buddies if _is_told(name)]
        return [*dict.fromkeys(found)]

    def equipment(self, dive: Dive) -> list[str]:
        """Return the ids of the pieces that a dive used, its cylinders left out."""
        plain = [self._id(kind, (name,)) for kind, name in _pieces(dive)]
        return [*dict.fromkeys([*plain, *self._kit_links(dive)])]

    def trip(self, dive: Dive) -> str | None:
        """Return the id of the trip that a dive belongs to, None where nobody named one."""
        return self._id("trip", (dive.trip,)) if _is_told(dive.trip) else None

    def medium(self, dive: Dive) -> str | None:
        """Return the id of what a dive's notes refer to, a picture as a rule; None where there is none."""
        name = _medium_of(dive)
        return self._id(_kind_of_medium(name), (name,)) if _is_told(name) else None

    def recorder(self, dive: Dive) -> str | None:
        """Return the id of the recorder that leads, None where nobody named it."""
        name = dive.recordings[0].recorder if dive.recordings else ""
        return self._id("divecomputer", (name,)) if _is_told(name) else None

    def mix(self, dive: Dive, place: int) -> str | None:
        """Return the id of the gas in the cylinder at a place of the dive's list, None where it has none."""
        element = self._elements.get("mix", {}).get(_mix_key(dive.cylinders, place))
        return None if element is None else element.get("id")

    def tank(self, dive: Dive, place: int) -> str | None:
        """Return the id of the cylinder at a place of the dive's list, None where only its gas is known."""
        if not _has_tank(dive, place):
            return None
        return self._id("tank", _tank_key(dive.cylinders, place))

    def _add(self, dive: Dive) -> None:
        if dive.site:
            self._define("site", _site_key(dive), dive)
        for name in filter(_is_told, dive.buddies):
            self._define("buddy", (name,), name)
        if _is_told(dive.trip):
            self._define("trip", (dive.trip,), dive.trip)
        for kind, name in _pieces(dive):
            self._define(kind, (name,), name)
        if _is_told(medium := _medium_of(dive)):
            self._define(_kind_of_medium(medium), (medium,), medium)
        for used in dive.kit:
            self._define_kit(used)
        for place, cylinder in enumerate(dive.cylinders):
            if cylinder.gas is not None or (dive.profile_sha256 and len(dive.cylinders) > 1):
                self._define("mix", _mix_key(dive.cylinders, place), cylinder)
            if _has_tank(dive, place):
                self._define("tank", _tank_key(dive.cylinders, place), (cylinder, place))

    def _define_kit(self, used: UsedKit) -> None:
        """Define a piece of kit once, by what is known of it, else by its name."""
        if used.id in self._kit_elements:
            return
        element = element_of(used, self._kit.get(used.id))
        if element is not None:
            self._kit_elements[used.id] = element
            self.references.add(element, lambda _what: None)

    def _kit_links(self, dive: Dive) -> Iterator[str]:
        """Yield the ids of a dive's kit; a cylinder is told by what it held, not linked twice."""
        for used in dive.kit:
            element = self._kit_elements.get(used.id)
            if element is not None and element.tag != "tank":
                yield element.get("id", "")

    def _define(self, kind: str, key: tuple[object, ...], told: object) -> None:
        known = self._elements.setdefault(kind, {})
        if key in known:
            return
        element = Element(kind, {"id": f"{kind}-{len(known) + 1}"})
        known[key] = element
        self._fill(element, told)
        self.references.add(element, lambda _what: None)

    def _fill(self, element: Element, told: object) -> None:
        if element.tag == "owner":
            _put_person(element, self._owner_name)
        elif element.tag == "buddy":
            _put_person(element, str(told))
        elif isinstance(told, Dive) and told.site:
            _put_site(element, told.site, told)
        elif isinstance(told, Cylinder):
            _put_mix(element, told)
        elif isinstance(told, tuple):
            _put_tank(element, *told)
        else:
            put(element, "objectname" if element.tag in MEDIA else "name", str(told))

    def _id(self, kind: str, key: tuple[object, ...]) -> str:
        return self._elements[kind][key].get("id", "")

    def _all(self, kind: str) -> list[Element]:
        return list(self._elements.get(kind, {}).values())

    def _diver(self) -> Element:
        section = Element("diver")
        (owner,) = self._all("owner")
        section.append(owner)
        kit = self._kit_elements.values()
        pieces = [
            piece
            for kind in sorted(EQUIPMENT)
            for piece in (*self._all(kind), *(piece for piece in kit if piece.tag == kind))
        ]
        if pieces and owner.find("equipment") is None:
            put(owner, "equipment").extend(pieces)
        section.extend(self._all("buddy"))
        return section


def _is_told(name: str) -> bool:
    return bool(name.strip())


def _owner_name(dives: Iterable[Dive]) -> str:
    """Return the owner as the latest of his dives names him."""
    names = [dive.extra.get("uddf:owner", "") for dive in dives if dive.own]
    return next((name for name in reversed(names) if name), "")


def _medium_of(dive: Dive) -> str:
    """Return the file that a dive's notes refer to: what another file had told, else the first photo's."""
    told = dive.extra.get(f"uddf:{MEDIUM}", "")
    return told or next((photo.file_name for photo in dive.photos if photo.file_name.strip()), "")


def _kind_of_medium(file_name: str) -> str:
    kind = (mimetypes.guess_type(file_name)[0] or "").partition("/")[0]
    return kind if kind in MEDIA else "image"


def _site_key(dive: Dive) -> tuple[object, ...]:
    return (
        dive.site,
        *(dive.extra.get(f"uddf:site.{name}") for name in ("environment", "density", "country")),
    )


def _has_tank(dive: Dive, place: int) -> bool:
    """Tell whether more is known of a cylinder than its gas."""
    cylinder = dive.cylinders[place]
    gas_name = cylinder.gas.name if cylinder.gas else ""
    told = cylinder.volume_l, cylinder.start_bar, cylinder.end_bar, dive.profile_sha256
    return any(value is not None for value in told) or cylinder.name not in ("", gas_name)


def _mix_key(cylinders: Sequence[Cylinder], place: int) -> tuple[object, ...]:
    gas = cylinders[place].gas
    before = sum(cylinder.gas == gas for cylinder in cylinders[:place])
    return (gas, before)


def _tank_key(cylinders: Sequence[Cylinder], place: int) -> tuple[object, ...]:
    cylinder = cylinders[place]
    name = _tank_name(cylinder, place)
    same = [
        other
        for before, other in enumerate(cylinders[:place])
        if (_tank_name(other, before), other.volume_l) == (name, cylinder.volume_l)
    ]
    return (name, cylinder.volume_l, len(same))


def _tank_name(cylinder: Cylinder, place: int) -> str:
    return cylinder.name if _is_told(cylinder.name) else f"cylinder {place + 1}"


def _pieces(dive: Dive) -> Iterator[tuple[str, str]]:
    """Yield the kind and the name of each piece of equipment of a dive, without its cylinders."""
    recorder = dive.recordings[0].recorder if dive.recordings else ""
    if _is_told(recorder):
        yield "divecomputer", recorder
    if _is_told(dive.suit) and dive.suit != "none":
        yield "suit", dive.suit
    for piece in dive.extra.get("uddf:equipmentused", "").split("; "):
        kind, _, name = piece.partition(": ")
        if kind in EQUIPMENT and kind not in {"suit", "divecomputer", "tank"} and _is_told(name):
            yield kind, name


def _put_person(element: Element, name: str) -> None:
    """Put a name in two parts, the last word for the last name; the schema asks for both."""
    first, _, last = name.strip().rpartition(" ")
    personal = put(element, "personal")
    put(personal, "firstname", first or last)
    put(personal, "lastname", last if first else "")


def _put_site(element: Element, site: Site, dive: Dive) -> None:
    put(element, "name", site.name)
    environment = dive.extra.get("uddf:site.environment") or ("ocean-sea" if site.water is Water.SEA else "")
    if environment in WORDS["environment"]:
        put(element, "environment", environment)
    geography = put(element, "geography")
    put(geography, "location", site.region)
    if country := dive.extra.get("uddf:site.country", ""):
        put(put(geography, "address"), "country", country)
    put_number(geography, "latitude", site.latitude_deg, LATITUDE_DEG)
    put_number(geography, "longitude", site.longitude_deg, LONGITUDE_DEG)
    put_number(geography, "altitude", site.elevation_m, ALTITUDE_M)
    density = parse_number(dive.extra.get("uddf:site.density"))
    if density is None and site.water and site.water not in _NO_DENSITY:
        density = site.water.density_kg_m3
    if density is not None and DENSITY_KG_M3.holds(density):
        put_number(put(element, "sitedata"), "density", density, DENSITY_KG_M3)


def _put_mix(element: Element, cylinder: Cylinder) -> None:
    gas = cylinder.gas
    if gas is None:
        put(element, "name", "gas not recorded")
        return
    put(element, "name", gas.name)
    put_number(element, "o2", gas.oxygen, FRACTION)
    put(element, "n2", number_text(round(gas.nitrogen, 9)))
    put_number(element, "he", gas.helium, FRACTION)


def _put_tank(element: Element, cylinder: Cylinder, place: int) -> None:
    put(element, "name", _tank_name(cylinder, place))
    put_number(element, "tankvolume", cylinder.volume_l, TANK_M3, CUBIC_METRES)

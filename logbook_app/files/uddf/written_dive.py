"""One dive becomes the elements that UDDF 3.2.3 has for it, in the order that its schema fixes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element

import numpy as np

from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.files.uddf.fields import (
    ALTITUDE_M,
    COUNT,
    DIVE_DEPTH_M,
    GAUGE_PA,
    RATING,
    SURFACE_PA,
    TANK_M3,
    VISIBILITY_M,
    WEIGHTS_KG,
    parse_number,
)
from logbook_app.files.uddf.unread import KEY as UNREAD_KEY
from logbook_app.files.uddf.unread import Unread, unread_elements
from logbook_app.files.uddf.word_lists import BEFORE_DIVE_ORDER, WORDS
from logbook_app.files.uddf.written_references import Referred
from logbook_app.files.uddf.written_values import (
    CUBIC_METRES,
    DIVE_SECONDS,
    PASCALS,
    is_amount,
    is_count,
    number_text,
    put,
    put_celsius,
    put_number,
    put_words,
)
from logbook_app.files.uddf.written_waypoints import Refs, waypoints

_WIDEST_ZONE_MIN: Final = 14 * 60  # that a date and time of XML Schema can have
_COUNTS: Final = ("divenumberofday", "internaldivenumber")
_AMOUNTS: Final = ("pressuredrop", "desaturationtime", "noflighttime", "highestpo2")


@dataclass(frozen=True)
class WrittenDive:
    """The elements of one dive; `waypoints` makes the samples anew each time, one at a time.

    element  has an empty `applicationdata` first, for what stands in no other
    """

    element: Element
    waypoints: Callable[[], Iterator[Element]]


def written_dive(
    dive: Dive, profile: Profile | None, referred: Referred, dive_id: str, interval: str
) -> WrittenDive:
    """Return a dive as UDDF has it, without samples and without Leadline's own part.

    interval  "infinity" or the whole seconds since the dive before, empty where not known
    """
    unread = unread_elements(dive.extra.get(UNREAD_KEY, ""))
    element = Element("dive", {"id": dive_id})
    put(element, "applicationdata")
    _put_before(element, dive, profile, referred, interval)
    _put_tankdata(element, dive, profile, referred)
    _put_after(element, dive, referred)
    unread.put_back(element)
    before = element.find("informationbeforedive")
    if before is not None:
        before[:] = sorted(before, key=_place_before)
    return WrittenDive(element, lambda: _samples(dive, profile, referred, unread))


def _place_before(child: Element) -> int:
    return BEFORE_DIVE_ORDER.index(child.tag) if child.tag in BEFORE_DIVE_ORDER else len(BEFORE_DIVE_ORDER)


def _samples(dive: Dive, profile: Profile | None, referred: Referred, unread: Unread) -> Iterator[Element]:
    if profile is None:
        return
    places = range(len(dive.cylinders))
    refs = Refs(
        mixes=[referred.mix(dive, place) for place in places],
        tanks=[referred.tank(dive, place) for place in places],
        recorder=referred.recorder(dive),
    )
    yield from waypoints(profile, refs, unread.at)


def _put_before(
    element: Element, dive: Dive, profile: Profile | None, referred: Referred, interval: str
) -> None:
    before = put(element, "informationbeforedive")
    places = range(len(dive.cylinders))
    alone = [place for place in places if _begin_bar(dive, place, profile) is None]
    gases = [referred.mix(dive, place) for place in alone if profile is None]
    for ref in [*referred.links(dive), *gases]:
        if ref is not None:
            put(before, "link", ref=ref)
    put_number(before, "divenumber", dive.number, COUNT)
    put(before, "datetime", _datetime_text(dive))
    put_celsius(before, "airtemperature", dive.air_temperature_c)
    _put_interval(before, "surfaceintervalbeforedive", interval)
    put_number(before, "altitude", dive.elevation_m, ALTITUDE_M)
    tanks = [referred.tank(dive, place) for place in alone]
    _put_equipment(before, dive, [*referred.equipment(dive), *filter(None, tanks)])
    _put_word(before, "purpose", dive.purpose)
    if (trip := referred.trip(dive)) is not None:
        put(before, "tripmembership", ref=trip)
    if dive.suit == "none":
        put(before, "nosuit")
    put_number(before, "surfacepressure", dive.surface_bar, SURFACE_PA, PASCALS)
    _put_kept(before, dive, (*_COUNTS, "apparatus", "platform", "stateofrestbeforedive"))


def _put_equipment(before: Element, dive: Dive, refs: list[str]) -> None:
    used = Element("equipmentused")
    put_number(used, "leadquantity", dive.weights_kg, WEIGHTS_KG)
    for ref in refs:
        put(used, "link", ref=ref)
    if len(used):
        before.append(used)


def _put_tankdata(element: Element, dive: Dive, profile: Profile | None, referred: Referred) -> None:
    """Put a tankdata for each cylinder whose pressure was known; the schema asks for its begin."""
    told = dive.extra.get("uddf:breathingconsumptionvolume", "")
    rates = told.split("; ") if told else []
    for place, cylinder in enumerate(dive.cylinders):
        begin_bar = _begin_bar(dive, place, profile)
        if begin_bar is None:
            continue
        tankdata = put(element, "tankdata")
        for ref in (referred.mix(dive, place) if cylinder.gas else None, referred.tank(dive, place)):
            if ref is not None:
                put(tankdata, "link", ref=ref)
        put_number(tankdata, "tankvolume", cylinder.volume_l, TANK_M3, CUBIC_METRES)
        put_number(tankdata, "tankpressurebegin", begin_bar, GAUGE_PA, PASCALS)
        put_number(tankdata, "tankpressureend", cylinder.end_bar, GAUGE_PA, PASCALS)
        if place < len(rates) and is_amount(rates[place]):
            put(tankdata, "breathingconsumptionvolume", rates[place])


def _begin_bar(dive: Dive, place: int, profile: Profile | None) -> float | None:
    """Return the pressure that a cylinder began with, as written down or as first sampled. [bar]"""
    begin_bar = dive.cylinders[place].start_bar
    sampled = profile.channel(f"pressure_bar_{place}") if profile is not None else None
    if begin_bar is None and sampled is not None:
        known = sampled[~np.isnan(sampled)]
        begin_bar = float(known[0]) if known.size else None
    return begin_bar if begin_bar is not None and GAUGE_PA.holds(PASCALS.written(begin_bar)) else None


def _put_after(element: Element, dive: Dive, referred: Referred) -> None:
    after = put(element, "informationafterdive")
    _put_interval(after, "surfaceintervalafterdive", stated_interval(dive, "surfaceintervalafterdive"))
    put_celsius(after, "lowesttemperature", dive.lowest_temperature_c)
    put(after, "greatestdepth", number_text(dive.max_depth_m))
    put_number(after, "visibility", dive.visibility_m, VISIBILITY_M)
    _put_word(after, "current", dive.current)
    _put_kept(after, dive, ("diveplan", "equipmentmalfunction", "pressuredrop", "problems", "program"))
    _put_kept(after, dive, ("thermalcomfort", "workload", "desaturationtime", "noflighttime"))
    put_words(after, "notes", dive.notes)
    if (medium := referred.medium(dive)) is not None:
        notes = after.find("notes")
        put(put(after, "notes") if notes is None else notes, "link", ref=medium)
    if dive.rating is not None and RATING.holds(dive.rating):
        put(put(after, "rating"), "ratingvalue", str(dive.rating))
    if symptoms := dive.extra.get("uddf:anysymptoms", "").strip():
        put_words(put(after, "anysymptoms"), "notes", symptoms)
    put(after, "diveduration", number_text(DIVE_SECONDS.written(dive.duration_min)))
    _put_kept(after, dive, ("divetable", "globalalarmsgiven", "highestpo2"))
    put_number(after, "averagedepth", dive.mean_depth_m, DIVE_DEPTH_M)


def stated_interval(dive: Dive, name: str) -> str:
    """Return the interval that a file had stated: "infinity", whole seconds, or empty where none was."""
    told = dive.extra.get(f"uddf:{name}", "").strip()
    seconds = parse_number(told)
    if seconds is not None and 0.0 <= seconds < 1e9:
        return f"{round(seconds)}"
    return "infinity" if told.casefold().startswith("infinit") else ""


def _put_interval(parent: Element, name: str, interval: str) -> None:
    if interval == "infinity":
        put(put(parent, name), "infinity")
    elif interval:
        put(put(parent, name), "passedtime", interval)


def _put_kept(parent: Element, dive: Dive, names: tuple[str, ...]) -> None:
    """Put back what a file had told under the names of the standard, where it may stand there.

    The names of tables that `divetable` may hold are not at hand; what a file told is taken for one.
    """
    for name in names:
        text = dive.extra.get(f"uddf:{name}", "")
        if name in WORDS:
            _put_word(parent, name, text)
        elif is_count(text) if name in _COUNTS else is_amount(text) if name in _AMOUNTS else text.strip():
            put(parent, name, text)


def _put_word(parent: Element, name: str, word: str) -> None:
    if word in WORDS[name]:
        put(parent, name, word)


def _datetime_text(dive: Dive) -> str:
    if abs(dive.utc_offset_min) > _WIDEST_ZONE_MIN:
        return dive.began_at.isoformat().replace("+00:00", "Z")
    return dive.began_local.isoformat()

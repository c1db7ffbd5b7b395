"""A profile becomes waypoints, their children in the order that the schema fixes.

A mark stands in the waypoint of its time; where no sample has that time, a remark goes to the one
before and a change of gas to the one after. The first waypoint always names the gas that the
first cylinder holds: the standard assumes air where it names none. What the standard has no
element for stands in Leadline's own part.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final
from xml.etree.ElementTree import Element

from logbook_app.dive.profile import Profile
from logbook_app.dive.record import GREATEST_DEPTH_M
from logbook_app.files.uddf.channels import ANY, DEPTHS_M, PO2_PA, SECONDS_S, TIMES_S
from logbook_app.files.uddf.fields import GAUGE_PA, KELVIN, Span
from logbook_app.files.uddf.waypoints import ON_LOOP
from logbook_app.files.uddf.word_lists import WAYPOINT_ORDER, WORDS
from logbook_app.files.uddf.written_values import (
    DIVE_SECONDS,
    KELVINS,
    PASCALS,
    PERCENT,
    SAME,
    SECONDS,
    Unit,
    number_text,
    put,
)

_ALARM: Final = re.compile(r"alarm: (.+)")
_BOOKMARK: Final = re.compile(r"bookmark ?(.*)")
_STOP: Final = re.compile(r"(safety|mandatory) stop( .*)?")


@dataclass(frozen=True, slots=True)
class Refs:
    """The ids that one dive's waypoints refer to.

    mixes, tanks  for each cylinder, None where the file has none for it
    recorder      None where nobody named it
    """

    mixes: Sequence[str | None]
    tanks: Sequence[str | None]
    recorder: str | None


@dataclass(slots=True)
class _Marks:
    """What is marked at one sample."""

    alarms: list[str] = field(default_factory=list)
    bookmark: str | None = None
    mix: str | None = None


@dataclass(frozen=True, slots=True)
class _Column:
    """One channel as the child of a waypoint.

    texts       what stands in it for each sample, empty where there is nothing to say
    attributes  that every one of them has
    inside      the attribute that the text goes into, empty where it stands between the tags
    """

    texts: Sequence[str]
    attributes: Mapping[str, str]
    inside: str = ""

    def put(self, waypoint: Element, name: str, place: int) -> None:
        """Put what it says at one sample into the waypoint."""
        text = self.texts[place]
        if text and self.inside:
            put(waypoint, name, **{self.inside: text}, **self.attributes)
        elif text:
            put(waypoint, name, text, **self.attributes)


def waypoints(profile: Profile, refs: Refs, unread: Mapping[float, Sequence[Element]]) -> Iterator[Element]:
    """Yield the waypoints of a profile, one after the other.

    unread  what goes back into the waypoint of a time, see unread.py [s]
    """
    columns = _columns(profile, refs)
    marks = _marks(profile, refs)
    stops = _stops(profile)
    for place, (time_s, depth_m) in enumerate(
        zip(profile.time_s.tolist(), profile.depth_m.tolist(), strict=True)
    ):
        waypoint = _waypoint(place, time_s, depth_m, columns, marks.get(place), stops.get(place))
        if waypoint is not None:
            waypoint.extend(unread.get(time_s, ()))
            yield waypoint


_PLAIN: Final = {
    "bodytemperature": ("body_temperature_c", KELVINS, KELVIN),
    "calculatedpo2": ("ppo2_bar", PASCALS, PO2_PA),
    "heading": ("heading_deg", SAME, Span(-360.0, 360.0, "")),
    "heartrate": ("heart_rate_per_min", SAME, Span(0.0, 300.0, "")),
    "otu": ("recorded_otu", SAME, Span(0.0, 1e5, "")),
    "pulserate": ("pulse_rate_per_min", SAME, Span(0.0, 300.0, "")),
    "remainingbottomtime": ("remaining_bottom_min", SECONDS, SECONDS_S),
    "remainingo2time": ("remaining_oxygen_min", SECONDS, SECONDS_S),
    "temperature": ("temperature_c", KELVINS, KELVIN),
    "nodecotime": ("recorded_no_stop_min", SECONDS, SECONDS_S),
}


_CIRCUITS: Final = {1.0: "closedcircuit", 0.0: "opencircuit"}


def _columns(profile: Profile, refs: Refs) -> dict[str, list[_Column]]:
    found: dict[str, list[_Column]] = {name: [] for name in WAYPOINT_ORDER}

    def add(element: str, channel: str, unit: Unit, span: Span, **attributes: str) -> None:
        values = profile.channels.get(channel)
        if values is not None:
            found[element].append(_Column(_texts(values.tolist(), unit, span), attributes))

    for element, (channel, unit, span) in _PLAIN.items():
        add(element, channel, unit, span)
    add("cns", "recorded_cns_fraction", PERCENT, Span(0.0, 1e5, ""))
    add("cns", "recorded_cns_as_written", SAME, Span(0.0, 1e5, ""))
    add("setpo2", "set_ppo2_bar", PASCALS, PO2_PA, setby="user")
    for place, tank in enumerate(refs.tanks):
        if tank is not None:
            add("tankpressure", f"pressure_bar_{place}", PASCALS, GAUGE_PA, ref=tank)
    if refs.recorder is not None:
        add("batterychargecondition", "battery_charge", SAME, ANY, deviceref=refs.recorder)
        for name in ("measured_ppo2_bar", *(f"measured_ppo2_bar_{place}" for place in range(2, 10))):
            add("measuredpo2", name, PASCALS, PO2_PA, ref=refs.recorder)
    del found["cns"][1:]
    if (on_loop := profile.channels.get(ON_LOOP)) is not None:
        circuits = [_CIRCUITS.get(value, "") for value in on_loop.tolist()]
        found["divemode"].append(_Column(circuits, {}, inside="type"))
    return {name: columns for name, columns in found.items() if columns}


def _waypoint(
    place: int,
    time_s: float,
    depth_m: float,
    columns: Mapping[str, Sequence[_Column]],
    marks: _Marks | None,
    stop: Mapping[str, str] | None,
) -> Element | None:
    """Return one waypoint, None where no reader would believe its time or depth."""
    if not TIMES_S.holds(time_s) or not DEPTHS_M.holds(depth_m):
        return None
    waypoint = Element("waypoint")
    for name in WAYPOINT_ORDER:
        if name == "depth":
            put(waypoint, name, number_text(depth_m))
        elif name == "divetime":
            put(waypoint, name, number_text(time_s))
        elif name == "decostop" and stop is not None:
            put(waypoint, name, **stop)
        elif marks is not None and name in {"alarm", "setmarker", "switchmix"}:
            _put_marks(waypoint, name, marks)
        for column in columns.get(name, ()):
            column.put(waypoint, name, place)
    return waypoint


def _texts(values: Sequence[float], unit: Unit, span: Span) -> list[str]:
    """Return what is written for each value; a recorder gives few different ones."""
    known: dict[float, str] = {}
    for value in values:
        if value not in known and not math.isnan(value):
            written = unit.written(value)
            known[value] = number_text(written) if span.holds(written) else ""
    return [known.get(value, "") for value in values]


def _put_marks(waypoint: Element, name: str, marks: _Marks) -> None:
    if name == "alarm":
        for alarm in marks.alarms:
            put(waypoint, name, alarm)
    elif name == "setmarker" and marks.bookmark is not None:
        put(waypoint, name, marks.bookmark)
    elif name == "switchmix" and marks.mix is not None:
        put(waypoint, name, ref=marks.mix)


def _marks(profile: Profile, refs: Refs) -> dict[int, _Marks]:
    times_s = profile.time_s.tolist()
    found: dict[int, _Marks] = {0: _Marks(mix=refs.mixes[0] if refs.mixes else None)}
    for switch in profile.switches:
        place = min(bisect_left(times_s, switch.time_s), len(times_s) - 1)
        if switch.cylinder < len(refs.mixes):
            found.setdefault(place, _Marks()).mix = refs.mixes[switch.cylinder]
    for remark in profile.remarks:
        place = max(0, bisect_right(times_s, remark.time_s) - 1)
        _take_remark(found.setdefault(place, _Marks()), remark.text)
    return found


def _take_remark(marks: _Marks, text: str) -> None:
    alarm, bookmark = _ALARM.fullmatch(text), _BOOKMARK.fullmatch(text)
    if alarm and alarm[1] in WORDS["alarm"]:
        marks.alarms.append(alarm[1])
    elif not _STOP.fullmatch(text) and marks.bookmark is None:
        marks.bookmark = bookmark[1] if bookmark else text


def _stops(profile: Profile) -> dict[int, dict[str, str]]:
    """Return the stop that each sample shows, where a remark tells its kind."""
    depths, minutes = profile.channel("recorded_stop_depth_m"), profile.channel("recorded_stop_min")
    kinds = [
        (remark.time_s, found[1]) for remark in profile.remarks if (found := _STOP.fullmatch(remark.text))
    ]
    if depths is None or minutes is None or not kinds:
        return {}
    begins = [time_s for time_s, _ in kinds]
    stops: dict[int, dict[str, str]] = {}
    samples = zip(profile.time_s.tolist(), depths.tolist(), minutes.tolist(), strict=True)
    for place, (time_s, depth_m, minute) in enumerate(samples):
        kind = bisect_right(begins, time_s) - 1
        if kind >= 0 and 0.0 <= depth_m <= GREATEST_DEPTH_M and 0.0 <= minute < math.inf:
            duration_s = DIVE_SECONDS.written(minute)
            stops[place] = {
                "kind": kinds[kind][1],
                "decodepth": number_text(depth_m),
                "duration": number_text(duration_s),
            }
    return stops

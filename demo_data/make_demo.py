"""Make the demo dives: from the invented plan in scenario.toml to the files beside it.

    python demo_data/make_demo.py [FOLDER]

A plan says how deep and how long. This script dives it: a path second by second, the water's
temperature and the cylinder's pressure along it, and what a recorder of a certain make-believe
kind would have written of that. Nothing was recorded by anybody.

The same plan gives the same bytes everywhere. Each dive has its own sequence of random numbers,
seeded by its diver and start, so that a dive added to the plan leaves the others as they are;
only the standard library is used, whose `Random` keeps its promise from one Python to the next.

How a dive is made
    path         straight legs between the nodes of the plan, slow waves over them as a diver
                 follows the ground (7 % of the depth, drawn dives 2 %), smoothed over 15 s,
                 scaled to the greatest depth of the plan
    temperature  a surface that follows the year, deep water that does not, a smooth step between
    gas          minute volume at the surface times ambient pressure; more in cold water, in the
                 first minutes and at depth; the cylinder as an ideal gas, which is plenty here
    depth        10 m for each bar, as EN 13319 lets a recorder show it
    recorder     noise, 0.1 m steps, a slow thermometer, its own interval, clock and channels
"""

from __future__ import annotations

import json
import math
import sys
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from itertools import groupby, pairwise
from pathlib import Path
from random import Random
from typing import Any
from xml.sax.saxutils import escape

HERE = Path(__file__).resolve().parent
Table = dict[str, Any]
Node = tuple[float, float]  # minute, depth in metres

# Minutes near the greatest depth that the club plans for a first dive on air, by depth in
# metres. Invented, and inside the no-stop limits at 40/85; tests/house checks that they are.
BOTTOM_MIN = {9: 45, 12: 38, 15: 30, 18: 24, 21: 17, 25: 11.5, 30: 8, 35: 6, 45: 4}


@dataclass(frozen=True)
class Cylinder:
    """What was breathed from; `end_bar` is known after the dive."""

    gas: str
    volume_l: float
    start_bar: float
    end_bar: float = 0.0

    @property
    def id(self) -> str:
        return f"tank_{self.volume_l:g}"


@dataclass(frozen=True)
class PlannedDive:
    """One dive of the owner as the scenario has it."""

    file: str
    began: datetime
    place: Table
    water: Table
    buddies: tuple[str, ...]
    depth_m: float
    minutes: float
    oxygen_percent: int
    words: frozenset[str]
    recorder: Table
    of_day: int
    drawn: Table | None
    remarks: Table
    number: int = 0

    @property
    def key(self) -> str:
        return f"{self.began:%Y-%m-%d %H:%M}"

    @property
    def gas(self) -> str:
        return "air" if self.oxygen_percent == 21 else f"nitrox {self.oxygen_percent}"


@dataclass(frozen=True)
class Sample:
    """One waypoint; temperature and pressures are there every so often."""

    time_s: int
    depth_m: float
    temperature_c: float | None = None
    pressures_bar: tuple[float, ...] = ()
    switch_to: str = ""
    alarm: str = ""


@dataclass(frozen=True)
class RecordedDive:
    """What a recorder wrote of a dive."""

    plan: PlannedDive
    began: datetime
    duration_s: int
    samples: tuple[Sample, ...]
    cylinders: tuple[Cylinder, ...]
    recorder: Table
    buddies: tuple[str, ...]
    notes: Table = field(default_factory=dict)
    number: int | None = None


# --- the plan -----------------------------------------------------------------------------------


def planned_dives(scenario: Table) -> list[PlannedDive]:
    """Return every dive of the scenario that has samples, in order, without numbers."""
    dives = [
        dive
        for file in scenario["files"]
        for day in file["days"]
        for dive in dives_of_day(scenario, file["name"], day)
    ]
    return sorted(dives, key=lambda dive: dive.began)


def dives_of_day(scenario: Table, file: str, day: Table) -> Iterator[PlannedDive]:
    """Yield the dives of one line of the scenario."""
    places = [day["at"]] if isinstance(day["at"], str) else day["at"]
    for nth, line in enumerate(day["dives"]):
        place = scenario["places"][places[min(nth, len(places) - 1)]]
        clock, depth, minutes, *words = line.split()
        key = f"{day['day']} {clock}"
        kinds = scenario["recorders"]
        kind = words[words.index("recorder") + 1] if "recorder" in words else "A"
        yield PlannedDive(
            file=file,
            began=local_time(key, place),
            place=place,
            water=scenario["waters"][place["water"]],
            buddies=tuple(day["with"]),
            depth_m=float(depth),
            minutes=float(minutes),
            oxygen_percent=next((int(word) for word in words if word.isdigit()), 21),
            words=frozenset(words),
            recorder=kinds[kind],
            of_day=nth + 1,
            drawn=scenario["drawn"].get(key),
            remarks=scenario["remarks"].get(key, {}),
        )


def local_time(clock: str, place: Table) -> datetime:
    """Return the instant that the clock on the dock showed; at home, UTC+1 and summer time."""
    naive = datetime.fromisoformat(clock)
    if "utc_offset_h" in place:
        return naive.replace(tzinfo=timezone(timedelta(hours=place["utc_offset_h"])))
    summer = last_sunday(naive.year, 3) <= naive < last_sunday(naive.year, 10)
    return naive.replace(tzinfo=timezone(timedelta(hours=2 if summer else 1)))


def last_sunday(year: int, month: int) -> datetime:
    """Return the last Sunday of a month of 31 days."""
    last = datetime(year, month, 31)
    return last - timedelta(days=(last.weekday() + 1) % 7)


# --- the path -----------------------------------------------------------------------------------


def nodes_of(plan: PlannedDive, rng: Random) -> list[Node]:
    """Return the corners of the dive."""
    if plan.drawn:
        return [(minute, depth) for minute, depth in plan.drawn["nodes"]]
    if "pool" in plan.words:
        return pool_nodes(plan.depth_m, plan.minutes, rng)
    minutes = plan.minutes + rng.randrange(-2, 3) / 6
    if plan.depth_m <= 11:
        return shallow_nodes(plan.depth_m, minutes, rng)
    return slope_nodes(plan, minutes, rng)


def slope_nodes(plan: PlannedDive, minutes: float, rng: Random) -> list[Node]:
    """Down to the greatest depth, up the slope in three steps, a stop at five metres."""
    depth = plan.depth_m
    down = depth / rng.uniform(13.0, 18.0)
    bottom = down + min(bottom_min(plan), 0.42 * minutes) * rng.uniform(0.82, 0.98)
    stop_at = rng.uniform(4.6, 5.6)
    stop_ends = minutes - stop_at / rng.uniform(5.0, 7.0)
    stop_begins = stop_ends - rng.uniform(3.2, 5.5)
    middle, upper = depth * rng.uniform(0.66, 0.73), max(6.5, depth * rng.uniform(0.42, 0.5))
    leaves_upper = stop_begins - (upper - stop_at) / 7.0
    reaches_middle = bottom + (depth - middle) / 5.0
    leaves_middle = reaches_middle + 0.42 * (leaves_upper - reaches_middle)
    return [
        (0.0, 0.0),
        (down, depth),
        (bottom, 0.96 * depth),
        (reaches_middle, middle),
        (leaves_middle, 0.94 * middle),
        (leaves_middle + (middle - upper) / 4.0, upper),
        (leaves_upper, 0.95 * upper),
        (stop_begins, stop_at),
        (stop_ends, stop_at),
        (minutes, 0.0),
    ]


def bottom_min(plan: PlannedDive) -> float:
    """Return the planned minutes near the greatest depth."""
    nitrogen = 1.0 - plan.oxygen_percent / 100
    as_on_air_m = (plan.depth_m + 10.0) * nitrogen / 0.79 - 10.0
    as_on_air_m += plan.place["elevation_m"] / 400.0
    share = 1.0 if plan.of_day == 1 else 0.85
    return share * interpolated(BOTTOM_MIN, as_on_air_m) * (1.25 if "flat" in plan.words else 1.0)


def interpolated(table: dict[int, float], at: float) -> float:
    """Return the value between the rows of a table, its ends held."""
    rows = sorted(table.items())
    at = min(max(at, rows[0][0]), rows[-1][0])
    for (low, low_value), (high, high_value) in pairwise(rows):
        if at <= high:
            return low_value + (high_value - low_value) * (at - low) / (high - low)
    return rows[-1][1]


def shallow_nodes(depth_m: float, minutes: float, rng: Random) -> list[Node]:
    """Along the bottom and slowly up."""
    return [
        (0.0, 0.0),
        (depth_m / 10.0, 0.9 * depth_m),
        (rng.uniform(0.35, 0.5) * minutes, depth_m),
        (0.8 * minutes, 0.6 * depth_m),
        (minutes - 1.5, 0.45 * depth_m),
        (minutes, 0.0),
    ]


def pool_nodes(depth_m: float, minutes: float, rng: Random) -> list[Node]:
    """Up and down, talking at the surface now and then."""
    nodes = [(0.0, 0.0)]
    while nodes[-1][0] < minutes - 5.0:
        at = nodes[-1][0]
        lowest = depth_m * rng.uniform(0.75, 1.0)
        nodes += [(at + 0.4, lowest), (at + rng.uniform(2.5, 5.0), lowest * rng.uniform(0.8, 1.0))]
        nodes += [(nodes[-1][0] + 0.5, rng.choice((0.3, 1.4, 1.8)))]
    return [*nodes, (minutes - 2.0, 0.7 * depth_m), (minutes - 0.5, 1.6), (minutes, 0.0)]


def depth_path(nodes: Sequence[Node], greatest_m: float, wander: float, rng: Random) -> list[float]:
    """Return the depth at each second; `wander` is the height of the waves as a share of the depth."""
    seconds = round(nodes[-1][0] * 60)
    waves = [(rng.uniform(low, high), rng.uniform(0.0, math.tau)) for low, high in ((70, 110), (130, 210))]
    path = [0.0] * (seconds + 1)
    for (from_min, from_m), (to_min, to_m) in pairwise(nodes):
        for second in range(math.ceil(from_min * 60), min(math.floor(to_min * 60), seconds) + 1):
            share = (second / 60 - from_min) / (to_min - from_min)
            path[second] = from_m + share * (to_m - from_m)
    for second, depth in enumerate(path):
        wave = 0.35 * math.sin(math.tau * second / waves[0][0] + waves[0][1])
        wave += 0.65 * math.sin(math.tau * second / waves[1][0] + waves[1][1])
        path[second] = depth + min(wander * depth, 1.4) * wave
    path = smoothed(path, 7)
    scale = greatest_m / max(path)
    return [depth * scale for depth in path]


def smoothed(path: Sequence[float], reach_s: int) -> list[float]:
    """Return the mean over 2 * reach + 1 seconds, less reach towards the ends, which stay as they are."""
    sums = [0.0]
    for value in path:
        sums.append(sums[-1] + value)
    result = []
    for second in range(len(path)):
        reach = min(reach_s, second, len(path) - 1 - second)
        result.append((sums[second + reach + 1] - sums[second - reach]) / (2 * reach + 1))
    return result


# --- the water and the cylinder -----------------------------------------------------------------


def surface_temperature_c(water: Table, began: datetime) -> float:
    """Return the temperature at the surface on a day; warmest in the second week of August."""
    day = began.timetuple().tm_yday
    return water["mean_c"] + water["swing_c"] * math.cos(math.tau * (day - 222) / 365.25)


def water_temperature_c(water: Table, began: datetime, depth_m: float) -> float:
    """Return the temperature at a depth: a smooth step of about four metres at the thermocline."""
    surface_c = surface_temperature_c(water, began)
    above = 1.0 / (1.0 + math.exp((depth_m - water["thermocline_m"]) / 1.3))
    return water["deep_c"] + (surface_c - water["deep_c"]) * above


def surface_pressure_bar(plan: PlannedDive) -> float:
    """Return the air pressure of the day: ISO 2533 at the elevation, and some weather."""
    standard = 1.01325 * (1.0 - 0.0065 * plan.place["elevation_m"] / 288.15) ** 5.25588
    weather = Random(f"weather {plan.began:%Y-%m-%d}").gauss(0.0, 0.006)
    return round(standard + min(max(weather, -0.012), 0.012), 4)


def breathed_l(plan: PlannedDive, path: Sequence[float], at_rest_l: float, rng: Random) -> list[float]:
    """Return the litres breathed in each second, at surface pressure."""
    surface_bar = surface_pressure_bar(plan)
    cold = max(0.0, 16.0 - water_temperature_c(plan.water, plan.began, plan.depth_m)) * 0.012
    mood = rng.uniform(0.96, 1.07)
    litres = []
    for second, depth in enumerate(path):
        calm = 1.0 + 0.22 * math.exp(-second / 240) + 0.04 * math.sin(second / 97)
        ambient_bar = (surface_bar + depth / 10.0) / surface_bar
        litres.append(at_rest_l * mood * (1.0 + cold + depth / 400) * calm * ambient_bar / 60)
    return litres


def planned_cylinders(plan: PlannedDive, used_l: float, rng: Random) -> list[Cylinder]:
    """Return the cylinders of the plan, or the smallest one that leaves a reserve of 50 bar."""
    if plan.drawn and "cylinders" in plan.drawn:
        return [Cylinder(**cylinder) for cylinder in plan.drawn["cylinders"]]
    start_bar = float(rng.randrange(198, 224))
    volume_l = next((v for v in (12.0, 15.0) if start_bar - used_l / v >= 50.0), 24.0)
    return [Cylinder(plan.gas, volume_l, start_bar)]


def pressures_along(
    cylinders: Sequence[Cylinder], switches: Sequence[tuple[float, int]], litres: Sequence[float]
) -> list[tuple[float, ...]]:
    """Return the pressure of every cylinder at each second [bar]."""
    now_bar = [cylinder.start_bar for cylinder in cylinders]
    along = []
    for second, litre in enumerate(litres):
        breathing = breathed_from(switches, second)
        now_bar[breathing] -= litre / cylinders[breathing].volume_l
        along.append(tuple(now_bar))
    return along


def breathed_from(switches: Sequence[tuple[float, int]], second: float) -> int:
    """Return which cylinder the diver breathes from at a second."""
    return next((cylinder for minute, cylinder in reversed(switches) if second >= minute * 60), 0)


# --- the recorder -------------------------------------------------------------------------------


def dive_it(plan: PlannedDive, at_rest_l: float) -> RecordedDive:
    """Return what the owner's recorder wrote of a planned dive."""
    rng = Random(f"owner {plan.key}")
    wander = 0.02 if plan.drawn else 0.07
    path = depth_path(nodes_of(plan, rng), plan.depth_m, wander, rng)
    return recorded(plan, path, plan.recorder, at_rest_l, rng, plan.depth_m)


def recorded(
    plan: PlannedDive, path: Sequence[float], recorder: Table, at_rest_l: float, rng: Random, greatest_m: float
) -> RecordedDive:
    """Return the recording of a path: cylinders breathed down, samples with noise and steps."""
    litres = breathed_l(plan, path, at_rest_l, rng)
    cylinders = planned_cylinders(plan, sum(litres), rng)
    switches = [(minute, cylinder) for minute, cylinder in (plan.drawn or {}).get("switches", [])]
    pressures = pressures_along(cylinders, switches, litres)
    ended = tuple(
        Cylinder(c.gas, c.volume_l, c.start_bar, round(end_bar))
        for c, end_bar in zip(cylinders, pressures[-1], strict=True)
    )
    samples = written_samples(plan, path, recorder, pressures, rng, greatest_m)
    samples = with_switches(samples, cylinders, switches)
    return RecordedDive(
        plan, plan.began, len(path) - 1, samples, ended, recorder, plan.buddies, plan.remarks, plan.number
    )


def written_samples(
    plan: PlannedDive,
    path: Sequence[float],
    recorder: Table,
    pressures: Sequence[tuple[float, ...]],
    rng: Random,
    greatest_m: float,
) -> tuple[Sample, ...]:
    """Return the samples at the recorder's interval, surface wait included."""
    every, ends = recorder["every_s"], len(path) - 1
    times = [*range(0, ends, every), ends]
    depths = [round(max(0.0, path[second] + rng.gauss(0.0, recorder["depth_noise_m"])), 1) for second in times]
    depths = [min(depth, greatest_m) for depth in depths]
    depths[depths.index(max(depths))], depths[0], depths[-1] = greatest_m, 0.0, 0.0
    sensed = sensed_temperatures(plan, path, recorder)
    samples = []
    for second, depth in zip(times, depths, strict=True):
        slow = second % recorder["slow_every_s"] == 0 or second == ends
        bars = tuple(round(bar) for bar in pressures[second]) if slow and recorder["hears_cylinder"] else ()
        samples.append(Sample(second, depth, sensed[second] if slow else None, bars))
    tail = range(ends + every, ends + recorder["surface_tail_s"] + 1, every)
    return (*samples, *(Sample(second, rng.choice((0.0, 0.0, 0.1))) for second in tail))


def sensed_temperatures(plan: PlannedDive, path: Sequence[float], recorder: Table) -> list[float]:
    """Return what a thermometer shows at each second that takes its time to follow the water."""
    shown_c = surface_temperature_c(plan.water, plan.began) + 1.5
    step, sensed = recorder["temperature_step_c"], []
    for depth in path:
        shown_c += (water_temperature_c(plan.water, plan.began, depth) - shown_c) / recorder["lag_s"]
        sensed.append(round(round(shown_c / step) * step, 1))
    return sensed


def with_switches(
    samples: Iterable[Sample], cylinders: Sequence[Cylinder], switches: Sequence[tuple[float, int]]
) -> tuple[Sample, ...]:
    """Return the samples with the gas named where it changes, and ascents the recorder warned of."""
    result: list[Sample] = []
    breathing, warned = -1, False
    for sample in samples:
        now = breathed_from(switches, sample.time_s)
        fast = ascent_m_min(result, sample) > 13.0
        result.append(
            Sample(
                sample.time_s,
                sample.depth_m,
                sample.temperature_c,
                sample.pressures_bar,
                gas_id(cylinders[now].gas) if now != breathing else "",
                "ascent" if fast and not warned else "",
            )
        )
        breathing, warned = now, fast
    return tuple(result)


def ascent_m_min(before: Sequence[Sample], now: Sample) -> float:
    """Return the ascent rate over the last twenty seconds."""
    then = next((sample for sample in reversed(before) if now.time_s - sample.time_s >= 20), None)
    return (then.depth_m - now.depth_m) * 60 / (now.time_s - then.time_s) if then else 0.0


def buddy_recording(own: RecordedDive, entry: Table, file: Table, scenario: Table) -> RecordedDive:
    """Return the same dive as the buddy's recorder had it: near, but never the same."""
    person = scenario["people"][file["person"]]
    recorder = scenario["recorders"][file["recorder"]]
    plan, rng = own.plan, Random(f"{file['person']} {own.plan.key}")
    owner_rng = Random(f"owner {plan.key}")
    path = depth_path(nodes_of(plan, owner_rng), plan.depth_m, 0.02 if plan.drawn else 0.07, owner_rng)
    path = beside(path, entry["apart"], rng)
    greatest_m = round(max(path), 1)
    dive = recorded(plan, path, recorder, person["minute_volume_l"], rng, greatest_m)
    owner = next(key for key, one in scenario["people"].items() if one.get("owner"))
    others = tuple(name for name in plan.buddies if name != file["person"])
    began = plan.began + timedelta(seconds=entry["clock_s"] + entry["begins_s"])
    return RecordedDive(plan, began, dive.duration_s, dive.samples, dive.cylinders, recorder, (owner, *others))


def beside(path: Sequence[float], apart: Sequence[Sequence[float]], rng: Random) -> list[float]:
    """Return a path a little off another, and well off it in the stretches named."""
    period_s, phase = rng.uniform(170.0, 260.0), rng.uniform(0.0, math.tau)
    result = []
    for second, depth in enumerate(path):
        off_m = min(0.04 * depth, 0.8) * math.sin(math.tau * second / period_s + phase)
        for from_min, to_min, by_m in apart:
            inside = min(second / 60 - from_min, to_min - second / 60)
            off_m += by_m * min(max(inside / 0.8, 0.0), 1.0)
        result.append(max(0.0, depth + off_m * min(1.0, depth / 6.0)))
    return smoothed(result, 7)


# --- UDDF 3.2.3, children in the order of the standard ------------------------------------------


def uddf(dives: Sequence[RecordedDive], owner: str, scenario: Table) -> str:
    """Return a file of one diver's dives."""
    names = sorted({name for dive in dives for name in dive.buddies})
    places = {dive.plan.place["name"]: dive.plan.place for dive in dives}
    gases = sorted({cylinder.gas for dive in dives for cylinder in dive.cylinders})
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        "<!-- Invented: no such people, places, recorders or dives. Made by demo_data/make_demo.py. -->",
        '<uddf xmlns="http://www.streit.cc/uddf/3.2/" version="3.2.3">',
        f" <generator><name>{escape(dives[0].recorder['name'])}</name><type>divecomputer</type>"
        f"<version>1</version><datetime>{scenario['made_on']}</datetime></generator>",
        " <diver>",
        *owner_lines(owner, dives, scenario),
        *(f'  <buddy id="{buddy_id(name)}">{personal(scenario["people"][name])}</buddy>' for name in names),
        " </diver>",
        " <divesite>",
        *(line for name in sorted(places) for line in site_lines(places[name], scenario)),
        " </divesite>",
        " <gasdefinitions>",
        *(mix_line(gas) for gas in gases),
        " </gasdefinitions>",
        " <profiledata>",
        *(line for group in repetition_groups(dives) for line in group_lines(group)),
        " </profiledata>",
        "</uddf>",
    ]
    return "\n".join(lines) + "\n"


def owner_lines(owner: str, dives: Sequence[RecordedDive], scenario: Table) -> Iterator[str]:
    """Yield the diver and the equipment that the dives refer to."""
    yield f'  <owner id="diver_{owner}">{personal(scenario["people"][owner], scenario["club"])}'
    yield "   <equipment>"
    for suit in sorted({suit_of(dive.plan) for dive in dives}):
        yield f'    <suit id="{suit_id(suit)}"><name>{suit}</name><suittype>{suit}</suittype></suit>'
    volumes = sorted({cylinder.volume_l for dive in dives for cylinder in dive.cylinders})
    for volume_l in volumes:
        name = "twin 12 L" if volume_l == 24 else f"{volume_l:g} L"
        yield (
            f'    <tank id="tank_{volume_l:g}"><name>{name}</name><tankmaterial>steel</tankmaterial>'
            f"<tankvolume>{volume_l / 1000:g}</tankvolume></tank>"
        )
    yield "   </equipment>"
    yield "  </owner>"


def personal(person: Table, club: str = "") -> str:
    member = f'<membership organisation="{escape(club)}"/>' if club else ""
    names = f"<firstname>{escape(person['first'])}</firstname><lastname>{escape(person['last'])}</lastname>"
    return f"<personal>{names}{member}</personal>"


def site_lines(place: Table, scenario: Table) -> Iterator[str]:
    """Yield one dive site."""
    latitude, longitude = place["position"]
    yield (
        f'  <site id="{site_id(place)}"><name>{escape(place["name"])}</name>'
        f"<environment>{scenario['waters'][place['water']]['environment']}</environment>"
    )
    yield (
        f"   <geography><location>{escape(place['region'])} (invented)</location>"
        f"<latitude>{latitude}</latitude><longitude>{longitude}</longitude>"
        f"<altitude>{place['elevation_m']}</altitude><timezone>{place.get('utc_offset_h', 1)}</timezone>"
        "</geography>"
    )
    yield f"   <sitedata><maximumdepth>{place['deepest_m']}</maximumdepth></sitedata>"
    yield "  </site>"


def mix_line(gas: str) -> str:
    oxygen, helium = fractions(gas)
    return (
        f'  <mix id="{gas_id(gas)}"><name>{gas}</name><o2>{oxygen:g}</o2>'
        f"<n2>{1.0 - oxygen - helium:.2f}</n2><he>{helium:g}</he></mix>"
    )


def fractions(gas: str) -> tuple[float, float]:
    """Return oxygen and helium of a gas by its name."""
    if gas == "air":
        return 0.21, 0.0
    oxygen, _, helium = gas.split()[1].partition("/")
    return int(oxygen) / 100, int(helium or 0) / 100


def repetition_groups(dives: Sequence[RecordedDive]) -> Iterator[list[RecordedDive]]:
    """Yield runs of dives less than two days apart."""
    group: list[RecordedDive] = []
    for dive in dives:
        if group and dive.began - group[-1].began > timedelta(hours=48):
            yield group
            group = []
        group.append(dive)
    yield group


def group_lines(group: Sequence[RecordedDive]) -> Iterator[str]:
    """Yield a repetition group: its first dive from an infinite surface interval, the rest not."""
    yield f'  <repetitiongroup id="days_from_{group[0].began:%Y%m%d}">'
    for before, dive in zip([None, *group], group, strict=False):
        interval = "<infinity/>"
        if before is not None:
            waited = dive.began - before.began - timedelta(seconds=before.duration_s)
            interval = f"<passedtime>{round(waited.total_seconds())}</passedtime>"
        yield f'   <dive id="dive_{dive.began:%Y%m%d_%H%M%S}">'
        yield from before_lines(dive, interval)
        yield from tank_lines(dive)
        yield "    <samples>"
        yield from (waypoint(sample, dive.cylinders) for sample in dive.samples)
        yield "    </samples>"
        yield from after_lines(dive)
        yield "   </dive>"
    yield "  </repetitiongroup>"


def before_lines(dive: RecordedDive, interval: str) -> Iterator[str]:
    """Yield what was known before the dive."""
    plan, notes = dive.plan, dive.notes
    yield "    <informationbeforedive>"
    yield "     " + "".join(
        f'<link ref="{ref}"/>' for ref in (site_id(plan.place), *(buddy_id(name) for name in dive.buddies))
    )
    if dive.number is not None:
        yield f"     <divenumber>{dive.number}</divenumber><divenumberofday>{plan.of_day}</divenumberofday>"
    yield f"     <datetime>{dive.began.isoformat()}</datetime>"
    yield f"     <airtemperature>{kelvin(round(surface_temperature_c(plan.water, plan.began) + 2.0))}</airtemperature>"
    yield f"     <surfaceintervalbeforedive>{interval}</surfaceintervalbeforedive>"
    yield f"     <altitude>{plan.place['elevation_m']}</altitude>"
    if dive.number is not None:
        lead = notes.get("weights_kg", LEAD_KG[suit_of(plan)])
        yield (
            f"     <equipmentused><leadquantity>{lead:g}</leadquantity>"
            f'<link ref="{suit_id(suit_of(plan))}"/></equipmentused>'
        )
    yield f"     <apparatus>open-scuba</apparatus><purpose>{purpose(plan)}</purpose>"
    if dive.recorder["notes_surface_pressure"]:
        yield f"     <surfacepressure>{surface_pressure_bar(plan) * 1e5:.0f}</surfacepressure>"
    yield "    </informationbeforedive>"


def tank_lines(dive: RecordedDive) -> Iterator[str]:
    for cylinder in dive.cylinders:
        yield (
            f'    <tankdata><link ref="{gas_id(cylinder.gas)}"/><link ref="{cylinder.id}"/>'
            f"<tankpressurebegin>{cylinder.start_bar * 1e5:.0f}</tankpressurebegin>"
            f"<tankpressureend>{cylinder.end_bar * 1e5:.0f}</tankpressureend></tankdata>"
        )


def waypoint(sample: Sample, cylinders: Sequence[Cylinder]) -> str:
    """Return one sample on one line, its children in the order that the schema fixes."""
    parts = [
        f"<alarm>{sample.alarm}</alarm>" if sample.alarm else "",
        f"<depth>{sample.depth_m}</depth><divetime>{sample.time_s}</divetime>",
        f'<switchmix ref="{sample.switch_to}"/>' if sample.switch_to else "",
        *(
            f'<tankpressure ref="{cylinder.id}">{bar * 1e5:.0f}</tankpressure>'
            for cylinder, bar in zip(cylinders, sample.pressures_bar, strict=False)
        ),
        "" if sample.temperature_c is None else f"<temperature>{kelvin(sample.temperature_c)}</temperature>",
    ]
    return f"<waypoint>{''.join(parts)}</waypoint>"


def after_lines(dive: RecordedDive) -> Iterator[str]:
    """Yield what was known after the dive."""
    notes = dive.notes
    known = [sample.temperature_c for sample in dive.samples if sample.temperature_c is not None]
    yield "    <informationafterdive>"
    yield f"     <lowesttemperature>{kelvin(min(known))}</lowesttemperature>"
    yield f"     <greatestdepth>{max(sample.depth_m for sample in dive.samples)}</greatestdepth>"
    for name, key in (
        ("visibility", "visibility_m"),
        ("current", "current"),
        ("problems", "problems"),
        ("thermalcomfort", "thermalcomfort"),
        ("workload", "workload"),
    ):
        if key in notes:
            yield f"     <{name}>{notes[key]}</{name}>"
    if "notes" in notes:
        yield f"     <notes><para>{escape(notes['notes'])}</para></notes>"
    if "rating" in notes:
        yield f"     <rating><ratingvalue>{notes['rating']}</ratingvalue></rating>"
    yield f"     <diveduration>{dive.duration_s}</diveduration>"
    yield f"     <averagedepth>{mean_depth_m(dive):.1f}</averagedepth>"
    yield "    </informationafterdive>"


def mean_depth_m(dive: RecordedDive) -> float:
    """Return the mean over time, the wait at the surface left out."""
    inside = [sample for sample in dive.samples if sample.time_s <= dive.duration_s]
    area = sum(
        (one.depth_m + two.depth_m) / 2 * (two.time_s - one.time_s) for one, two in pairwise(inside)
    )
    return area / dive.duration_s


LEAD_KG = {"dry-suit": 10.5, "wet-suit": 5.0}


def suit_of(plan: PlannedDive) -> str:
    return "wet-suit" if plan.water["mean_c"] > 20 else "dry-suit"


def purpose(plan: PlannedDive) -> str:
    return str(plan.remarks.get("purpose", "learning" if "pool" in plan.words else "sightseeing"))


def kelvin(celsius: float) -> str:
    return f"{celsius + 273.15:.2f}"


def site_id(place: Table) -> str:
    return "site_" + "".join(c if c.isalnum() else "_" for c in place["name"].lower())


def buddy_id(name: str) -> str:
    return f"buddy_{name}"


def suit_id(suit: str) -> str:
    return suit.replace("-", "_")


def gas_id(gas: str) -> str:
    return "mix_" + gas.replace(" ", "_").replace("/", "_")


# --- tables of samples and hand entries ---------------------------------------------------------


def depth_table(dive: RecordedDive) -> str:
    """Return a dive as a table with commas, metres and degrees Celsius."""
    lines = ["time_s,depth_m,temperature_c,pressure_bar"]
    for sample in dive.samples:
        temperature = "" if sample.temperature_c is None else f"{sample.temperature_c:.1f}"
        bar = f"{sample.pressures_bar[0]:g}" if sample.pressures_bar else ""
        lines.append(f"{sample.time_s},{sample.depth_m},{temperature},{bar}")
    return "\n".join(lines) + "\n"


def depth_table_feet(dive: RecordedDive) -> str:
    """Return a dive as a table with semicolons, decimal commas, minutes, feet and degrees Fahrenheit."""
    lines = ["time_min;depth_ft;temperature_f;pressure_psi"]
    for sample in dive.samples:
        temperature = "" if sample.temperature_c is None else f"{sample.temperature_c * 1.8 + 32:.1f}"
        psi = f"{sample.pressures_bar[0] * 14.5038:.0f}" if sample.pressures_bar else ""
        row = f"{sample.time_s / 60:.3f};{sample.depth_m / 0.3048:.1f};{temperature};{psi}"
        lines.append(row.replace(".", ","))
    return "\n".join(lines) + "\n"


def hand_entries(scenario: Table, numbers: dict[str, int]) -> str:
    """Return the dives without samples as JSON, one field for each thing that was written down."""
    entries = []
    for entry in scenario["by_hand"]:
        place = scenario["places"][entry["at"]]
        began = local_time(entry["began"], place)
        told = {key: value for key, value in entry.items() if key not in ("began", "at", "buddies")}
        entries.append(
            {
                "number": numbers[entry["began"]],
                "began_local": began.isoformat(),
                **told,
                "site": hand_site(place),
                "buddies": [full_name(scenario["people"][name]) for name in entry.get("buddies", [])],
            }
        )
    words = "Dives written down by hand. Invented; made by demo_data/make_demo.py."
    return json.dumps({"about": words, "dives": entries}, ensure_ascii=False, indent=1) + "\n"


def hand_site(place: Table) -> Table:
    latitude, longitude = place["position"]
    return {
        "name": place["name"],
        "elevation_m": place["elevation_m"],
        "latitude_deg": latitude,
        "longitude_deg": longitude,
        "water": "sea" if "coast" in place["water"] else "fresh",
        "region": place["region"],
    }


def full_name(person: Table) -> str:
    return f"{person['first']} {person['last']}"


# --- all of it ----------------------------------------------------------------------------------


def make(folder: Path) -> list[Path]:
    """Write every demo file into a folder and return their paths."""
    scenario = tomllib.loads((HERE / "scenario.toml").read_text(encoding="utf-8"))
    owner = next(key for key, person in scenario["people"].items() if person.get("owner"))
    plans = planned_dives(scenario)
    numbers = dive_numbers(plans, scenario)
    at_rest_l = scenario["people"][owner]["minute_volume_l"]
    dives = [numbered(dive_it(plan, at_rest_l), numbers[plan.key]) for plan in plans]
    texts = {"hand_entries.json": hand_entries(scenario, numbers)}
    for name, group in groupby(sorted(dives, key=lambda dive: dive.plan.file), lambda dive: dive.plan.file):
        texts[name] = own_file(name, list(group), owner, scenario)
    by_key = {dive.plan.key: dive for dive in dives}
    for file in scenario["buddy_files"]:
        theirs = [buddy_recording(by_key[entry["of"]], entry, file, scenario) for entry in file["dives"]]
        texts[file["file"]] = uddf(theirs, file["person"], scenario)
    return [written(folder / name, text) for name, text in sorted(texts.items())]


def dive_numbers(plans: Sequence[PlannedDive], scenario: Table) -> dict[str, int]:
    """Return the number of each dive by its start; the last dive has the number that the scenario says."""
    starts = sorted([plan.key for plan in plans] + [entry["began"] for entry in scenario["by_hand"]])
    first = scenario["last_number"] - len(starts) + 1
    return {start: first + nth for nth, start in enumerate(starts)}


def numbered(dive: RecordedDive, number: int) -> RecordedDive:
    return RecordedDive(**{**vars(dive), "number": number})


def own_file(name: str, dives: Sequence[RecordedDive], owner: str, scenario: Table) -> str:
    if name.endswith("_feet.csv"):
        return depth_table_feet(dives[0])
    return depth_table(dives[0]) if name.endswith(".csv") else uddf(dives, owner, scenario)


def written(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="\n")
    return path


if __name__ == "__main__":
    for made in make(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE):
        print(f"{made.name}: {made.stat().st_size / 1000:.0f} kB")

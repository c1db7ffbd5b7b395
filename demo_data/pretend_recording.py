"""A dive that nobody made, and what a recorder would have written of it.

    path         straight legs between the corners of the plan, an uneven ground over them that the
                 diver follows (within 7 % of the depth, drawn dives 3 %), smoothed over 15 s,
                 scaled to the greatest depth of the plan
    temperature  a surface that follows the year, deep water that does not, a smooth step between
    gas          minute volume times ambient pressure; more in cold water, in the first minutes
                 and at depth; the cylinder as an ideal gas, which is plenty here
    depth        10 m for each bar, as EN 13319 lets a recorder show it
    recorder     noise, 0.1 m steps, a slow thermometer, its own interval, clock and channels

Each dive has its own sequences of random numbers, seeded by its start, so that a dive added to the
scenario leaves the others as they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from random import Random

from dive_plan import Node, PlannedDive, Table, nodes_of, owner_of

WARMEST_DAY = 222  # of the year, the second week of August


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
class Sample:
    """One waypoint; temperature and pressures are there every so often."""

    time_s: int
    depth_m: float
    temperature_c: float | None = None
    pressures_bar: tuple[float, ...] = ()
    switch_to: str = ""
    alarm: str = ""
    mark: str = ""


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
    number: int | None = None


def planned_path(plan: PlannedDive) -> list[float]:
    """Return the depth that the owner was at, second by second, scaled to the plan's greatest."""
    rng = Random(f"path {plan.key}")
    path = along(nodes_of(plan, rng))
    ground = along(uneven_ground(len(path) - 1, rng))
    share = 0.03 if plan.drawn else 0.07
    path = [depth + min(share * depth, 1.4) * rise for depth, rise in zip(path, ground, strict=True)]
    path = smoothed(path, 7)
    deepest = max(path)
    return [depth * plan.depth_m / deepest for depth in path]


def along(nodes: Sequence[Node]) -> list[float]:
    """Return the straight lines between nodes, second by second up to the last."""
    ends = round(nodes[-1][0] * 60)
    line = [nodes[0][1]] * (ends + 1)
    for (from_min, from_m), (to_min, to_m) in pairwise(nodes):
        for second in range(math.ceil(from_min * 60), min(math.floor(to_min * 60), ends) + 1):
            share = (second / 60 - from_min) / (to_min - from_min)
            line[second] = from_m + share * (to_m - from_m)
    return line


def uneven_ground(seconds: int, rng: Random) -> list[Node]:
    """Return rises and hollows between -1 and 1, half a minute to three minutes apart."""
    nodes = [(0.0, 0.0)]
    while nodes[-1][0] * 60 < seconds:
        nodes.append((nodes[-1][0] + rng.triangular(0.5, 3.0, 0.8), rng.triangular(-1.0, 1.0)))
    last = seconds / 60
    return [*(node for node in nodes if node[0] < last), (last, 0.0)]


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


def surface_temperature_c(water: Table, began: datetime) -> float:
    """Return the temperature at the surface on a day of the year."""
    day = began.timetuple().tm_yday
    mean_c, swing_c = float(water["mean_c"]), float(water["swing_c"])
    return mean_c + swing_c * math.cos(math.tau * (day - WARMEST_DAY) / 365.25)


def water_temperature_c(water: Table, began: datetime, depth_m: float) -> float:
    """Return the temperature at a depth: a smooth step at a thermocline that autumn pushes down."""
    surface_c = surface_temperature_c(water, began)
    days_past_warmest = max(0, began.timetuple().tm_yday - WARMEST_DAY)
    thermocline_m = water["thermocline_m"] + water["sinks_m"] * days_past_warmest / 100
    above = 1.0 / (1.0 + math.exp((depth_m - thermocline_m) / 1.3))
    deep_c = float(water["deep_c"])
    return deep_c + (surface_c - deep_c) * above


def surface_pressure_bar(plan: PlannedDive) -> float:
    """Return the air pressure of the day: ISO 2533 at the elevation, and some weather."""
    elevation_m = float(plan.place["elevation_m"])
    standard_bar = 1.01325 * (1.0 - 0.0065 * elevation_m / 288.15) ** 5.25588
    weather = Random(f"weather {plan.began:%Y-%m-%d}").gauss(0.0, 0.006)
    return round(standard_bar + min(max(weather, -0.012), 0.012), 4)


def drawn_bar_l(plan: PlannedDive, path: Sequence[float], minute_volume_l: float, rng: Random) -> list[float]:
    """Return what each second takes from the cylinder, pressure times water volume. [bar L]"""
    surface_bar = surface_pressure_bar(plan)
    cold = max(0.0, 16.0 - water_temperature_c(plan.water, plan.began, plan.depth_m)) * 0.012
    mood = rng.uniform(0.96, 1.07)
    drawn = []
    for second, depth in enumerate(path):
        calm = 1.0 + 0.22 * math.exp(-second / 240) + 0.04 * math.sin(second / 97)
        breath_l = minute_volume_l * mood * calm * (1.0 + cold + depth / 400)
        drawn.append(breath_l * (surface_bar + depth / 10.0) / 60)
    return drawn


def planned_cylinders(plan: PlannedDive, needed_bar_l: float, rng: Random) -> list[Cylinder]:
    """Return the cylinders of the plan, or the smallest one that leaves a reserve of 50 bar."""
    if plan.drawn and "cylinders" in plan.drawn:
        return [Cylinder(**cylinder) for cylinder in plan.drawn["cylinders"]]
    start_bar = float(rng.randrange(198, 224))
    volume_l = next((v for v in (12.0, 15.0) if start_bar - needed_bar_l / v >= 50.0), 24.0)
    return [Cylinder(plan.gas, volume_l, start_bar)]


def pressures_along(
    cylinders: Sequence[Cylinder], switches: Sequence[tuple[float, int]], drawn: Sequence[float]
) -> list[tuple[float, ...]]:
    """Return the pressure of every cylinder at each second [bar]."""
    now_bar = [cylinder.start_bar for cylinder in cylinders]
    along = []
    for second, bar_l in enumerate(drawn):
        breathing = breathed_from(switches, second)
        now_bar[breathing] -= bar_l / cylinders[breathing].volume_l
        along.append(tuple(now_bar))
    return along


def breathed_from(switches: Sequence[tuple[float, int]], second: float) -> int:
    """Return which cylinder the diver breathes from at a second."""
    return next((cylinder for minute, cylinder in reversed(switches) if second >= minute * 60), 0)


def dive_it(plan: PlannedDive, minute_volume_l: float) -> RecordedDive:
    """Return what the owner's recorder wrote of a planned dive."""
    rng = Random(f"recorder {plan.key}")
    return recorded(plan, planned_path(plan), plan.recorder, minute_volume_l, rng, plan.depth_m)


def recorded(
    plan: PlannedDive,
    path: Sequence[float],
    recorder: Table,
    minute_volume_l: float,
    rng: Random,
    greatest_m: float,
) -> RecordedDive:
    """Return the recording of a path: cylinders breathed down, samples with noise and steps."""
    drawn = drawn_bar_l(plan, path, minute_volume_l, rng)
    cylinders = planned_cylinders(plan, math.fsum(drawn), rng)
    switches = [(minute, cylinder) for minute, cylinder in (plan.drawn or {}).get("switches", [])]
    pressures = pressures_along(cylinders, switches, drawn)
    ended = tuple(
        replace(cylinder, end_bar=round(end_bar))
        for cylinder, end_bar in zip(cylinders, pressures[-1], strict=True)
    )
    samples = written_samples(plan, path, recorder, pressures, rng, greatest_m)
    samples = with_switches(samples, cylinders, switches)
    samples = with_marks(samples, plan.remarks.get("marks", []))
    return RecordedDive(plan, plan.began, len(path) - 1, samples, ended, recorder, plan.buddies)


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
    depths = [
        round(max(0.0, path[second] + rng.gauss(0.0, recorder["depth_noise_m"])), 1) for second in times
    ]
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
            replace(
                sample,
                switch_to=cylinders[now].gas if now != breathing else "",
                alarm="ascent" if fast and not warned else "",
            )
        )
        breathing, warned = now, fast
    return tuple(result)


def with_marks(samples: Sequence[Sample], marks: Sequence[tuple[float, str]]) -> tuple[Sample, ...]:
    """Return the samples with what the diver marked on the way, each at the first sample after it."""
    result = list(samples)
    for minute, text in marks:
        nth = next(n for n, sample in enumerate(samples) if sample.time_s >= minute * 60)
        result[nth] = replace(result[nth], mark=text)
    return tuple(result)


def ascent_m_min(before: Sequence[Sample], now: Sample) -> float:
    """Return the ascent rate over the last twenty seconds."""
    then = next((sample for sample in reversed(before) if now.time_s - sample.time_s >= 20), None)
    return (then.depth_m - now.depth_m) * 60 / (now.time_s - then.time_s) if then else 0.0


def buddy_recording(own: RecordedDive, entry: Table, file: Table, scenario: Table) -> RecordedDive:
    """Return the same dive as the buddy's recorder had it: near, but never the same."""
    person = scenario["people"][file["person"]]
    recorder = scenario["recorders"][file["recorder"]]
    plan, rng = replace(own.plan, remarks={}), Random(f"{file['person']} {own.plan.key}")
    path = beside(planned_path(plan), entry["apart"], rng)
    dive = recorded(plan, path, recorder, person["minute_volume_l"], rng, round(max(path), 1))
    return replace(
        dive,
        began=plan.began + timedelta(seconds=entry["clock_s"] + entry["begins_s"]),
        buddies=(owner_of(scenario), *(name for name in plan.buddies if name != file["person"])),
    )


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

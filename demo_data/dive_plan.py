"""The plan of a dive: a line of scenario.toml becomes a start, a place and the corners of a profile."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from itertools import pairwise
from random import Random
from typing import Any

Table = dict[str, Any]
Node = tuple[float, float]  # minute, depth in metres

# Minutes near the greatest depth that the club plans for a first dive on air, by depth in
# metres. Invented, and inside the no-stop limits at 40/85; tests/house checks that they are.
BOTTOM_MIN = {9: 45, 12: 38, 15: 30, 18: 24, 21: 17, 25: 11.5, 30: 8, 35: 6, 45: 4}


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
    trip: str = ""

    @property
    def key(self) -> str:
        return f"{self.began:%Y-%m-%d %H:%M}"

    @property
    def gas(self) -> str:
        return "air" if self.oxygen_percent == 21 else f"nitrox {self.oxygen_percent}"


def owner_of(scenario: Table) -> str:
    """Return the key of the person whose logbook this is."""
    return next(key for key, person in scenario["people"].items() if person.get("owner"))


def planned_dives(scenario: Table) -> list[PlannedDive]:
    """Return every dive of the scenario that has samples, in order, without numbers."""
    dives = [
        dive
        for file in scenario["files"]
        for day in file["days"]
        for dive in dives_of_day(scenario, file, day)
    ]
    return sorted(dives, key=lambda dive: dive.began)


def dives_of_day(scenario: Table, file: Table, day: Table) -> Iterator[PlannedDive]:
    """Yield the dives of one line of the scenario."""
    places = [day["at"]] if isinstance(day["at"], str) else day["at"]
    for nth, line in enumerate(day["dives"]):
        place = scenario["places"][places[min(nth, len(places) - 1)]]
        clock, depth, minutes, *words = line.split()
        key = f"{day['day']} {clock}"
        kinds = scenario["recorders"]
        kind = words[words.index("recorder") + 1] if "recorder" in words else "A"
        yield PlannedDive(
            file=file["name"],
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
            trip=file.get("trip", ""),
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
    """Down to the greatest depth, up the slope over one to three terraces, a stop at five metres."""
    depth = plan.depth_m
    down = depth / rng.uniform(13.0, 18.0)
    bottom = down + min(bottom_min(plan), 0.42 * minutes) * rng.uniform(0.82, 0.98)
    stop_at = rng.uniform(4.6, 5.6)
    stop_ends = minutes - stop_at / rng.uniform(5.0, 7.0)
    stop_begins = stop_ends - rng.uniform(3.2, 5.5)
    nodes = [(0.0, 0.0), (down, depth), (bottom, 0.96 * depth)]
    nodes += terraces(nodes[-1], (stop_begins, stop_at), depth, rng)
    return [*nodes, (stop_begins, stop_at), (stop_ends, stop_at), (minutes, 0.0)]


def terraces(bottom: Node, stop: Node, depth_m: float, rng: Random) -> list[Node]:
    """Return the way from the bottom to the stop: one terrace after the other, each sloping up."""
    count = rng.choice((1, 2, 2, 3))
    leaves_last = stop[0] - max(0.0, 0.4 * depth_m - stop[1]) / 6.0
    each_min = (leaves_last - bottom[0]) / count
    nodes = []
    for nth in range(count):
        begins = bottom[0] + nth * each_min
        lower = depth_m * (rng.uniform(0.68, 0.75) - 0.26 * nth / count)
        upper = max(stop[1] + 0.5, depth_m * (0.66 - 0.26 * (nth + 1) / count) * rng.uniform(0.95, 1.05))
        last = nodes[-1][1] if nodes else bottom[1]
        nodes.append((begins + min(max(last - lower, 0.5) / 5.0, 0.6 * each_min), min(lower, last)))
        nodes.append((begins + each_min, min(upper, nodes[-1][1])))
    return nodes


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

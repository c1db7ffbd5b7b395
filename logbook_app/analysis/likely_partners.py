"""Whose record may be of one dive with whose: what to try, before anything is laid over anything.

Laying two recordings over each other costs milliseconds, and a logbook holds thousands of dives. So for each
record of another diver only a few of the owner's dives are tried: those begun nearest to it and, where none
of them is the same dive, those most like it in depth and time, because a clock may be wrong by years.
Common practice, no source, for the limits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from logbook_app.analysis.clock_alignment import Likeness
from logbook_app.analysis.same_dive import CLOCK_APART
from logbook_app.dive.record import Dive

NEAR_EACH: Final = 8  # dives begun about when the record was
FAR_EACH: Final = 3  # dives of any day
DEPTH_APART_M: Final = 5.0  # buddies swim above one another
TIME_APART_SHARE: Final = 0.25
TIME_APART_MIN: Final = 10.0


@dataclass(frozen=True, slots=True)
class LikelyPair:
    """A dive of the owner's and a record that seems to be of the same dive."""

    own: Dive
    other: Dive
    likeness: Likeness


def near_dives(other: Dive, own: Iterable[Dive]) -> list[Dive]:
    """Return the few dives that a record may be of by its clock, the nearest start first."""
    reach_s = CLOCK_APART.total_seconds()
    found = [dive for dive in own if _starts_apart_s(dive, other) <= reach_s and _of_a_size(dive, other)]
    return sorted(found, key=lambda dive: _starts_apart_s(dive, other))[:NEAR_EACH]


def far_dives(other: Dive, own: Iterable[Dive]) -> list[Dive]:
    """Return the few dives that a record of a wrong clock may be of, the one most like it in size first."""
    reach_s = CLOCK_APART.total_seconds()
    found = [dive for dive in own if _starts_apart_s(dive, other) > reach_s and _of_a_size(dive, other)]
    return sorted(found, key=lambda dive: _unlike(dive, other))[:FAR_EACH]


def in_order_of_likelihood(leader: Dive, others: Sequence[Dive]) -> list[Dive]:
    """Return records as one looks through them for a dive made with `leader`: the nearest start first."""
    return sorted(others, key=lambda other: (_starts_apart_s(leader, other), other.id))


def _of_a_size(own: Dive, other: Dive) -> bool:
    longest_apart_min = max(TIME_APART_MIN, TIME_APART_SHARE * max(own.duration_min, other.duration_min))
    return (
        own.id != other.id
        and abs(own.max_depth_m - other.max_depth_m) <= DEPTH_APART_M
        and abs(own.duration_min - other.duration_min) <= longest_apart_min
    )


def _starts_apart_s(own: Dive, other: Dive) -> float:
    return abs((own.began_at - other.began_at).total_seconds())


def _unlike(own: Dive, other: Dive) -> tuple[float, str]:
    """Return how little two records are alike in size; a metre weighs as much as a minute."""
    apart = abs(own.max_depth_m - other.max_depth_m) + abs(own.duration_min - other.duration_min)
    return apart, own.id

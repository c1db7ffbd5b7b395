"""Is this the dive we already have, written by another recorder?

Two records of one diver that share half of the shorter one's time and reach nearly the same depth
are one dive: nobody is in two places at once. Common practice, no source, for both limits.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from logbook_app.dive.record import Dive

SHARED_TIME = 0.5
DEPTH_APART_M = 2.0
DEPTH_APART_SHARE = 0.1


def overlap(first: Dive, second: Dive) -> timedelta:
    """Return how long two dives were under way at once; zero where they were not."""
    shared = min(first.ended_at, second.ended_at) - max(first.began_at, second.began_at)
    return max(shared, timedelta(0))


def overlapping(dive: Dive, others: Iterable[Dive]) -> Dive | None:
    """Return the dive of the same diver that overlaps this one longest, None where none does."""
    candidates = [other for other in others if other.diver == dive.diver and overlap(dive, other)]
    return max(candidates, key=lambda other: overlap(dive, other), default=None)


def same_dive(first: Dive, second: Dive) -> bool:
    """Return whether two overlapping records of one diver, both with samples, are one dive."""
    if first.estimate or second.estimate or first.diver != second.diver:
        return False
    shorter_min = min(first.duration_min, second.duration_min)
    shared_min = overlap(first, second).total_seconds() / 60
    apart_m = abs(first.max_depth_m - second.max_depth_m)
    allowed_m = max(DEPTH_APART_M, DEPTH_APART_SHARE * max(first.max_depth_m, second.max_depth_m))
    return shared_min >= SHARED_TIME * shorter_min and apart_m <= allowed_m

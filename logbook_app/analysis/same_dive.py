"""Is this the dive we already have, written by another recorder or by hand?

Two records of one diver that share half of the shorter one's time and reach nearly the same depth
are one dive: nobody is in two places at once. A start written by hand may be well off, so a record
without samples is only offered as the same dive, to be joined when the diver says so.
Common practice, no source, for every limit.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook_app.analysis.spoken_units import spoken_duration
from logbook_app.dive.record import Dive
from logbook_app.language import _, number

SHARED_TIME = 0.5
DEPTH_APART_M = 2.0
DEPTH_APART_SHARE = 0.1
CLOCK_APART = timedelta(hours=36)  # the furthest that a clock is off: a date and half a day
START_BY_HAND_APART = timedelta(minutes=90)
TIME_BY_HAND_APART_MIN = 5.0
TIME_BY_HAND_APART_SHARE = 0.15


@dataclass(frozen=True, slots=True)
class JoinOffer:
    """Two records that seem to be one dive; `words` say why and what to do. Nothing was joined."""

    keep_id: str
    other_id: str
    words: str


def overlap(first: Dive, second: Dive) -> timedelta:
    """Return how long two dives were under way at once; zero where they were not."""
    shared = min(first.ended_at, second.ended_at) - max(first.began_at, second.began_at)
    return max(shared, timedelta(0))


def overlapping(dive: Dive, others: Iterable[Dive]) -> Dive | None:
    """Return the dive of the same diver that overlaps this one, None where none does.

    One that is the same dive goes before any other, then the one that overlaps longest.
    """
    candidates = [other for other in others if other.diver == dive.diver and overlap(dive, other)]
    return max(candidates, key=lambda other: (same_dive(dive, other), overlap(dive, other)), default=None)


def same_dive(first: Dive, second: Dive) -> bool:
    """Return whether two overlapping records of one diver, both with samples, are one dive."""
    if first.estimate or second.estimate or first.diver != second.diver:
        return False
    shorter_min = min(first.duration_min, second.duration_min)
    shared_min = overlap(first, second).total_seconds() / 60
    return shared_min >= SHARED_TIME * shorter_min and depths_agree(first, second)


def same_dive_by_hand(first: Dive, second: Dive) -> bool:
    """Return whether two records of one diver seem to be one dive, at least one of them without samples.

    Start, time and greatest depth must be about the same.
    """
    if not (first.estimate or second.estimate) or first.diver != second.diver:
        return False
    longer_min = max(first.duration_min, second.duration_min)
    allowed_min = max(TIME_BY_HAND_APART_MIN, TIME_BY_HAND_APART_SHARE * longer_min)
    return (
        abs(first.began_at - second.began_at) <= START_BY_HAND_APART
        and abs(first.duration_min - second.duration_min) <= allowed_min
        and depths_agree(first, second)
    )


def depths_agree(first: Dive, second: Dive) -> bool:
    """Return whether two greatest depths are as near to each other as two gauges are."""
    apart_m = abs(first.max_depth_m - second.max_depth_m)
    return apart_m <= max(DEPTH_APART_M, DEPTH_APART_SHARE * max(first.max_depth_m, second.max_depth_m))


def could_be_one(first: Dive, second: Dive) -> bool:
    """Return whether a diver may make two records one: about the same depth, begun within `CLOCK_APART`.

    Wider than what is offered, because a clock can be off by a day; two dives of different weeks are two.
    """
    return depths_agree(first, second) and abs(first.began_at - second.began_at) <= CLOCK_APART


def join_offers(dives: Iterable[Dive], others: Iterable[Dive]) -> list[JoinOffer]:
    """Return what to offer as one dive: each of `dives` with the one of `others` that it most resembles.

    The nearest starts are paired first, and each record is offered once. Of two, the one that has
    samples is to be kept, else the one of `dives`.
    """
    in_order = sorted(others, key=lambda other: other.began_at)
    starts = [other.began_at for other in in_order]
    pairs = [
        (abs(dive.began_at - other.began_at), dive, other)
        for dive in dives
        for other in _about(dive, in_order, starts)
        if other.id != dive.id and not _told_apart(dive, other)
        if same_dive(dive, other) or same_dive_by_hand(dive, other)
    ]
    offered: set[str] = set()
    offers = []
    for _apart, dive, other in sorted(pairs, key=lambda pair: (pair[0], pair[1].began_at, pair[1].id)):
        if offered.isdisjoint({dive.id, other.id}):
            offered |= {dive.id, other.id}
            offers.append(_join_offer(dive, other))
    return offers


def told_dive(dive: Dive) -> str:
    """Return a dive as a diver would name it in a sentence."""
    began = f"{dive.began_local:%Y-%m-%d %H:%M}"
    return (
        _("dive {number} ({began})").format(number=dive.number, began=began)
        if dive.number is not None
        else _("the dive of {began}").format(began=began)
    )


def _about(dive: Dive, in_order: list[Dive], starts: list[datetime]) -> list[Dive]:
    """Return the dives that could be this one by their start; nobody dives longer than the reach."""
    reach = max(START_BY_HAND_APART, timedelta(minutes=2 * dive.duration_min))
    return in_order[bisect_left(starts, dive.began_at - reach) : bisect_right(starts, dive.began_at + reach)]


def _told_apart(first: Dive, second: Dive) -> bool:
    """Tell whether one file has both, one after the other: it knows them to be two."""
    files = [{recording.file_name for recording in dive.recordings} - {""} for dive in (first, second)]
    return not files[0].isdisjoint(files[1]) and not overlap(first, second)


def _join_offer(dive: Dive, other: Dive) -> JoinOffer:
    keep, goes = (other, dive) if dive.estimate and not other.estimate else (dive, other)
    form = _("{depth} m for {duration} without samples") if goes.estimate else _("{depth} m for {duration}")
    size = form.format(depth=number(goes.max_depth_m, ".1f"), duration=spoken_duration(goes.duration_min))
    words = _(
        "{keep} and {goes}, {size}, seem to be one dive. Both count in the load until "
        "they are made one or one of them is deleted."
    ).format(
        keep=told_dive(keep),
        goes=told_dive(goes),
        size=size,
    )
    return JoinOffer(keep.id, goes.id, words[0].upper() + words[1:])

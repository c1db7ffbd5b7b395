"""A recorder whose clock was wrong is found out by the others.

Two recorders on one diver write the same profile. Where the shapes agree but the times do not, one of
the clocks is off: by an hour of summer time, a time zone, half a day, a date. Such a shift is the same for
every dive of a batch, which is how it is told from two dives that merely look alike.

A file may also state the surface interval between its dives. Where that and the start times differ by a
whole quarter of an hour, the recorder's clock was changed between the two dives.

Nothing is shifted here: an offer says what would fit, and the diver decides.
Common practice, no source, for every limit.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from logbook_app.analysis.same_dive import CLOCK_APART, depths_agree, told_dive
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.language import _, ngettext
from logbook_app.physics.units import FloatArray

LEAST_SHIFT_MIN: Final = 5.0  # less is the drift of two honest clocks, and such dives overlap anyway
QUARTER_MIN: Final = 15.0  # every time zone in use is a whole number of quarters from UTC
OFF_QUARTER_MIN: Final = 5.0  # what two clocks drift apart besides
ONE_SHIFT_MIN: Final = 2.0  # shifts of one batch that are the same shift

STEP_S: Final = 10.0
STARTS_APART_S: Final = 300.0  # one recorder begins in the boat, the other at its first metre
DURATION_APART_MIN: Final = 10.0
GAP_M: Final = 0.5
GAP_SHARE: Final = 0.03
LOOSE_GAP_M: Final = 1.5  # where the clocks agree already, a coarse recorder is believed
LOOSE_GAP_SHARE: Final = 0.1
CLEARLY_BEST: Final = 1.5
MOST_COMPARED: Final = 60  # of a batch, spread over it; one clock is wrong alike for all
BATCH_PROVES: Final = 3  # so many dives with one shift make any shift believable

INTERVAL_BEFORE: Final = "uddf:surfaceintervalbeforedive"  # in `extra`, as its file states it [s]

ProfileOf = Callable[[Dive], Profile | None]


@dataclass(frozen=True, slots=True)
class ShiftOffer:
    """Dives whose start times would fit if moved by `minutes`; `words` say why. Nothing was moved."""

    dive_ids: tuple[str, ...]
    minutes: int
    words: str


def shift_offers(new: Sequence[Dive], others: Iterable[Dive], profile_of: ProfileOf) -> list[ShiftOffer]:
    """Return how the clocks of new recordings would fit the dives of other recorders, by file.

    new         dives that were just read
    others      every dive to compare with; those of the same file are passed over
    profile_of  gives the samples of a dive, None where it has none
    """
    in_order = sorted(others, key=lambda other: other.began_at)
    offers: list[ShiftOffer] = []
    for batch in _by_file(new):
        about = _within_reach(batch, in_order)
        offer = None if _agrees(batch, about) else _by_shape(batch, about, profile_of)
        offer = offer or _by_intervals(batch)
        offers += [offer] if offer else []
    return offers


def lag_and_gap(first: Profile, second: Profile) -> tuple[float, float]:
    """Return how much later `second` shows the same shape, and how far the depths then lie apart.

    first, second  samples on their own clocks, each from 0 s

    Both are resampled every 10 s; outside its samples a recorder is at the surface. All lags up to
    5 min are tried and the one with the least mean difference is taken. [s], [m]
    """
    a, b = _resampled_m(first), _resampled_m(second)
    reach = int(STARTS_APART_S / STEP_S)
    length = max(len(a), len(b)) + 3 * reach
    fixed, around = np.zeros(length), np.zeros(length + 2 * reach)
    fixed[reach : reach + len(b)] = b
    around[2 * reach : 2 * reach + len(a)] = a
    moved = sliding_window_view(around, length)[::-1]  # one row a lag, each 10 s later than the one before
    dived = np.count_nonzero((moved > 0) | (fixed > 0), axis=1)
    apart_m = np.abs(moved - fixed).sum(axis=1)  # none where neither dived
    gaps_m = np.divide(apart_m, dived, out=np.full(len(moved), np.inf), where=dived > 0)
    best = int(gaps_m.argmin())
    return (best - reach) * STEP_S, float(gaps_m[best])


def shapes_agree(first: Profile, second: Profile) -> bool:
    """Return whether two recordings that overlap can be of one dive: not merely as deep, but alike."""
    _, gap_m = lag_and_gap(first, second)
    greatest_m = float(max(first.depth_m.max(), second.depth_m.max()))
    return gap_m <= max(LOOSE_GAP_M, LOOSE_GAP_SHARE * greatest_m)


def _resampled_m(profile: Profile) -> FloatArray:
    since_s = profile.time_s - profile.time_s[0]
    every_s = np.arange(0.0, since_s[-1] + STEP_S, STEP_S)
    depth_m: FloatArray = np.maximum(np.interp(every_s, since_s, profile.depth_m), 0.0)
    return depth_m


def _by_file(new: Sequence[Dive]) -> list[list[Dive]]:
    batches: dict[tuple[str, str, str], list[Dive]] = defaultdict(list)
    for dive in sorted(new, key=lambda dive: dive.began_at):
        batches[_source(dive)].append(dive)
    return list(batches.values())


def _source(dive: Dive) -> tuple[str, str, str]:
    recording = dive.recordings[0] if dive.recordings else None
    return (dive.diver, recording.recorder if recording else "", recording.file_name if recording else "")


def _within_reach(batch: list[Dive], in_order: list[Dive]) -> list[Dive]:
    """Return the dives that any of a batch could be, were its clock wrong; both in order of start."""
    first = bisect_left(in_order, batch[0].began_at - CLOCK_APART, key=_began_at)
    return in_order[first : bisect_right(in_order, batch[-1].began_at + CLOCK_APART, key=_began_at)]


def _began_at(dive: Dive) -> datetime:
    return dive.began_at


def _agrees(batch: list[Dive], others: list[Dive]) -> bool:
    """Tell whether the clock of a batch is confirmed: another dive of its file was joined to one of these."""
    source = _source(batch[0])
    return any(
        (other.diver, recording.recorder, recording.file_name) == source
        for other in others
        for recording in other.recordings[1:]
    )


def _by_shape(batch: list[Dive], about: list[Dive], profile_of: ProfileOf) -> ShiftOffer | None:
    """Return the one shift that brings a batch onto the dives of other recorders, None where none does."""
    others = [other for other in about if _source(other) != _source(batch[0])]
    known = [(dive, found) for dive in batch if (found := _candidates(dive, others))]
    every = -(-len(known) // MOST_COMPARED)
    clear = [_clear_shift_min(dive, found, profile_of) for dive, found in known[:: every or 1]]
    shifts = [shift for shift in clear if shift is not None]
    agreed = max(
        ([s for s in shifts if abs(s - one) <= ONE_SHIFT_MIN] for one in shifts), key=len, default=[]
    )
    if not agreed or 2 * len(agreed) <= len(shifts) or not _believable(agreed):
        return None
    return _offer(
        batch,
        round(median(agreed)),
        ngettext("a dive of another recorder", "{count} dives of another recorder", len(agreed)).format(
            count=len(agreed)
        ),
    )


def _candidates(dive: Dive, in_order: list[Dive]) -> list[Dive]:
    return [other for other in _within_reach([dive], in_order) if _might_be(dive, other)]


def _might_be(dive: Dive, other: Dive) -> bool:
    return (
        other.diver == dive.diver
        and not dive.estimate
        and not other.estimate
        and abs(other.duration_min - dive.duration_min) <= DURATION_APART_MIN
        and depths_agree(dive, other)
    )


def _clear_shift_min(dive: Dive, candidates: list[Dive], profile_of: ProfileOf) -> float | None:
    """Return the shift onto the one candidate of the same shape, None where there is none or a choice."""
    own = profile_of(dive)
    found: list[tuple[float, float]] = []
    for other in candidates:
        theirs = profile_of(other)
        if own is None or theirs is None:
            continue
        lag_s, gap_m = lag_and_gap(own, theirs)
        began = _first_sample_at(other, theirs) + timedelta(seconds=lag_s)
        shift_min = (began - _first_sample_at(dive, own)).total_seconds() / 60
        found.append((gap_m, shift_min))
    found.sort()
    if not found or found[0][0] > max(GAP_M, GAP_SHARE * dive.max_depth_m):
        return None
    gap_m, shift_min = found[0]
    rivals = [g for g, s in found[1:] if abs(s - shift_min) > ONE_SHIFT_MIN and g <= CLEARLY_BEST * gap_m]
    return None if rivals else shift_min


def _first_sample_at(dive: Dive, profile: Profile) -> datetime:
    return dive.began_at + timedelta(seconds=float(profile.time_s[0]))


def _believable(shifts: list[float]) -> bool:
    """Tell whether clocks come to be off by this: whole quarters of an hour, or many dives say so."""
    shift_min = median(shifts)
    if abs(shift_min) < LEAST_SHIFT_MIN:
        return False
    return _off_quarter_min(shift_min) <= OFF_QUARTER_MIN or len(shifts) >= BATCH_PROVES


def _off_quarter_min(shift_min: float) -> float:
    """Return how far a shift is from whole quarters of an hour, of which there must be one at least."""
    return abs(abs(shift_min) - QUARTER_MIN * max(1, round(abs(shift_min) / QUARTER_MIN)))


def _by_intervals(batch: list[Dive]) -> ShiftOffer | None:
    """Return the shift from the first dive whose stated surface interval and start time differ."""
    for place, (before, dive) in enumerate(pairwise(batch), start=1):
        stated_min = _stated_interval_min(dive)
        if stated_min is None:
            continue
        off_min = stated_min - (dive.began_at - before.ended_at).total_seconds() / 60
        if abs(off_min) <= CLOCK_APART.total_seconds() / 60 and _off_quarter_min(off_min) <= ONE_SHIFT_MIN:
            return _offer(batch[place:], round(off_min), _("the surface interval that their file states"))
    return None


def _stated_interval_min(dive: Dive) -> float | None:
    try:
        stated_s = float(dive.extra.get(INTERVAL_BEFORE, ""))
    except ValueError:
        return None  # not stated, or stated to be endless
    return stated_s / 60 if np.isfinite(stated_s) else None


def _offer(dives: list[Dive], minutes: int, by: str) -> ShiftOffer:
    what = told_dive(dives[0]) + (
        " " + _("and {count} more of its file").format(count=len(dives) - 1) if len(dives) > 1 else ""
    )
    words = _(
        "{what} would fit {by} if the clock were moved by {shift}. Nothing was moved; check "
        "which clock was wrong."
    ).format(what=what, by=by, shift=spoken_shift(minutes))
    return ShiftOffer(tuple(dive.id for dive in dives), minutes, words[0].upper() + words[1:])


def spoken_shift(minutes: int) -> str:
    """Return a shift as it is written on the command line.

    >>> spoken_shift(60), spoken_shift(-1445)
    ('+01:00', '-24:05')
    """
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"

"""Dives made together, compared: how far apart, who came up faster, whose gas went further.

Everything is said on one clock, that of the leader: the first dive of a pair, the instructor of a group.
Each other dive is laid on it by its shape (clock_alignment.py). Where the shapes say nothing, or little
while the clocks are further apart than a wrong date explains, the clocks are believed; a lag that the
diver set by hand goes before both.

Depths are compared each second while both recordings run and at least one diver is under water. The turn, at
which divers look at their gas, is nowhere recorded: it is taken as the last instant at which the leader was
within a tenth of their greatest depth. Common practice, no source, for that and for the limits.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from logbook_app.analysis.clock_alignment import Alignment, Likeness, aligned
from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.same_dive import CLOCK_APART
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.profile import Profile
from logbook_app.language import _
from logbook_app.physics.ascent_rate import FastStretch, fastest_ascent
from logbook_app.physics.dive_bounds import SURFACE_DEPTH_M
from logbook_app.physics.units import FloatArray

APART_M: Final = 3.0
APART_S: Final = 60.0
MOST_DIVES: Final = 8
TURN_SHARE: Final = 0.9
STEP_S: Final = 1.0
TOGETHER_S: Final = 30.0  # two fast ascents this close are one ascent of both


@dataclass(frozen=True, slots=True)
class Limits:
    """From when on two divers count as apart: further than this for longer than that. [m], [s]"""

    apart_m: float = APART_M
    apart_s: float = APART_S


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the dive in which two divers were apart, on the leader's clock [s], [m]."""

    began_s: float
    ended_s: float
    largest_gap_m: float


@dataclass(frozen=True, slots=True)
class FastAscent:
    """A fast stretch of one diver, on the leader's clock, and whether the other came up fast with them."""

    stretch: FastStretch
    together: bool


@dataclass(frozen=True, slots=True)
class Side:
    """One diver's part, on the leader's clock; None where it was not recorded.

    fastest_m_min, fastest_at_s   the fastest ascent over half a minute and when it began [m/min], [s]
    minute_volume_l_min           breathed, as if at the surface [L/min]
    turn_bar, end_bar             in the first cylinder, at the leader's turn and at the end [bar]
    load_end                      share of the surfacing limit [fraction]
    safety_stop_min               0 where there was none [min]
    """

    dive_id: str
    diver: str
    max_depth_m: float
    duration_min: float
    fastest_m_min: float
    fastest_at_s: float
    fast_ascents: tuple[FastAscent, ...]
    minute_volume_l_min: float | None
    turn_bar: float | None
    end_bar: float | None
    lowest_temperature_c: float | None
    load_end: float
    safety_stop_min: float


@dataclass(frozen=True, eq=False)
class Beside:
    """One dive beside the leader's.

    alignment        what the shapes say, None where they say nothing
    lag_s            what was added to its times, by shape, by the clocks or by hand [s]
    laid_by          "shape", "clocks" or "hand"
    clock_offset_s   how far its clock is ahead of the leader's, once so laid [s]
    time_s           every second that both recorded, on the leader's clock, (n,) [s]
    leader_m, own_m  depths then, (n,) [m]
    largest_gap_*, mean_gap_m   None where they share no time [m], [s]
    """

    side: Side
    alignment: Alignment | None
    lag_s: float
    laid_by: str
    clock_offset_s: float
    time_s: FloatArray
    leader_m: FloatArray
    own_m: FloatArray
    largest_gap_m: float | None
    largest_gap_at_s: float | None
    mean_gap_m: float | None
    apart: tuple[Stretch, ...]

    @property
    def one_dive(self) -> bool:
        """Whether the shapes, or a hand, speak for one dive."""
        return self.laid_by != "clocks"

    @property
    def apart_min(self) -> float:
        """Time in stretches apart [min]."""
        return sum(stretch.ended_s - stretch.began_s for stretch in self.apart) / 60.0


@dataclass(frozen=True, eq=False)
class Comparison:
    """The leader's dive and those beside it.

    turn_s   the leader's turn, on their clock [s]
    """

    leader: Side
    turn_s: float
    others: tuple[Beside, ...]
    limits: Limits


def compared(
    leader: DiveView, others: Sequence[DiveView], limits: Limits = Limits(), lags_s: Mapping[str, float] = {}
) -> Comparison:
    """Compare dives that have samples, two to eight of them.

    lags_s   by dive id, a lag that the diver set by hand [s]

    Raises RefusedRecord where one has no samples, or there are too many.
    """
    _refuse_what_cannot_be_compared([leader, *others])
    turn_s = _turn_s(leader)
    laid = [_beside(leader, other, turn_s, limits, lags_s.get(other.dive.id)) for other in others]
    fast = [ascent.stretch for beside in laid for ascent in beside.side.fast_ascents]
    return Comparison(_side(leader, 0.0, turn_s, fast), turn_s, tuple(laid), limits)


def _refuse_what_cannot_be_compared(views: Sequence[DiveView]) -> None:
    if not 2 <= len(views) <= MOST_DIVES:
        raise RefusedRecord(
            _("Between two and {most} dives can be compared, not {count}.").format(
                most=MOST_DIVES, count=len(views)
            )
        )
    if len({view.dive.id for view in views}) < len(views):
        raise RefusedRecord(_("A dive cannot be compared with itself; name each dive once."))
    for view in views:
        if view.profile is None:
            what = (
                _("Dive {number}").format(number=view.dive.number)
                if view.dive.number is not None
                else _("Dive {id}").format(id=view.dive.id)
            )
            raise RefusedRecord(
                _("{what} has no samples, only its depth and time; it cannot be compared.").format(what=what)
            )


def _beside(
    leader: DiveView, other: DiveView, turn_s: float, limits: Limits, by_hand_s: float | None
) -> Beside:
    alignment = aligned(_samples(leader), _samples(other))
    clocks_apart_s = (other.dive.began_at - leader.dive.began_at).total_seconds()
    lag_s, laid_by = _lag(alignment, clocks_apart_s, by_hand_s)
    time_s, leader_m, own_m = _shared(_samples(leader), _samples(other), lag_s)
    gap_m = np.abs(leader_m - own_m)
    widest = int(gap_m.argmax()) if gap_m.size else None
    return Beside(
        side=_side(other, lag_s, turn_s, _fast_of(leader, 0.0)),
        alignment=alignment,
        lag_s=lag_s,
        laid_by=laid_by,
        clock_offset_s=clocks_apart_s - lag_s,
        time_s=time_s,
        leader_m=leader_m,
        own_m=own_m,
        largest_gap_m=None if widest is None else float(gap_m[widest]),
        largest_gap_at_s=None if widest is None else float(time_s[widest]),
        mean_gap_m=None if widest is None else float(gap_m.mean()),
        apart=_stretches_apart(time_s, gap_m, limits),
    )


def _lag(alignment: Alignment | None, clocks_apart_s: float, by_hand_s: float | None) -> tuple[float, str]:
    if by_hand_s is not None:
        return by_hand_s, "hand"
    if alignment is None or alignment.likeness is Likeness.OTHER:
        return clocks_apart_s, "clocks"
    too_far = abs(clocks_apart_s - alignment.lag_s) > CLOCK_APART.total_seconds()
    if too_far and alignment.likeness is Likeness.PERHAPS:
        return clocks_apart_s, "clocks"
    return alignment.lag_s, "shape"


def _samples(view: DiveView) -> Profile:
    """Return the samples that the analysis took: mended, on the recording's clock."""
    return Profile(view.analysis.series.time_s, view.analysis.series.depth_m)


def _shared(first: Profile, second: Profile, lag_s: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return each second that both recorded while one of them was under water, and both depths then."""
    began_s = np.ceil(max(first.time_s[0], second.time_s[0] + lag_s))
    ended_s = min(first.time_s[-1], second.time_s[-1] + lag_s)
    time_s = np.arange(began_s, ended_s + STEP_S / 2, STEP_S)
    first_m = np.interp(time_s, first.time_s, first.depth_m)
    second_m = np.interp(time_s, second.time_s + lag_s, second.depth_m)
    under = np.maximum(first_m, second_m) > SURFACE_DEPTH_M
    return time_s[under], first_m[under], second_m[under]


def _stretches_apart(time_s: FloatArray, gap_m: FloatArray, limits: Limits) -> tuple[Stretch, ...]:
    """Return the runs of seconds with a wider gap than the limit that last longer than the limit."""
    wide = np.flatnonzero(gap_m > limits.apart_m)
    runs = np.split(wide, np.flatnonzero(np.diff(time_s[wide]) > 1.5 * STEP_S) + 1) if wide.size else []
    return tuple(
        Stretch(float(time_s[run[0]]), float(time_s[run[-1]]), float(gap_m[run].max()))
        for run in runs
        if time_s[run[-1]] - time_s[run[0]] > limits.apart_s
    )


def _side(view: DiveView, lag_s: float, turn_s: float, fast_of_others: Sequence[FastStretch]) -> Side:
    series, analysis = view.analysis.series, view.analysis
    fastest_m_min, fastest_at_s = fastest_ascent(series.time_s, series.depth_m)
    stop = analysis.safety_stop
    return Side(
        dive_id=view.dive.id,
        diver=view.dive.diver,
        max_depth_m=analysis.max_depth_m,
        duration_min=analysis.duration_min,
        fastest_m_min=fastest_m_min,
        fastest_at_s=fastest_at_s + lag_s,
        fast_ascents=tuple(
            FastAscent(stretch, any(_at_once(stretch, other) for other in fast_of_others))
            for stretch in _fast_of(view, lag_s)
        ),
        minute_volume_l_min=view.gas.minute_volume_l_min,
        turn_bar=_pressure_bar(view, turn_s - lag_s),
        end_bar=view.gas.end_bar,
        lowest_temperature_c=analysis.lowest_temperature_c,
        load_end=analysis.load_end,
        safety_stop_min=stop.minutes if stop else 0.0,
    )


def _fast_of(view: DiveView, lag_s: float) -> tuple[FastStretch, ...]:
    """Return the fast stretches of a dive on the leader's clock."""
    return tuple(
        replace(stretch, began_s=stretch.began_s + lag_s, ended_s=stretch.ended_s + lag_s)
        for stretch in view.analysis.fast_ascents
    )


def _at_once(first: FastStretch, second: FastStretch) -> bool:
    return first.began_s <= second.ended_s + TOGETHER_S and second.began_s <= first.ended_s + TOGETHER_S


def _turn_s(view: DiveView) -> float:
    series = view.analysis.series
    deep = np.flatnonzero(series.depth_m >= TURN_SHARE * series.depth_m.max())
    return float(series.time_s[deep[-1]])


def _pressure_bar(view: DiveView, at_s: float) -> float | None:
    """Return what was in the first cylinder at an instant between two recorded pressures."""
    series = view.analysis.series
    if series.pressure_bar is None:
        return None
    known = np.isfinite(series.pressure_bar)
    times_s = series.time_s[known]
    if not times_s.size or not times_s[0] <= at_s <= times_s[-1]:
        return None
    return float(np.interp(at_s, times_s, series.pressure_bar[known]))

"""What a recorder got wrong, mended in a copy; the recording stays as it was.

A recorder's gauge can jump, go silent or stand beside zero. The analysis takes a mended copy, the
findings say in words what was mended, and the chart can show where. Each repair is one that no diver
could have swum, and errs towards the deeper depth: where the truth is not known, what is taken loads
the diver more than the other readings would.

    spike      out and back faster than `NO_DIVER_M_MIN` within three samples and half a minute:
               taken from the samples beside it
    drop-out   the same towards the surface, for up to three minutes: a gauge that lost its sensor.
               Nobody comes up and goes down again at that speed
    gap        no samples for much longer than usual: the diver is taken to have gone to the deeper
               end of the gap at the usual rate and to have stayed there; or to have been at the
               surface, where the recorder fell silent near it for at least three minutes, as
               many do in the dry
    zero       the gauge reads something else than zero at the surface before and after the dive.
               Above the surface: that much is added to every depth. Below it: only the samples at
               the surface become zero and the dive stays as deep as it was recorded, the safer mistake
    negative   a depth above the surface beyond a gauge's flicker: the surface

A few missing samples are no gap: the straight line between two samples is what any coarser
recorder would give. A recording with no regular interval has no gaps that could be told.

All limits are common practice, no source. The fastest way down is a free diver's on a weighted
sled, about 180 m/min (from memory); a scuba diver's is under half of the limit here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logbook_app.dive.profile import Profile
from logbook_app.language import _
from logbook_app.physics.ascent_rate import USUAL_LIMIT_M_MIN
from logbook_app.physics.dive_bounds import SURFACE_STAY_S
from logbook_app.physics.units import FloatArray

REPAIR_RULES: Final = "repairs 1"  # part of every cache key; another number makes the figures anew

NO_DIVER_M_MIN: Final = 200.0
LEAST_JUMP_M: Final = 3.0  # a gauge that writes ten times a second flickers at any speed
SPIKE_SAMPLES: Final = 3
SPIKE_S: Final = 30.0

REGULAR_FROM_SAMPLES: Final = 20
REGULAR_SHARE: Final = 0.9
USUAL_STEPS: Final = 1.5  # a step up to this many usual ones is a usual one
GAP_STEPS: Final = 10.0
LEAST_GAP_S: Final = 60.0
NEAR_SURFACE_M: Final = 3.0
EDGES_AHEAD: Final = 8  # a jump has no more steps than this; a gauge gone mad stays as it was recorded

FLICKER_M: Final = 0.3
LARGEST_DRIFT_M: Final = 3.0
STILL_S: Final = 30.0
SLOWEST_STILL_S: Final = 120.0
STILL_SAMPLES: Final = 3
STILL_M: Final = 0.25
WELL_BELOW_M: Final = 3.0
SHORTEST_WAY_S: Final = 0.001  # a shorter one would round to the instant of the sample beside it

Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Mended:
    """One stretch of a recording that the analysis does not take as it was recorded.

    kind         `spike`, `drop-out`, `gap`, `zero` or `negative`
    from_s, to_s the stretch, the good samples beside it included [s]
    recorded_m   the depth recorded that stands out most, None in a gap, where nothing was [m]
    taken_m      the depth that the analysis takes there; for `zero` what was added [m]
    words        what was done, without figures
    """

    kind: str
    from_s: float
    to_s: float
    recorded_m: float | None
    taken_m: float
    words: str

    @property
    def is_added(self) -> bool:
        """True where `taken_m` was added to every depth and is none itself."""
        return self.kind == "zero" and self.taken_m > 0


def mended_copy(profile: Profile) -> tuple[Profile, tuple[Mended, ...]]:
    """Return the samples as the analysis takes them and what was mended, in order of time.

    Where nothing needs mending the very same profile comes back.
    """
    found: list[Mended] = []
    time_s, depth_m = profile.time_s, profile.depth_m
    for repair in (_jumps, _zero, _negative):
        depth_m = repair(time_s, depth_m, found)
    added_s, added_m = _held_in_gaps(time_s, depth_m, found)
    in_order = tuple(sorted(found, key=lambda mended: mended.from_s))
    if depth_m is profile.depth_m and not added_s:
        return profile, in_order
    at = np.searchsorted(time_s, added_s)
    mended = Profile(
        np.insert(time_s, at, added_s),
        np.insert(depth_m, at, added_m),
        {name: np.insert(values, at, np.nan) for name, values in profile.channels.items()},
        profile.switches,
        profile.remarks,
    )
    return mended, in_order


def usual_step_s(time_s: FloatArray) -> float | None:
    """Return the interval at which a recorder wrote, None where it kept to none. [s]

    time_s  time of each sample (n,) [s]

    >>> usual_step_s(np.arange(0.0, 600.0, 10.0))
    10.0
    """
    if len(time_s) < REGULAR_FROM_SAMPLES:
        return None
    steps_s = np.diff(time_s)
    usual_s = float(np.median(steps_s))
    return usual_s if np.mean(steps_s <= USUAL_STEPS * usual_s) >= REGULAR_SHARE else None


def gaps(time_s: FloatArray) -> list[int]:
    """Return the sample before each stretch in which a regular recorder was silent. [index from 0]

    time_s   time of each sample (n,) [s]
    """
    usual_s = usual_step_s(time_s)
    if usual_s is None:
        return []
    silent = np.diff(time_s) > max(LEAST_GAP_S, GAP_STEPS * usual_s)
    return [int(index) for index in np.flatnonzero(silent)]


def surfaced_gaps(time_s: FloatArray, depth_m: FloatArray) -> list[int]:
    """Return the sample before each gap in which the diver was at the surface. [index from 0]

    That is a gap of at least three minutes whose first sample is near the surface: at 3 m, or within
    what an ascent at the usual rate covers until the next sample would have come. A recorder that
    falls silent deeper than that has failed under water, and the dive goes on.
    """
    reach_m = max(NEAR_SURFACE_M, USUAL_LIMIT_M_MIN * (usual_step_s(time_s) or 0.0) / 60)
    return [
        before
        for before in gaps(time_s)
        if depth_m[before] <= reach_m and time_s[before + 1] - time_s[before] >= SURFACE_STAY_S
    ]


def surface_reading_m(time_s: FloatArray, depth_m: FloatArray) -> float:
    """Return what the gauge read at the surface, 0 where it read zero or nobody can tell. [m]

    A reading is known from half a minute of stillness near zero at the beginning or the end. Below
    the surface (above 0) both must agree and the recording must go well below it, because a diver can
    hold still there; above it one is enough, and the larger of two counts.
    """
    starts, ends = _still_m(time_s, depth_m), _still_m(time_s[-1] - time_s[::-1], depth_m[::-1])
    known = [reading for reading in (starts, ends) if reading is not None]
    if known and min(known) < -FLICKER_M:
        return min(known)
    agree = len(known) == 2 and min(known) > FLICKER_M and abs(known[0] - known[1]) <= STILL_M
    if agree and depth_m.max() > max(known) + WELL_BELOW_M:
        return max(known)
    return 0.0


def _still_m(since_s: FloatArray, depth_m: FloatArray) -> float | None:
    """Return the depth held in the first half minute, None where it was not held or is no surface.

    Three samples at least, within two minutes: further apart they tell nothing of stillness.
    """
    count = max(STILL_SAMPLES, int(np.count_nonzero(since_s - since_s[0] <= STILL_S)))
    first = depth_m[:count]
    slow = len(depth_m) > count and since_s[count - 1] - since_s[0] > SLOWEST_STILL_S
    if len(depth_m) <= count or slow or np.ptp(first) > STILL_M:
        return None
    held_m = float(np.median(first))
    return held_m if abs(held_m) <= LARGEST_DRIFT_M else None


# The repairs: each takes the depths as they are so far and returns the same array where it finds nothing.


def _jumps(time_s: FloatArray, depth_m: FloatArray, found: list[Mended]) -> FloatArray:
    """Mend what goes out and comes back faster than any diver."""
    apart_m = np.diff(depth_m)
    speed_m_min = apart_m / np.diff(time_s) * 60
    impossible = (np.abs(speed_m_min) > NO_DIVER_M_MIN) & (np.abs(apart_m) > LEAST_JUMP_M)
    edges = [int(edge) for edge in np.flatnonzero(impossible)]
    mended = depth_m
    while edges:
        out = edges.pop(0)
        back = next((edge for edge in edges[:EDGES_AHEAD] if _is_jump(time_s, depth_m, out, edge)), None)
        if back is None:
            continue
        mended = mended.copy() if mended is depth_m else mended
        inside, ends = slice(out + 1, back + 1), [out, back + 1]
        mended[inside] = np.interp(time_s[inside], time_s[ends], depth_m[ends])
        found.append(_jump(time_s, depth_m, mended, out, back))
        edges = [edge for edge in edges if edge > back]
    return mended


def _is_jump(time_s: FloatArray, depth_m: FloatArray, out: int, back: int) -> bool:
    """Tell whether the samples after `out` and up to `back` stand apart from both their neighbours."""
    before_m, after_m = depth_m[out], depth_m[back + 1]
    inside = depth_m[out + 1 : back + 1]
    lasted_s = time_s[back + 1] - time_s[out]
    if (inside > max(before_m, after_m) + LEAST_JUMP_M).all():
        return bool(len(inside) <= SPIKE_SAMPLES and lasted_s <= SPIKE_S)
    return bool((inside < min(before_m, after_m) - LEAST_JUMP_M).all() and lasted_s < SURFACE_STAY_S)


def _jump(time_s: FloatArray, depth_m: FloatArray, mended: FloatArray, out: int, back: int) -> Mended:
    inside = slice(out + 1, back + 1)
    most = out + 1 + int(np.abs(depth_m[inside] - mended[inside]).argmax())
    deeper = depth_m[most] > mended[most]
    short = back - out <= SPIKE_SAMPLES
    kind = "spike" if deeper or short else "drop-out"
    place = "deeper" if deeper else "shallower"
    words = _(
        "Readings {place} than any diver could reach and leave were taken from the samples beside them."
    ).format(place=place)
    return Mended(
        kind, float(time_s[out]), float(time_s[back + 1]), float(depth_m[most]), float(mended[most]), words
    )


def _zero(time_s: FloatArray, depth_m: FloatArray, found: list[Mended]) -> FloatArray:
    """Mend a gauge that stands beside zero at the surface."""
    reading_m = surface_reading_m(time_s, depth_m)
    if reading_m == 0:
        return depth_m
    whole = (float(time_s[0]), float(time_s[-1]))
    if reading_m < 0:
        words = _("The gauge read above zero at the surface; every depth was taken that much deeper.")
        found.append(Mended("zero", *whole, reading_m, -reading_m, words))
        return depth_m - reading_m
    words = _(
        "The gauge read a depth at the surface; under water its depths were left, which can only overstate."
    )
    found.append(Mended("zero", *whole, reading_m, 0.0, words))
    return np.where(_outside_the_dive(depth_m > reading_m + STILL_M), 0.0, depth_m)


def _outside_the_dive(under: Bools) -> Bools:
    """Return which samples come before the first one under water or after the last one."""
    inside = np.flatnonzero(under)
    outside = np.ones(under.shape, dtype=bool)
    if inside.size:
        outside[inside[0] : inside[-1] + 1] = False
    return outside


def _negative(time_s: FloatArray, depth_m: FloatArray, found: list[Mended]) -> FloatArray:
    """Take depths above the surface, beyond a gauge's flicker, as the surface."""
    above = depth_m < -FLICKER_M
    if not above.any():
        return depth_m
    places = np.flatnonzero(above)
    words = _("Depths above the surface were taken as the surface.")
    stretch = (float(time_s[places[0]]), float(time_s[places[-1]]))
    found.append(Mended("negative", *stretch, float(depth_m.min()), 0.0, words))
    return np.where(above, 0.0, depth_m)


def _held_in_gaps(
    time_s: FloatArray, depth_m: FloatArray, found: list[Mended]
) -> tuple[list[float], list[float]]:
    """Return samples to add: in each gap the diver stays at its deeper end as long as can be."""
    added_s: list[float] = []
    added_m: list[float] = []
    surfaced = set(surfaced_gaps(time_s, depth_m))
    for before in gaps(time_s):
        ends_s, ends_m = time_s[before : before + 2], depth_m[before : before + 2]
        if ends_m.max() <= FLICKER_M:
            continue  # at the surface; nothing is dived there
        held_m = float(ends_m[0] if before in surfaced else ends_m.max())
        found.append(_gap(ends_s, held_m, before in surfaced))
        way_s = float(np.ptp(ends_m)) / USUAL_LIMIT_M_MIN * 60
        if SHORTEST_WAY_S < way_s < ends_s[1] - ends_s[0] - SHORTEST_WAY_S:
            stays_first = ends_m[0] == held_m
            added_s.append(float(ends_s[1] - way_s if stays_first else ends_s[0] + way_s))
            added_m.append(held_m)
    return added_s, added_m


def _gap(ends_s: FloatArray, held_m: float, surfaced: bool) -> Mended:
    where = _("at the surface") if surfaced else _("at the deeper end")
    words = _("The recorder wrote nothing; the diver was taken to be {where} meanwhile.").format(where=where)
    return Mended("gap", float(ends_s[0]), float(ends_s[1]), None, held_m, words)

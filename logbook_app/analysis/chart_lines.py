"""A dive as lines on a chart: numbers in, pixels out, no window needed.

**How a line stays true.** A recorder writes more samples than a screen has columns, and a pen has a
width. So the line is not drawn from sample to sample: each column is cut into `SLICES` slices, the
least and the greatest height of the recorded line within each slice are found (`envelope`), and a
round pen is moved along them (`pen_reach`). What comes out is the upper and the lower edge of the
ink in every column. It contains every recorded extreme and goes nowhere that the pen would not go,
however many samples fall into a column. Joints cannot spike, because there are no joints.

Heights are pixels counted upward, as Kivy counts them; depths are metres counted downward.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logbook_app.language import number
from logbook_app.physics.units import FloatArray, feet_from_metres, metres_from_feet

# Where a water tint steps to the next, in the diver's own unit.
TINT_STEPS_M = (5.0, 10.0, 20.0, 30.0, 40.0)
TINT_STEPS_FT = (15.0, 30.0, 60.0, 100.0, 130.0)

SLICES = 4  # of one pixel column; the pen's round end is then within a tenth of a pixel
FURTHER_DEPTHS_M = tuple(float(depth) for depth in range(50, 400, 10))
FURTHER_DEPTHS_FT = tuple(float(depth) for depth in range(160, 1300, 40))
MINUTE_STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 240, 480, 960)


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the water lies on the screen, and which part of the dive it shows.

    left, bottom, width, height   of the plot [px]
    from_s, to_s                  first and last instant shown [s]
    floor_m                       depth at the bottom edge [m]; the top edge is the surface
    """

    left: float
    bottom: float
    width: float
    height: float
    from_s: float
    to_s: float
    floor_m: float

    @property
    def right(self) -> float:
        """Right edge [px]."""
        return self.left + self.width

    @property
    def top(self) -> float:
        """Upper edge, where the surface is [px]."""
        return self.bottom + self.height

    def x(self, time_s: FloatArray | float) -> FloatArray:
        """Return where an instant stands [px]."""
        return np.asarray(self.left + (time_s - self.from_s) * (self.width / (self.to_s - self.from_s)))

    def y(self, depth_m: FloatArray | float) -> FloatArray:
        """Return where a depth stands [px]."""
        return np.asarray(self.top - depth_m * (self.height / self.floor_m))

    def point(self, time_s: float, depth_m: float) -> tuple[float, float]:
        """Return where one instant at one depth stands [px]."""
        return float(self.x(time_s)), float(self.y(depth_m))

    def time_s(self, x: float) -> float:
        """Return the instant that a finger at `x` means, within what is shown [s]."""
        share = min(1.0, max(0.0, (x - self.left) / self.width))
        return self.from_s + share * (self.to_s - self.from_s)


def part_of_line(
    time_s: FloatArray, values: FloatArray, from_s: float, to_s: float
) -> tuple[FloatArray, FloatArray]:
    """Return the samples from `from_s` to `to_s`, with the line's own values at both ends put in.

    time_s, values  the whole line, time increasing, (n,) each
    from_s, to_s    the part wanted; only where the line has it [s]
    """
    first, last = max(from_s, float(time_s[0])), min(to_s, float(time_s[-1]))
    if last <= first:
        return np.empty(0), np.empty(0)
    inside = (time_s > first) & (time_s < last)
    ends = np.interp([first, last], time_s, values)
    return (
        np.concatenate(([first], time_s[inside], [last])),
        np.concatenate((ends[:1], values[inside], ends[1:])),
    )


def envelope(x: FloatArray, y: FloatArray, edges: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the least and greatest height of the line x, y between neighbouring edges.

    x, y    the line, x increasing, (n,) each [px]; beyond its ends it goes on level
    edges   m + 1 places, increasing [px]

    Both results are (m,) [px]. They are exact: heights at the edges are interpolated, and every
    sample between two edges is looked at.
    """
    at_edges = np.interp(edges, x, y)
    low = np.minimum(at_edges[:-1], at_edges[1:])
    high = np.maximum(at_edges[:-1], at_edges[1:])
    ends = np.searchsorted(x, edges)
    filled = np.flatnonzero(ends[1:] > ends[:-1])
    if filled.size:
        # Slices without a sample take none of y, so the starts of the filled ones tile what is between.
        inside = y[: ends[filled[-1] + 1]]
        low[filled] = np.minimum(low[filled], np.minimum.reduceat(inside, ends[filled]))
        high[filled] = np.maximum(high[filled], np.maximum.reduceat(inside, ends[filled]))
    return low, high


def pen_reach(low: FloatArray, high: FloatArray, radius_px: float) -> tuple[FloatArray, FloatArray]:
    """Return the lower and upper edge of the ink that a round pen leaves along an envelope.

    low, high   of the line in each slice of a column, (m,) [px]
    radius_px   of the pen [px]
    """
    reach = int(radius_px * SLICES)
    lower, upper = low - radius_px, high + radius_px
    for step in range(1, reach + 1):
        lift = math.sqrt(radius_px**2 - (step / SLICES) ** 2)
        for here, there in ((slice(step, None), slice(None, -step)), (slice(None, -step), slice(step, None))):
            np.minimum(lower[here], low[there] - lift, out=lower[here])
            np.maximum(upper[here], high[there] + lift, out=upper[here])
    return lower, upper


@dataclass(frozen=True, eq=False, slots=True)
class Ink:
    """The edges of a drawn line, column by column [px], (m,) each: `x` is the middle of a column."""

    x: FloatArray
    lower: FloatArray
    upper: FloatArray
    middle: FloatArray


def ink_of_line(x: FloatArray, y: FloatArray, radius_px: float) -> Ink:
    """Return the ink that a round pen of this radius leaves along the line x, y.

    x, y       the line, x increasing, (n,) each [px]
    radius_px  half the width of the line [px]
    """
    margin = math.ceil(radius_px)
    first, last = math.floor(float(x[0])) - margin, math.floor(float(x[-1])) + 1 + margin
    edges = first + np.arange((last - first) * SLICES + 1) / SLICES
    low, high = envelope(x, y, edges)
    lower, upper = pen_reach(low, high, radius_px)
    kept = _columns_the_pen_enters(edges, x, radius_px)
    centre = slice(SLICES // 2, None, SLICES)
    return Ink(
        x=(edges[centre])[kept],
        lower=_at_centres(lower, np.minimum)[kept],
        upper=_at_centres(upper, np.maximum)[kept],
        middle=np.interp(edges[centre], x, y)[kept],
    )


def _columns_the_pen_enters(edges: FloatArray, x: FloatArray, radius_px: float) -> NDArray[np.bool_]:
    centres = edges[SLICES // 2 :: SLICES]
    return np.asarray((centres >= x[0] - radius_px) & (centres <= x[-1] + radius_px))


def _at_centres(edge: FloatArray, outer: np.ufunc) -> FloatArray:
    """Return the edge at the middle of each column: the outer one of the two slices that meet there."""
    by_column = edge.reshape(-1, SLICES)
    return np.asarray(outer(by_column[:, SLICES // 2 - 1], by_column[:, SLICES // 2]))


def floor_of_chart_m(max_depth_m: float, imperial: bool) -> float:
    """Return the depth of the chart's lower edge: room under the deepest sounding, never less than 6 m."""
    step_m = metres_from_feet(10.0) if imperial else 2.0
    return max(6.0, math.ceil(max_depth_m * 1.14 / step_m) * step_m)


def tint_bands(floor_m: float, imperial: bool) -> list[tuple[float, float, int]]:
    """Return the bands of water down to `floor_m`: upper depth, lower depth [m], number of the tint."""
    tops_m = [0.0, *tint_steps_m(imperial)]
    bottoms_m = [*tops_m[1:], math.inf]
    return [
        (top_m, min(bottom_m, floor_m), tint)
        for tint, (top_m, bottom_m) in enumerate(zip(tops_m, bottoms_m, strict=True))
        if top_m < floor_m
    ]


def tint_steps_m(imperial: bool) -> tuple[float, ...]:
    """Return the depths at which the tint steps, whole in the diver's own unit [m]."""
    return tuple(metres_from_feet(step) for step in TINT_STEPS_FT) if imperial else TINT_STEPS_M


def depth_marks(floor_m: float, imperial: bool, height_px: float, gap_px: float) -> list[tuple[float, str]]:
    """Return the depths to number at the side of the chart, in the diver's unit: depth [m], figure.

    They are the depths where the tint steps, and then every 10 m or 40 ft. Where two would stand closer
    than `gap_px`, the rounder one stays: those that come first in the order of worth below.
    """
    floor = feet_from_metres(floor_m) if imperial else floor_m
    depths = (*TINT_STEPS_FT, *FURTHER_DEPTHS_FT) if imperial else (*TINT_STEPS_M, *FURTHER_DEPTHS_M)
    px_per_unit = height_px / floor
    kept: list[float] = [0.0]
    for depth in sorted(depths, key=_roundness):
        if depth <= floor and all(abs(depth - other) * px_per_unit >= gap_px for other in kept):
            kept.append(depth)
    return [
        (metres_from_feet(depth) if imperial else depth, f"{number(depth, 'g')}") for depth in sorted(kept)
    ]


def _roundness(depth: float) -> tuple[int, float]:
    for worth, step in enumerate((100, 50, 30, 20, 10)):
        if depth % step == 0:
            return worth, depth
    return 9, depth


def minute_marks(from_s: float, to_s: float, width_px: float, gap_px: float) -> list[float]:
    """Return the minutes to number along the chart, whole and evenly spaced, at least `gap_px` apart."""
    px_per_min = width_px * 60.0 / (to_s - from_s)
    step = next((step for step in MINUTE_STEPS if step * px_per_min >= gap_px), MINUTE_STEPS[-1])
    first, last = math.ceil(from_s / 60.0 / step), math.floor(to_s / 60.0 / step)
    return [float(number * step) for number in range(first, last + 1)]


def turning_points(depth_m: Sequence[float] | FloatArray, swing_m: float) -> list[int]:
    """Return the samples where the diver turned, the ones worth a sounding first.

    A turn counts where the depth afterwards changed by more than `swing_m`, so that a recorder's noise
    and a diver's breathing are no turns. The deepest sample always leads.
    """
    turns, extreme, falling = [], 0, True
    for at, depth in enumerate(depth_m):
        beyond = depth >= depth_m[extreme] if falling else depth <= depth_m[extreme]
        if beyond:
            extreme = at
        elif abs(depth - depth_m[extreme]) > swing_m:
            turns.append(extreme)
            extreme, falling = at, not falling
    deepest = int(np.argmax(depth_m))
    return [deepest, *sorted((at for at in turns if at != deepest), key=lambda at: -depth_m[at])]


def first_of_each_stretch(x: FloatArray, stretch_px: float) -> NDArray[np.intp]:
    """Return the numbers of the points that come first in their stretch of the chart, in their order.

    x           where the points stand, in order of worth (n,) [px]
    stretch_px  length of a stretch [px]
    """
    _, firsts = np.unique(np.floor(x / stretch_px), return_index=True)
    return np.asarray(np.sort(firsts))


def evenly_along(from_s: float, to_s: float, width_px: float, apart_px: float) -> FloatArray:
    """Return instants about `apart_px` from one another, half of that from both ends [s]."""
    count = max(1, int(width_px / apart_px))
    return np.asarray(from_s + (np.arange(count) + 0.5) * (to_s - from_s) / count)


def sounding_figures(depth_m: float, imperial: bool) -> tuple[str, str]:
    """Return a sounding as a chart prints it: the whole figure, and the decimal that stands lower.

    >>> sounding_figures(28.44, imperial=False), sounding_figures(28.44, imperial=True)
    (('28', '4'), ('93', ''))
    """
    if imperial:
        return f"{feet_from_metres(depth_m):.0f}", ""
    whole, tenth = f"{depth_m:.1f}".split(".")  # the mark itself is not printed
    return whole, tenth

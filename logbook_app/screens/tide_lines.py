"""The tide curve as lines, labels and places: plain numbers in, plain numbers out.

The load falls from the last surfacing toward clear, as water falls from a quay. On it stand marks:
now, when the diver may fly, when the diver is clear. The labels of marks that come close together
are set on steps, so that none lies over another or under another's line, at any width.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import product

from logbook_app.analysis.spoken_times import clock_time, weekday_name

HOUR_STEPS = (1, 2, 3, 4, 6, 8, 12, 24, 48, 96)
_LABEL_GAP = 8.0


@dataclass(frozen=True, slots=True)
class Mark:
    """An instant on the curve.

    minutes     since the last surfacing
    words       what it is and when
    detail      what it rests on, a second line
    look_here   True for the one that is drawn in the accent
    """

    minutes: float
    words: str
    detail: str
    look_here: bool = False


@dataclass(frozen=True, slots=True)
class TideLines:
    """What the tide curve draws.

    minutes, load   the curve, same length; load as a fraction of the surfacing limit
    began_local     the last surfacing, by the clock on the dock
    top             load at the top of the scale
    grid            loads that get a line and a number
    """

    minutes: tuple[float, ...]
    load: tuple[float, ...]
    began_local: datetime
    top: float
    grid: tuple[float, ...]
    marks: tuple[Mark, ...]

    def load_at(self, minutes: float) -> float:
        """Return the load on the curve, a straight line between its points."""
        for (t0, y0), (t1, y1) in zip(
            zip(self.minutes, self.load, strict=True),
            zip(self.minutes[1:], self.load[1:], strict=True),
            strict=False,
        ):
            if t0 <= minutes <= t1:
                return y0 + (y1 - y0) * (minutes - t0) / (t1 - t0)
        return self.load[-1] if minutes > self.minutes[-1] else self.load[0]


def load_scale(largest: float) -> tuple[float, tuple[float, ...]]:
    """Return the top of the scale and its grid for a largest load.

    >>> load_scale(0.64)
    (0.75, (0.0, 0.25, 0.5, 0.75))
    """
    step = 0.25 if largest > 0.3 else 0.1
    steps = max(1, math.ceil(round(largest / step, 6)))
    return round(steps * step, 6), tuple(round(index * step, 6) for index in range(steps + 1))


def hour_ticks(began_local: datetime, length_min: float, most: int) -> tuple[tuple[float, str], ...]:
    """Return (minutes since surfacing, label) for whole hours, at most `most` of them.

    The hours are those of a clock: every third hour means 12:00, 15:00, ... Midnight is named by
    its day.
    """
    step = next((h for h in HOUR_STEPS if length_min / 60 / h <= max(1, most)), HOUR_STEPS[-1])
    midnight = began_local.replace(hour=0, minute=0, second=0, microsecond=0)
    ticks = []
    hour = 0
    while (minutes := ((midnight + timedelta(hours=hour)) - began_local).total_seconds() / 60) <= length_min:
        if minutes >= 0:
            at = midnight + timedelta(hours=hour)
            ticks.append((minutes, f"{weekday_name(at)} {at.day}" if at.hour == 0 else clock_time(at)))
        hour += step
    return tuple(ticks)


@dataclass(frozen=True, slots=True)
class LabelPlace:
    """Where the label of a mark stands: its step from the top, and its left edge."""

    step: int
    left: float


def place_labels(
    at: Sequence[float], widths: Sequence[float], left_edge: float, right_edge: float
) -> tuple[LabelPlace, ...]:
    """Return a place for the label of each mark so that nothing lies over anything.

    at       where the line of each mark stands, any order
    widths   of the labels
    Each label stands right or left of its line, on a step from the top; the line runs from its
    step down. With a handful of marks every arrangement can be tried; the flattest one without a
    clash is taken.
    """
    steps = range(max(1, len(at)))
    choices = [
        [
            LabelPlace(step, max(left_edge, min(left, right_edge - width)))
            for step in steps
            for left in (x + _LABEL_GAP, x - _LABEL_GAP - width)
        ]
        for x, width in zip(at, widths, strict=True)
    ]
    return min(product(*choices), key=lambda places: _cost(places, at, widths), default=())


def clear_of_lines(places: Sequence[LabelPlace], at: Sequence[float], widths: Sequence[float]) -> bool:
    """Return whether every line can run up to its label without touching another label.

    False where the labels are too wide for the chart, as with very large text on a phone; the
    lines had then better end below the labels.
    """
    return _cost(places, at, widths)[0] == 0


def _cost(
    places: Sequence[LabelPlace], at: Sequence[float], widths: Sequence[float]
) -> tuple[int, int, float]:
    """Clashes first, then the number of steps, then the distance of labels from their lines."""
    clashes = sum(
        _clash(places[a], at[a], widths[a], places[b], widths[b])
        for a in range(len(at))
        for b in range(len(at))
        if a != b
    )
    crossed = sum(
        place.left < x < place.left + width for place, x, width in zip(places, at, widths, strict=True)
    )
    away = sum(place.left < x for place, x in zip(places, at, strict=True))
    return clashes + crossed, sum(place.step for place in places), away


def _clash(mine: LabelPlace, my_x: float, my_width: float, other: LabelPlace, other_width: float) -> bool:
    """True where two labels overlap, or my line runs through the other's label."""
    over = (
        mine.left - _LABEL_GAP < other.left + other_width and other.left < mine.left + my_width + _LABEL_GAP
    )
    same_step = mine.step == other.step and over
    through = mine.step <= other.step and other.left - 3 < my_x < other.left + other_width + 3
    return same_step or through

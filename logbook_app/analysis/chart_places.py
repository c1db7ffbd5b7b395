"""Places for words on the chart: nothing may cover the line or another word.

A word that finds no free place is left out rather than squeezed in; the scrub card still says it.
No window needed: sizes come in, boxes go out, all in pixels.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from logbook_app.physics.units import FloatArray


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the screen [px]."""

    left: float
    bottom: float
    right: float
    top: float

    @classmethod
    def at(cls, left: float, bottom: float, size: tuple[float, float]) -> Box:
        """Return the box of this size with its lower left corner here."""
        return cls(left, bottom, left + size[0], bottom + size[1])

    def apart_from(self, other: Box, gap: float) -> bool:
        """Return whether at least `gap` lies between the two."""
        return (
            self.right + gap <= other.left
            or other.right + gap <= self.left
            or self.top + gap <= other.bottom
            or other.top + gap <= self.bottom
        )

    def within(self, other: Box) -> bool:
        """Return whether this box lies wholly in the other."""
        return (
            self.left >= other.left
            and self.right <= other.right
            and self.bottom >= other.bottom
            and self.top <= other.top
        )


class Places:
    """What is taken on one chart: the line, and the words put down so far.

    plot          the water and ground
    line_x, line_y  the drawn line, x increasing, (n,) each
    gap           least distance between two words, and between a word and the line
    besides       other lines that words keep clear of, each as x and y
    """

    def __init__(
        self,
        plot: Box,
        line_x: FloatArray,
        line_y: FloatArray,
        gap: float,
        besides: Sequence[tuple[FloatArray, FloatArray]] = (),
    ) -> None:
        self.plot = plot
        self.gap = gap
        self._lines = [(line_x, line_y), *((x, y) for x, y in besides if x.size)]
        self._taken: list[Box] = []

    def take(self, box: Box) -> Box:
        """Keep this box free of anything that comes later."""
        self._taken.append(box)
        return box

    def line_between(self, left: float, right: float) -> tuple[float, float]:
        """Return the least and greatest height of what is drawn between two columns."""
        found = [_between(x, y, left, right) for x, y in self._lines if x[0] <= right and x[-1] >= left]
        found = found or [_between(*self._lines[0], left, right)]
        return min(low for low, _ in found), max(high for _, high in found)

    def is_free(self, box: Box) -> bool:
        """Return whether the box lies in the plot, off the line, and off every word so far."""
        if not box.within(self.plot):
            return False
        low, high = self.line_between(box.left - self.gap, box.right + self.gap)
        off_line = box.top + self.gap <= low or box.bottom - self.gap >= high
        return off_line and self.is_untaken(box, self.gap)

    def is_untaken(self, box: Box, gap: float) -> bool:
        """Return whether no word so far lies in the box, or nearer to it than `gap`."""
        return all(box.apart_from(other, gap) for other in self._taken)

    def under_line(self, x: float, size: tuple[float, float], share: float = 0.5) -> Box:
        """Return the highest box of this size, with `share` of it left of x, that hangs clear of the line.

        Near an edge of the plot the box moves inward, so that a word about the first or last minute
        still finds room.
        """
        left = self._inward(x - share * size[0], size[0])
        low, _ = self.line_between(left - self.gap, left + size[0] + self.gap)
        return Box.at(left, low - self.gap - size[1], size)

    def above_line(self, centre_x: float, size: tuple[float, float]) -> Box:
        """Return the lowest box of this size, around `centre_x`, that stands clear of the line."""
        left = self._inward(centre_x - size[0] / 2, size[0])
        _, high = self.line_between(left - self.gap, left + size[0] + self.gap)
        return Box.at(left, high + self.gap, size)

    def _inward(self, left: float, width: float) -> float:
        return min(max(left, self.plot.left + self.gap), self.plot.right - self.gap - width)


def _between(x: FloatArray, y: FloatArray, left: float, right: float) -> tuple[float, float]:
    first, last = np.searchsorted(x, (left, right))
    heights = np.concatenate((np.interp((left, right), x, y), y[first:last]))
    return float(heights.min()), float(heights.max())


@dataclass(frozen=True, slots=True)
class Wish:
    """Something that wants words near a point of the line: its place, and how large the words are."""

    x: float
    y: float
    size: tuple[float, float]


def place_under_line(
    places: Places,
    wishes: Sequence[Wish],
    reach: float,
    apart: float = 0.0,
    shares: Sequence[float] = (0.5,),
) -> list[tuple[int, Box]]:
    """Return which wishes found room under the line, as (number, box); the first wish chooses first.

    reach   how far below its point a word may hang: on a steep slope it would name another depth
    apart   least distance along the line between two that are granted, so that they stay few
    shares  of a word left of its point, tried in turn
    """
    return _granted(places, wishes, apart, lambda wish: _hung(places, wish, reach, shares))


def place_above_line(
    places: Places, wishes: Sequence[Wish], reach: float, apart: float = 0.0
) -> list[tuple[int, Box]]:
    """Return which wishes found room above the line, as `place_under_line` does below it."""
    return _granted(places, wishes, apart, lambda wish: _stood(places, wish, reach))


def _granted(
    places: Places, wishes: Sequence[Wish], apart: float, try_for: Callable[[Wish], Box | None]
) -> list[tuple[int, Box]]:
    found: list[tuple[int, Box]] = []
    for number, wish in enumerate(wishes):
        if any(abs(wish.x - wishes[other].x) < apart for other, _ in found):
            continue
        box = try_for(wish)
        if box is not None:
            found.append((number, places.take(box)))
    return found


def _hung(places: Places, wish: Wish, reach: float, shares: Sequence[float]) -> Box | None:
    boxes = (places.under_line(wish.x, wish.size, share) for share in shares)
    return next((box for box in boxes if wish.y - box.top <= reach and places.is_free(box)), None)


def _stood(places: Places, wish: Wish, reach: float) -> Box | None:
    box = places.above_line(wish.x, wish.size)
    return box if box.bottom - wish.y <= reach and places.is_free(box) else None


def place_on_leaders(places: Places, wishes: Sequence[Wish], indent: float) -> list[Box | None]:
    """Return a box in the water for each wish, at the side of its leader; None where there is no room.

    The leader runs from the point up to the words. Each lane below the surface is tried in turn, to the
    left of the leader first, because a diver reads what came before. The first wish chooses first.

    indent  from the leader to its words
    """
    found: list[Box | None] = []
    for wish in wishes:
        tried = _beside_leader(places.plot, wish, indent, places.gap)
        box = next((box for box in tried if _reaches(places, wish, box)), None)
        found.append(box)
        if box is not None:
            places.take(box)
            places.take(_leader(wish, box))
    return found


def _reaches(places: Places, wish: Wish, box: Box) -> bool:
    return box.bottom >= wish.y and places.is_free(box) and places.is_untaken(_leader(wish, box), 0.0)


def _leader(wish: Wish, box: Box) -> Box:
    return Box(wish.x, wish.y, wish.x, box.top)


def _beside_leader(plot: Box, wish: Wish, indent: float, gap: float) -> list[Box]:
    width, height = wish.size
    lanes = [plot.top - gap - (lane + 1) * (height + gap) for lane in range(4)]
    sides = (wish.x - indent - width, wish.x + indent)
    return [Box.at(left, bottom, wish.size) for bottom in lanes for left in sides]

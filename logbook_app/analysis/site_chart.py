"""Where sites lie on a sheet of paper: the part of the world that holds them, its grid, its shores.

The sheet is equirectangular, true to scale at its middle latitude. A map without network: shores are coarse
and nothing to navigate by.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, floor, radians

import numpy as np
from numpy.typing import NDArray

from logbook_app.analysis.book_statistics import Place
from logbook_app.language import number

Floats = NDArray[np.float64]
LEAST_DEG = 0.5  # height of the sheet around a single site
_AROUND = 0.18  # of the sheet, left free at each side
_STEPS_DEG = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0)
_LEAST_LINES_APART = 90.0  # px
_HIGHEST_DEG = 85.0


@dataclass(frozen=True, slots=True)
class SiteChart:
    """A sheet of paper and the part of the world on it.

    west    longitude of its left edge; may be beyond 180 where sites lie on both sides of that line
    south   latitude of its lower edge
    px_deg_east, px_deg_north   scale
    """

    west: float
    south: float
    px_deg_east: float
    px_deg_north: float
    width: float
    height: float

    def x(self, east: float) -> float:
        """Return the place of a longitude, from the left [px]."""
        return ((east - self.west) % 360.0) * self.px_deg_east

    def y(self, north: float) -> float:
        """Return the place of a latitude, from below [px]."""
        return (north - self.south) * self.px_deg_north

    def meridians(self) -> Iterator[tuple[float, str]]:
        """Yield place and name of each line of the grid that runs north [px]."""
        step = _step(self.px_deg_east)
        first = floor(self.west / step) + 1
        for line in range(first, first + int(self.width / self.px_deg_east / step) + 1):
            east = line * step
            if (x := (east - self.west) * self.px_deg_east) < self.width:
                yield x, _degrees((east + 180) % 360 - 180, step, "E", "W")

    def parallels(self) -> Iterator[tuple[float, str]]:
        """Yield place and name of each line of the grid that runs east [px]."""
        step = _step(self.px_deg_north)
        first = floor(self.south / step) + 1
        for line in range(first, first + int(self.height / self.px_deg_north / step) + 1):
            north = line * step
            if abs(north) <= 90 and (y := self.y(north)) < self.height:
                yield y, _degrees(north, step, "N", "S")

    def shore(self, lines: Sequence[Floats]) -> Floats:
        """Return the shores on the sheet as stretches: an array of x, y, x, y a row [px].

        lines   each an array of longitude and latitude [degree]
        """
        found = [each for line in lines if len(each := self._stretches(line))]
        return np.concatenate(found) if found else np.empty((0, 4))

    def _stretches(self, line: Floats) -> Floats:
        east = (line[:, 0] - self.west) % 360.0
        north = line[:, 1] - self.south
        wide, high = self.width / self.px_deg_east, self.height / self.px_deg_north
        if north.max() < 0 or north.min() > high:
            return np.empty((0, 4))
        ends = np.column_stack([east[:-1], north[:-1], east[1:], north[1:]])
        on_sheet = (np.minimum(ends[:, 0], ends[:, 2]) < wide) & (np.maximum(ends[:, 1], ends[:, 3]) > 0)
        on_sheet &= np.minimum(ends[:, 1], ends[:, 3]) < high
        # What leaves at one side of the globe and returns at the other is no stretch across it.
        on_sheet &= np.abs(ends[:, 0] - ends[:, 2]) < 180
        scale = (self.px_deg_east, self.px_deg_north) * 2
        return np.asarray(ends[on_sheet] * scale)


def site_chart(places: Sequence[Place], width: float, height: float) -> SiteChart | None:
    """Return the sheet that holds all places whose position is known, None where there is none.

    width, height   of the sheet [px]
    """
    known = [place for place in places if place.latitude_deg is not None]
    if not known or width <= 0 or height <= 0:
        return None
    north = np.array([place.latitude_deg for place in known], dtype=np.float64)
    west, wide = _narrowest([place.longitude_deg or 0.0 for place in known])
    middle = float(north.min() + north.max()) / 2
    narrowing = cos(radians(min(_HIGHEST_DEG, abs(middle))))
    free = 1 - 2 * _AROUND
    high = max(LEAST_DEG, float(north.max() - north.min()) / free, wide / free * narrowing * height / width)
    px_north = height / high
    px_east = px_north * narrowing
    across = min(width / px_east, 360.0)
    return SiteChart(west + wide / 2 - across / 2, middle - high / 2, px_east, px_north, width, height)


def shore_lines(scale: float, lines: Sequence[Sequence[int]]) -> list[Floats]:
    """Return shores as arrays of longitude and latitude [degree].

    scale   parts of a degree
    lines   each the first point, then the steps from each point to the next
    """
    return [np.cumsum(np.array(line, dtype=np.float64).reshape(-1, 2), axis=0) / scale for line in lines]


def _narrowest(east: Sequence[float]) -> tuple[float, float]:
    """Return the western edge and the width of the narrowest part of the globe that holds all longitudes."""
    turned = np.unique(np.asarray(east, dtype=np.float64) % 360.0)
    gaps = np.diff(np.append(turned, turned[0] + 360.0))
    widest = int(np.argmax(gaps))
    west = float(turned[(widest + 1) % len(turned)])
    return west, 360.0 - float(gaps[widest])


def _step(px_deg: float) -> float:
    return next((step for step in _STEPS_DEG if step * px_deg >= _LEAST_LINES_APART), _STEPS_DEG[-1])


def _degrees(value: float, step: float, positive: str, negative: str) -> str:
    decimals = 0 if step >= 1 else 1 if step >= 0.1 else 2
    side = positive if value > 0 else negative if value < 0 else ""
    return f"{number(abs(value), f'.{decimals}f')}° {side}".strip()

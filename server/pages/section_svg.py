"""Several divers of one day on one chart section: each by the clock, the water in depth tints, as SVG."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from markupsafe import Markup

from logbook_app.analysis.chart_lines import depth_marks, floor_of_chart_m, tint_bands
from logbook_app.analysis.spoken_times import clock_time
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.physics.units import FloatArray

UNITS: Final = SpokenUnits()
WIDTH, HEIGHT = 1000.0, 420.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 44.0, 12.0, 14.0, 34.0
_MOST_POINTS: Final = 500
_STEPS_MIN: Final = (1, 2, 5, 10, 15, 30, 60, 120, 180, 360)
# Whole or dashed, never told apart by colour; each has its name at its deepest.
_DASHES: Final = ("", "8 4", "2 4", "10 4 2 4", "14 4", "2 8", "6 2 2 2")


@dataclass(frozen=True, eq=False)
class DiverLine:
    """One diver's line on the clock of the day; `began` is local."""

    name: str
    began: datetime
    time_s: FloatArray
    depth_m: FloatArray


def group_section(lines: Sequence[DiverLine], title: str) -> Markup:
    """Return the lines of several divers on one chart section.

    title   says what it shows, for who does not see it
    """
    start = min(line.began for line in lines)
    shifts_s = [(line.began - start).total_seconds() for line in lines]
    end_s = max(shift_s + float(line.time_s[-1]) for shift_s, line in zip(shifts_s, lines, strict=True))
    chart = _Chart(
        start, max(end_s, 60.0), floor_of_chart_m(max(float(line.depth_m.max()) for line in lines), False)
    )
    parts = [*chart.water(), chart.land(shifts_s, lines), *chart.grid()]
    for place, (shift_s, line) in enumerate(zip(shifts_s, lines, strict=True)):
        parts.append(chart.line(line, shift_s, _DASHES[place % len(_DASHES)]))
    parts += chart.names(shifts_s, lines)
    head = Markup('<svg class="section" viewBox="0 0 {} {}" role="img"><title>{}</title>').format(
        f"{WIDTH:g}", f"{HEIGHT:g}", title
    )
    return head + Markup("").join(parts) + Markup("</svg>")


@dataclass(frozen=True)
class _Chart:
    start: datetime
    end_s: float
    floor_m: float

    def x(self, time_s: FloatArray | float) -> FloatArray:
        return np.asarray(_LEFT + (WIDTH - _LEFT - _RIGHT) * time_s / self.end_s)

    def y(self, depth_m: FloatArray | float) -> FloatArray:
        return np.asarray(_TOP + (HEIGHT - _TOP - _BOTTOM) * depth_m / self.floor_m)

    def water(self) -> list[Markup]:
        rectangle = '<rect class="w{}" x="{}" y="{:.1f}" width="{}" height="{:.1f}"/>'
        return [
            Markup(rectangle.format(  # noqa: S704 (numbers alone)
                tint + 1, _LEFT, float(self.y(top_m)), WIDTH - _LEFT - _RIGHT,
                float(self.y(bottom_m) - self.y(top_m)),
            ))
            for top_m, bottom_m, tint in tint_bands(self.floor_m, False)
        ]  # fmt: skip

    def land(self, shifts_s: Sequence[float], lines: Sequence[DiverLine]) -> Markup:
        """Return the ground: whatever lies deeper than the deepest of all was at that time."""
        time_s = np.linspace(0.0, self.end_s, _MOST_POINTS)
        depths = [
            np.interp(time_s, line.time_s + shift_s, line.depth_m, left=0.0, right=0.0)
            for shift_s, line in zip(shifts_s, lines, strict=True)
        ]
        x, y = self.x(time_s).tolist(), self.y(np.max(depths, axis=0)).tolist()
        points = " ".join(f"{px:.1f},{py:.1f}" for px, py in zip(x, y, strict=True))
        foot = float(self.y(self.floor_m))
        corners = f"{_LEFT},{foot:.1f} {points} {WIDTH - _RIGHT},{foot:.1f}"
        return Markup('<polygon class="land" points="{}"/>').format(corners)

    def grid(self) -> list[Markup]:
        found = []
        for depth_m, figure in depth_marks(self.floor_m, False, HEIGHT - _TOP - _BOTTOM, 22):
            y = f"{float(self.y(depth_m)):.1f}"
            words = f"{figure} m" if depth_m == 0 else figure
            found.append(
                Markup('<text x="{}" y="{}" dy="4" text-anchor="end">{}</text>').format(_LEFT - 8, y, words)
            )
        return found + list(self._times())

    def _times(self) -> list[Markup]:
        step = next((s for s in _STEPS_MIN if self.end_s / 60 / s <= 8), _STEPS_MIN[-1]) * 60
        since_midnight = self.start.hour * 3600 + self.start.minute * 60 + self.start.second
        first = -since_midnight % step
        found = []
        for second in np.arange(first, self.end_s, step):
            x = f"{float(self.x(float(second))):.1f}"
            words = clock_time(self.start + timedelta(seconds=float(second)))
            found.append(Markup('<line class="grid" x1="{0}" x2="{0}" y1="{1}" y2="{2}"/>').format(
                x, HEIGHT - _BOTTOM, HEIGHT - _BOTTOM + 6))  # fmt: skip
            found.append(
                Markup('<text x="{}" y="{}" text-anchor="middle">{}</text>').format(x, HEIGHT - 10, words)
            )
        return found

    def line(self, line: DiverLine, shift_s: float, dashes: str) -> Markup:
        step = max(1, len(line.time_s) // _MOST_POINTS)
        ends = [int(line.depth_m.argmax()), len(line.time_s) - 1]
        kept = np.union1d(np.arange(0, len(line.time_s), step), ends)
        x, y = self.x(line.time_s[kept] + shift_s), self.y(line.depth_m[kept])
        points = " ".join(f"{px:.1f},{py:.1f}" for px, py in zip(x.tolist(), y.tolist(), strict=True))
        return Markup('<polyline class="line" points="{}" stroke-dasharray="{}"/>').format(
            points, dashes or "none"
        )

    def names(self, shifts_s: Sequence[float], lines: Sequence[DiverLine]) -> Iterator[Markup]:
        """Yield each name with its greatest depth, under the deepest point or the nearest free line below."""
        taken: list[tuple[float, float, float]] = []
        for shift_s, line in zip(shifts_s, lines, strict=True):
            deepest = int(line.depth_m.argmax())
            words = f"{line.name} {UNITS.depth(float(line.depth_m[deepest]))}"
            half = len(words) * 4.6
            x = float(self.x(line.time_s[deepest] + shift_s))
            x = min(max(x, _LEFT + half + 4), WIDTH - _RIGHT - half - 4)
            y = float(self.y(float(line.depth_m[deepest]))) + 20
            while any(abs(x - at) < half + other and abs(y - down) < 18 for at, down, other in taken):
                y += 18
            taken.append((x, y, half))
            yield Markup('<text class="name" x="{:.1f}" y="{:.1f}" text-anchor="middle">{}</text>').format(
                x, y, words
            )

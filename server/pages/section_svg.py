"""Several divers of one day on one chart section: each by the clock, the water in depth tints, as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from markupsafe import Markup

from logbook_app.analysis.chart_lines import depth_marks, floor_of_chart_m, tint_bands
from logbook_app.analysis.spoken_times import clock_time
from logbook_app.physics.units import FloatArray

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
    parts = [*chart.water(), *chart.grid()]
    for place, (shift_s, line) in enumerate(zip(shifts_s, lines, strict=True)):
        parts += chart.line(line, shift_s, _DASHES[place % len(_DASHES)])
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

    def line(self, line: DiverLine, shift_s: float, dashes: str) -> list[Markup]:
        step = max(1, len(line.time_s) // _MOST_POINTS)
        kept = np.union1d(
            np.arange(0, len(line.time_s), step), [int(line.depth_m.argmax()), len(line.time_s) - 1]
        )
        x, y = self.x(line.time_s[kept] + shift_s), self.y(line.depth_m[kept])
        points = " ".join(f"{px:.1f},{py:.1f}" for px, py in zip(x.tolist(), y.tolist(), strict=True))
        deepest = int(line.depth_m.argmax())
        name_x = min(max(float(self.x(line.time_s[deepest] + shift_s)), _LEFT + 20), WIDTH - 60)
        name_y = float(self.y(float(line.depth_m[deepest]))) + 16
        return [
            Markup('<polyline class="line" points="{}" stroke-dasharray="{}"/>').format(
                points, dashes or "none"),
            Markup('<text class="name" x="{}" y="{}" text-anchor="middle">{}</text>').format(
                f"{name_x:.1f}", f"{name_y:.1f}", line.name),
        ]  # fmt: skip

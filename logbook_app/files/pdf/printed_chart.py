"""A chart section in print: the same lines and words as on the screen, drawn with a pen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook_app.analysis.chart_layout import (
    Axes,
    ChartLayout,
    Letters,
    Put,
    Role,
    axes_layout,
    chart_layout,
    depth_axis_width,
    time_axis_height,
)
from logbook_app.analysis.chart_lines import (
    Frame,
    envelope,
    floor_of_chart_m,
    part_of_line,
    tint_bands,
)
from logbook_app.analysis.chart_places import Box, Places
from logbook_app.analysis.section_of_dive import Section
from logbook_app.files.pdf.paper import ASCENT, DESCENT, WHITE, Paper, Points, Type
from logbook_app.files.pdf.print_look import ChartLook
from logbook_app.physics.units import FloatArray

UNIT_PT = 0.5  # of the layout's lengths: words here are half as large as on the screen
FINEST_PT = 0.24  # one three-hundredth of an inch: nothing finer can be seen in print
LINE_PT = 0.9
SMALLEST_WIDTH_PT, SMALLEST_HEIGHT_PT = 60.0, 30.0


@dataclass(frozen=True, slots=True)
class PrintedChart:
    """A pen that draws chart sections of one look on one paper."""

    paper: Paper
    look: ChartLook

    def draw(self, section: Section, place: Box) -> None:
        """Draw a section, with its figures at the left and below, into a place on the paper."""
        letters = Letters(UNIT_PT, self._size)
        frame = _framed(section, place, letters)
        time_s, depth_m = part_of_line(section.time_s, section.depth_m, frame.from_s, frame.to_s)
        x, y = frame.x(time_s), frame.y(depth_m)
        self._water(section, frame)
        self._ceiling(section, frame)
        self._ground(frame, _as_drawn(x, y))
        places = Places(Box(frame.left, frame.bottom, frame.right, frame.top), x, y, gap=5 * UNIT_PT)
        self._axes(axes_layout(section, frame, letters), frame)
        self._words(chart_layout(section, frame, letters, places))

    def _water(self, section: Section, frame: Frame) -> None:
        for top_m, bottom_m, tint in tint_bands(frame.floor_m, section.imperial):
            upper, lower = float(frame.y(top_m)), float(frame.y(bottom_m))
            self.paper.box(frame.left, lower, frame.width, upper - lower, fill=self.look.water[tint])
            if top_m > 0:
                self.paper.rule((frame.left, upper), (frame.right, upper), self.look.steps, 0.2)

    def _ground(self, frame: Frame, line: Points) -> None:
        """Draw the ground under the line, which before and after the dive reaches up to the surface."""
        left, right = (frame.left, line[0][0]), (line[-1][0], frame.right)
        shore = [(frame.left, frame.bottom), *((x, frame.top) for x in left), *line]
        shore += [*((x, frame.top) for x in right), (frame.right, frame.bottom)]
        self.paper.area(shore, self.look.land)
        self.paper.curve(line, self.look.ink, LINE_PT)
        self.paper.box(frame.left, frame.bottom, frame.width, frame.height, edge=self.look.quiet, pen=0.3)

    def _ceiling(self, section: Section, frame: Frame) -> None:
        """Hatch what lies over the ceiling wherever there is one, and draw its lower edge."""
        series = section.series
        there = np.flatnonzero(series.ceiling_m > 0)
        if not there.size:
            return
        part = slice(max(0, int(there[0]) - 1), int(there[-1]) + 2)
        ceiling_m = np.minimum(series.ceiling_m[part], frame.floor_m)
        edge = _as_drawn(frame.x(series.time_s[part]), frame.y(ceiling_m))
        self.paper.hatch([(edge[0][0], frame.top), *edge, (edge[-1][0], frame.top)], self.look.ink, 3.0, 0.3)
        self.paper.curve(edge, self.look.ink, 0.6)

    def _axes(self, axes: Axes, frame: Frame) -> None:
        for x in axes.ticks:
            self.paper.rule((x, frame.bottom), (x, frame.bottom - 2.5), self.look.quiet, 0.3)
        for put in (*axes.depths, *axes.minutes):
            self._put(put)

    def _words(self, layout: ChartLayout) -> None:
        for remark in layout.remarks:
            self.paper.rule(
                (remark.x, remark.foot), (remark.x, remark.head), self.look.accent, 0.7, (1.6, 1.2)
            )
            self._put(remark.put, accent=True)
        if layout.stop is not None:
            self._bar(layout.stop.bar)
            self._put(layout.stop.put)
        for switch in layout.switches:
            self.paper.box(switch.x - 2, switch.y - 2, 4, 4, fill=WHITE, edge=self.look.ink, pen=0.6)
            self._put(switch.put)
        for put in (layout.ceiling, layout.estimate, *layout.figures):
            self._put(put)

    def _bar(self, bar: Box) -> None:
        middle = bar.bottom + 1.5
        self.paper.rule((bar.left, middle), (bar.right, middle), self.look.ink, 0.7)
        for x in (bar.left, bar.right):
            self.paper.rule((x, bar.bottom), (x, bar.top), self.look.ink, 0.7)

    def _put(self, put: Put | None, *, accent: bool = False) -> None:
        if put is not None:
            kind = self._type(put.role, accent=accent)
            self.paper.text(put.box.left, put.box.bottom + DESCENT * kind.size, put.words, kind)

    def _size(self, words: str, role: Role) -> tuple[float, float]:
        kind = self._type(role)
        return self.paper.width(words, kind), kind.size * (ASCENT + DESCENT)

    def _type(self, role: Role, *, accent: bool = False) -> Type:
        size, ink = self.look.words, self.look.accent if accent else self.look.ink
        if role == "axis":
            return Type(size * 0.92, colour=self.look.quiet)
        if role == "sounding":
            return Type(size * 1.14, "Italic", ink)
        if role == "tenth":
            return Type(size * 0.82, "Italic", ink)
        return Type(size, "SemiBold" if role == "strong" else "Regular", ink)


def _framed(section: Section, place: Box, letters: Letters) -> Frame:
    """Return the frame within a place that leaves room for the figures around it."""
    floor_m = floor_of_chart_m(section.max_depth_m, section.imperial)
    left = place.left + depth_axis_width(section, floor_m, letters)
    bottom = place.bottom + time_axis_height(letters)
    above = letters.measure("0", "axis")[1] / 2  # half of the figure at the surface
    return Frame(
        left=left,
        bottom=bottom,
        width=max(SMALLEST_WIDTH_PT, place.right - left),
        height=max(SMALLEST_HEIGHT_PT, place.top - above - bottom),
        from_s=0.0,
        to_s=max(60.0, section.end_s * 1.02),
        floor_m=floor_m,
    )


def _as_drawn(x: FloatArray, y: FloatArray) -> list[tuple[float, float]]:
    """Return the line as points no closer than a printer can show, every extreme among them."""
    if len(x) * FINEST_PT <= 2 * (x[-1] - x[0]) or len(x) < 3:
        return list(zip(x.tolist(), y.tolist(), strict=True))
    edges = np.linspace(x[0], x[-1], max(2, int((x[-1] - x[0]) / FINEST_PT)) + 1)
    low, high = envelope(x, y, edges)
    middles = (edges[:-1] + edges[1:]) / 2
    between = np.column_stack((np.repeat(middles, 2), np.column_stack((low, high)).ravel()))
    return [(float(x[0]), float(y[0])), *map(tuple, between.tolist()), (float(x[-1]), float(y[-1]))]

"""The section itself: water in depth tints, ground below, the ceiling overhead, the line between."""

from __future__ import annotations

import numpy as np
from kivy.graphics import Color, InstructionGroup, Rectangle
from kivy.metrics import dp
from numpy.typing import NDArray

from logbook_app.analysis.chart_lines import (
    Frame,
    Ink,
    ink_of_line,
    part_of_line,
    tint_bands,
)
from logbook_app.analysis.section_of_dive import Section
from logbook_app.screens.theme import Theme
from logbook_app.screens.widgets.ribbon import Area, Ribbon, hatching

FloatArray = NDArray[np.float64]

LINE_RADIUS_DP = 1.1
CEILING_RADIUS_DP = 0.7
OTHER_RADIUS_DP = 0.6
HATCH_DP = 9


class ChartWater(InstructionGroup):
    """Everything that is drawn in colour rather than in words. Each call of `show` draws it anew."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._tints = InstructionGroup()
        self._ground = Area(theme.land)
        self._overhead = Area(theme.ink, hatching(round(dp(HATCH_DP))))
        self._ceiling = Ribbon(theme.ink)
        self._line, self._other = Ribbon(theme.ink), Ribbon(theme.blue)
        self.other_ink: Ink | None = None
        for part in (self._tints, self._ground, self._overhead, self._ceiling, self._other, self._line):
            self.add(part)

    def show(self, section: Section, frame: Frame, theme: Theme) -> Ink | None:
        """Draw the section in this frame and return the ink of the line, None where none is in view."""
        self._show_tints(section, frame, theme)
        self._show_ceiling(section, frame, theme)
        self._show_other(section, frame, theme)
        time_s, depth_m = part_of_line(section.time_s, section.depth_m, frame.from_s, frame.to_s)
        ink = ink_of_line(frame.x(time_s), frame.y(depth_m), dp(LINE_RADIUS_DP)) if time_s.size else None
        self._show_ground(ink, frame, theme)
        self._line.dye(theme.ink)
        self._line.show(ink)
        return ink

    def _show_other(self, section: Section, frame: Frame, theme: Theme) -> None:
        """Draw the recording that is laid over this one, thinner; dashes would hide how deep it went."""
        self.other_ink = None
        if section.other is not None:
            line = section.other.time_s, section.other.depth_m
            time_s, depth_m = part_of_line(*line, frame.from_s, frame.to_s)
            if time_s.size:
                self.other_ink = ink_of_line(frame.x(time_s), frame.y(depth_m), dp(OTHER_RADIUS_DP))
        self._other.dye(theme.blue)
        self._other.show(self.other_ink)

    def _show_tints(self, section: Section, frame: Frame, theme: Theme) -> None:
        """Draw the bands as rectangles: the ground then covers what lies below the line."""
        self._tints.clear()
        for top_m, bottom_m, tint in tint_bands(frame.floor_m, section.imperial):
            lower, upper = float(frame.y(bottom_m)), float(frame.y(top_m))
            self._tints.add(Color(*theme.water[tint]))
            self._tints.add(Rectangle(pos=(frame.left, lower), size=(frame.width, upper - lower)))
            if top_m > 0:
                self._tints.add(Color(*theme.blue[:3], 0.22))
                self._tints.add(Rectangle(pos=(frame.left, round(upper)), size=(frame.width, 1)))

    def _show_ground(self, ink: Ink | None, frame: Frame, theme: Theme) -> None:
        """Draw the ground below the line; before and after the dive it reaches up to the surface."""
        self._ground.dye(theme.land)
        if ink is None:
            self._ground.show(np.array([frame.left, frame.right]), np.full(2, frame.top), frame.bottom)
            return
        x = np.concatenate(([frame.left, ink.x[0]], ink.x, [ink.x[-1], frame.right]))
        middle = np.concatenate(([frame.top] * 2, ink.middle, [frame.top] * 2))
        self._ground.show(np.clip(x, frame.left, frame.right), middle, frame.bottom)

    def _show_ceiling(self, section: Section, frame: Frame, theme: Theme) -> None:
        """Hatch what lies over the ceiling wherever there is one, and draw its lower edge."""
        series = section.series
        time_s, ceiling_m = part_of_line(series.time_s, series.ceiling_m, frame.from_s, frame.to_s)
        there = ceiling_m > 0
        self._overhead.dye((*theme.ink[:3], 0.55))
        self._ceiling.dye(theme.ink)
        if not there.any():
            self._overhead.show(np.empty(0), np.empty(0), frame.top)
            self._ceiling.show(None)
            return
        first, last = max(0, int(np.argmax(there)) - 1), len(there) - int(np.argmax(there[::-1])) + 1
        x, y = frame.x(time_s[first:last]), frame.y(np.minimum(ceiling_m[first:last], frame.floor_m))
        edge = ink_of_line(x, y, dp(CEILING_RADIUS_DP))
        self._overhead.show(edge.x, edge.middle, frame.top)
        self._ceiling.show(edge)

"""The section itself: water in depth tints, ground below, the ceiling overhead, the line between."""

from __future__ import annotations

from collections.abc import Sequence

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
from logbook_app.screens.widgets.chart_lanes import PATTERNS_DP, pattern_dp
from logbook_app.screens.widgets.ribbon import Area, Ribbon, hatching

FloatArray = NDArray[np.float64]
Lowest = tuple[FloatArray, FloatArray]

LINE_RADIUS_DP = 1.1
CEILING_RADIUS_DP = 0.7
OTHER_RADIUS_DP = 0.6
LEADER_RADIUS_DP = 1.6
GROUP_RADIUS_DP = 0.7
BETWEEN = 0.3  # how much of the accent lies in the water between two divers
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
        self.diver_inks: list[Ink] = []
        self._between = Area(theme.accent)
        self._divers, self._pens = InstructionGroup(), dict[int, Ribbon]()
        parts = (self._tints, self._ground, self._between, self._overhead, self._ceiling)
        for part in (*parts, self._other, self._divers, self._line):
            self.add(part)

    @property
    def inks(self) -> list[Ink]:
        """Every line besides the leading one, as it was drawn."""
        return [*([self.other_ink] if self.other_ink else []), *self.diver_inks]

    def show(self, section: Section, frame: Frame, theme: Theme) -> Ink | None:
        """Draw the section in this frame and return the ink of the line, None where none is in view."""
        self._show_tints(section, frame, theme)
        self._show_ceiling(section, frame, theme)
        self._show_other(section, frame, theme)
        time_s, depth_m = part_of_line(section.time_s, section.depth_m, frame.from_s, frame.to_s)
        radius_dp = LEADER_RADIUS_DP if section.divers else LINE_RADIUS_DP
        ink = ink_of_line(frame.x(time_s), frame.y(depth_m), dp(radius_dp)) if time_s.size else None
        self._show_divers(section, frame, theme)
        self._show_between(section, ink, theme)
        self._show_ground(_deepest_of([*([ink] if ink else []), *self.diver_inks]), frame, theme)
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

    def _show_divers(self, section: Section, frame: Frame, theme: Theme) -> None:
        """Draw the lines of others who were there, told apart by their dashes."""
        self._divers.clear()
        self.diver_inks = []
        radius_dp = LINE_RADIUS_DP if len(section.divers) == 1 else GROUP_RADIUS_DP
        for place, line in enumerate(section.divers):
            time_s, depth_m = part_of_line(line.time_s, line.depth_m, frame.from_s, frame.to_s)
            if time_s.size:
                ink = ink_of_line(frame.x(time_s), frame.y(depth_m), dp(radius_dp))
                self.diver_inks.append(ink)
                pen = self._pen(place, theme)
                pen.show(ink)
                self._divers.add(pen)

    def _pen(self, place: int, theme: Theme) -> Ribbon:
        """Return the pen of one of the others, made once; the leader's line is the whole one."""
        if place not in self._pens:
            self._pens[place] = Ribbon(theme.ink, [round(dp(length)) for length in diver_pattern_dp(place)])
        self._pens[place].dye(theme.ink)
        return self._pens[place]

    def _show_between(self, section: Section, ink: Ink | None, theme: Theme) -> None:
        """Tint the water between two divers; among several it would say nothing."""
        self._between.dye((*theme.accent[:3], BETWEEN))
        if ink is None or len(section.divers) != 1 or not self.diver_inks:
            self._between.show(np.empty(0), np.empty(0), 0.0)
            return
        other = self.diver_inks[0]
        both = (ink.x >= other.x[0]) & (ink.x <= other.x[-1])
        x = ink.x[both]
        self._between.show(x, ink.middle[both], np.interp(x, other.x, other.middle))

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

    def _show_ground(self, lowest: Lowest | None, frame: Frame, theme: Theme) -> None:
        """Draw the ground below the line; before and after the dive it reaches up to the surface."""
        self._ground.dye(theme.land)
        if lowest is None:
            self._ground.show(np.array([frame.left, frame.right]), np.full(2, frame.top), frame.bottom)
            return
        line_x, line_y = lowest
        x = np.concatenate(([frame.left, line_x[0]], line_x, [line_x[-1], frame.right]))
        middle = np.concatenate(([frame.top] * 2, line_y, [frame.top] * 2))
        self._ground.show(np.clip(x, frame.left, frame.right), middle, frame.bottom)

    def _show_ceiling(self, section: Section, frame: Frame, theme: Theme) -> None:
        """Hatch what lies over the ceiling wherever there is one, and draw its lower edge."""
        series = section.series
        time_s, ceiling_m = part_of_line(series.time_s, series.ceiling_m, frame.from_s, frame.to_s)
        there = (ceiling_m > 0) & (not section.divers)  # whose it was would have to be said
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


def diver_pattern_dp(place: int) -> tuple[int, ...]:
    """Return the dashes of another diver's line: never whole, which is the leader's.

    >>> diver_pattern_dp(0), diver_pattern_dp(4)
    ((9, 4), (9, 4))
    """
    return pattern_dp(1 + place % (len(PATTERNS_DP) - 1))


def _deepest_of(inks: Sequence[Ink]) -> Lowest | None:
    """Return the columns of lines and the lowest of them in each; one that has ended counts no more."""
    if len(inks) < 2:
        return (inks[0].x, inks[0].middle) if inks else None
    x = np.unique(np.concatenate([ink.x for ink in inks]))
    heights = [np.interp(x, ink.x, ink.middle, left=np.inf, right=np.inf) for ink in inks]
    return x, np.minimum.reduce(heights)

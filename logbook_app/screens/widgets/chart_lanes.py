"""The quiet lines under a section, painted on its sheet."""

from __future__ import annotations

from collections.abc import Sequence

from kivy.graphics import Color, InstructionGroup, Rectangle
from kivy.metrics import dp

from logbook_app.analysis.chart_lanes import Lane, LaneLine
from logbook_app.analysis.chart_lines import Frame, ink_of_line, part_of_line
from logbook_app.screens.theme import Theme
from logbook_app.screens.widgets.chart_bands import Band
from logbook_app.screens.widgets.ribbon import Ribbon

LANE_RADIUS_DP = 0.75
PATTERNS_DP = ((), (9, 4), (2, 4), (14, 3, 2, 3), (5, 3))
"""Lengths of ink and gap of the first line of a lane, the second, and so on; then they begin again."""


def pattern_dp(place: int) -> tuple[int, ...]:
    """Return the dashes of the line at this place in its lane; nothing for a whole line."""
    return PATTERNS_DP[place % len(PATTERNS_DP)]


def strokes(length: float, pattern: Sequence[float]) -> list[tuple[float, float]]:
    """Return where the inked parts of a line begin and how long they are; a whole line has no pattern.

    >>> strokes(20.0, [9, 4])
    [(0.0, 9), (13.0, 7.0)]
    """
    if not pattern:
        return [(0.0, length)]
    found: list[tuple[float, float]] = []
    at, place = 0.0, 0
    while at < length:
        part = min(pattern[place % len(pattern)], length - at)
        if place % 2 == 0:
            found.append((at, part))
        at, place = at + part, place + 1
    return found


class ChartLanes(InstructionGroup):
    """Every lane that is shown."""

    def __init__(self) -> None:
        super().__init__()
        self._ribbons: dict[tuple[int, int], Ribbon] = {}

    def show(self, lanes: Sequence[Lane], bands: Sequence[Band], frame: Frame, theme: Theme) -> None:
        """Draw these lanes along the frame's time, each in its band."""
        self.clear()
        for number, (lane, band) in enumerate(zip(lanes, bands, strict=True)):
            self._ground(band, frame, theme)
            if lane.mark is not None:
                self._rule(band.bottom + float(lane.share(lane.mark)) * band.height, frame, theme)
            for place, line in enumerate(lane.lines):
                self._draw(self._ribbon(number, place, theme), lane, line, band, frame)

    def _draw(self, ribbon: Ribbon, lane: Lane, line: LaneLine, band: Band, frame: Frame) -> None:
        time_s, values = part_of_line(line.time_s, line.values, frame.from_s, frame.to_s)
        y = band.bottom + lane.share(values) * band.height
        ribbon.show(ink_of_line(frame.x(time_s), y, dp(LANE_RADIUS_DP)) if time_s.size else None)
        self.add(ribbon)

    def _ribbon(self, number: int, place: int, theme: Theme) -> Ribbon:
        """Return the pen of one line, made once."""
        if (number, place) not in self._ribbons:
            dashes = [round(dp(length)) for length in pattern_dp(place)]
            self._ribbons[number, place] = Ribbon(theme.ink, dashes)
        self._ribbons[number, place].dye(theme.ink)
        return self._ribbons[number, place]

    def _ground(self, band: Band, frame: Frame, theme: Theme) -> None:
        self.add(Color(*theme.water[0]))
        self.add(Rectangle(pos=(frame.left, band.bottom), size=(frame.width, band.height)))

    def _rule(self, y: float, frame: Frame, theme: Theme) -> None:
        self.add(Color(*theme.ink))
        self.add(Rectangle(pos=(frame.left, round(y) - 1), size=(frame.width, 1)))

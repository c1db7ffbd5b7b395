"""The line under the finger, and the card that says every value at that instant.

It follows every frame of a moving finger, so nothing is made anew: shapes are moved, and the
words are letters that were set before.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.graphics import (
    Color,
    Ellipse,
    InstructionGroup,
    Line,
    PopMatrix,
    PushMatrix,
    Rectangle,
    RoundedRectangle,
    Translate,
)
from kivy.metrics import dp, sp

from logbook_app.analysis.chart_lines import Frame
from logbook_app.analysis.readout import readout
from logbook_app.analysis.section_of_dive import Section
from logbook_app.screens.theme import TYPE_SP, Theme
from logbook_app.screens.widgets.type_case import SetLines, TypeCase

RING_DP = 6
RING_CORNERS = 36
PAD_DP = 12
LEADING_DP = 3
FROM_LINE_DP = 14
WIDTH_STEP_DP = 16  # the card keeps its width while its figures change by a letter or two


class ScrubCard(InstructionGroup):
    """Draws itself for one instant; `words` holds what it says."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self._made_for: Any = None
        self._size: tuple[float, float] = 0, 0
        self._shown = False

    def show(
        self,
        section: Section,
        frame: Frame,
        floor: float,
        theme: Theme,
        time_s: float | None,
        besides: Sequence[str] = (),
    ) -> None:
        """Draw line, ring and card at an instant; None, or one out of view, draws nothing.

        floor     how far down the line goes [px]
        besides   what is said of the instant after everything else
        """
        if time_s is None or not frame.from_s <= time_s <= frame.to_s:
            self._hide()
            return
        self._make(theme)
        self.words = [*readout(section, time_s), *besides]
        x, y = frame.point(time_s, section.depth_at(time_s))
        self._line.pos = round(x), floor
        self._line.size = max(1, round(dp(1))), frame.top - floor
        self._ring.xy = x, y
        self._show_card(x, y, frame)

    def _hide(self) -> None:
        if self._shown:
            self._shown, self._made_for, self.words = False, None, []
            self.clear()

    def _make(self, theme: Theme) -> None:
        """Make every shape once for a theme and a size of text."""
        made_for = theme, sp(TYPE_SP["label"]), dp(1)
        if self._made_for == made_for:
            return
        self.clear()
        self._made_for, self._shown, self._size = made_for, True, (0, 0)
        self._plain, self._bold = TypeCase(made_for[1]), TypeCase(made_for[1], bold=True)
        self._line, self._ring, self._card = Rectangle(), Translate(), Translate()
        self._lead, self._rest = SetLines(self._bold), SetLines(self._plain)
        self._ground = RoundedRectangle(radius=[dp(5)])
        self._edge = Line()
        ring = dp(RING_DP)
        disc = Ellipse(pos=(-ring, -ring), size=(2 * ring, 2 * ring), segments=RING_CORNERS)
        circle = Line(circle=(0, 0, ring, 0, 360, RING_CORNERS), width=dp(1.1))
        ink, card = Color(*theme.ink), Color(*theme.card)
        for each in (ink, self._line, PushMatrix(), self._ring, card, disc, Color(*theme.ink), circle):
            self.add(each)
        self.add(PopMatrix())
        shapes = (Color(*theme.card), self._ground, Color(*theme.ink), self._edge, self._lead, self._rest)
        for each in (PushMatrix(), self._card, *shapes, PopMatrix()):
            self.add(each)

    def _show_card(self, x: float, y: float, frame: Frame) -> None:
        leading, pad, step = dp(LEADING_DP), dp(PAD_DP), dp(WIDTH_STEP_DP)
        line_height = self._plain.height + leading
        height = len(self.words) * line_height - leading + 2 * pad
        least = max(self._lead.compose(self.words[:1]) + self._rest.compose(self.words[1:])) + 2 * pad
        self._stretch(min(-(-least // step) * step, max(least, frame.width)), height)
        first = height - pad - self._plain.height
        corners = [(pad, first - number * line_height) for number in range(len(self.words))]
        self._lead.place(corners[:1])
        self._rest.place(corners[1:])
        left, bottom = _beside(x, self._size[0], frame), frame.top - dp(10) - height
        if left < x < left + self._size[0] and y > bottom - dp(RING_DP):
            bottom = frame.bottom + dp(10)  # a narrow chart: leave the ring in sight
        self._card.xy = round(left), round(bottom)

    def _stretch(self, width: float, height: float) -> None:
        size = round(width), round(height)
        if size != self._size:
            self._size = size
            self._ground.size = size
            self._edge.rounded_rectangle = (0, 0, *size, dp(5))


def _beside(x: float, width: float, frame: Frame) -> float:
    """Return the left edge of the card: right of the line, else left of it, else wherever it fits."""
    away = dp(FROM_LINE_DP)
    if x + away + width <= frame.right:
        return x + away
    if x - away - width >= frame.left:
        return x - away - width
    return frame.right - width if x < (frame.left + frame.right) / 2 else frame.left

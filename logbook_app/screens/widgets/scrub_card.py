"""The line under the finger, and the card that says every value at that instant.

It follows every frame of a moving finger, so nothing is made anew: shapes are moved, and the
words are letters that were set before.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from kivy.graphics import (
    Color,
    InstructionGroup,
    Line,
    PopMatrix,
    PushMatrix,
    Rectangle,
    RoundedRectangle,
    Translate,
)
from kivy.graphics.texture import Texture
from kivy.metrics import dp, sp

from logbook_app.analysis.chart_lines import Frame
from logbook_app.analysis.readout import readout
from logbook_app.analysis.section_of_dive import Section
from logbook_app.screens.theme import TYPE_SP, Theme
from logbook_app.screens.widgets.type_case import SetLines, TypeCase

RING_DP = 6
RING_WIDTH_DP = 1.7
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
        self._said: Any = None
        self._size: tuple[float, float] = 0, 0
        self._shown = False

    def show(
        self,
        section: Section,
        frame: Frame,
        floor: float,
        theme: Theme,
        time_s: float | None,
        besides: tuple[str, ...] = (),
    ) -> None:
        """Draw line, ring and card at an instant; None, or one out of view, draws nothing.

        floor     how far down the line goes [px]
        besides   what is said of the instant after everything else
        """
        if time_s is None or not frame.from_s <= time_s <= frame.to_s:
            self._hide()
            return
        self._make(theme)
        if self._said != (said := (id(section), time_s, besides)):
            self._said = said
            self._say([*readout(section, time_s), *besides])
        x, y = frame.point(time_s, section.depth_at(time_s))
        self._line.pos = round(x), floor
        self._line.size = max(1, round(dp(1))), frame.top - floor
        self._ring.xy = x, y
        self._put_card(x, y, frame)

    def _hide(self) -> None:
        if self._shown:
            self._shown, self._made_for, self._said, self.words = False, None, None, []
            self.clear()

    def _make(self, theme: Theme) -> None:
        """Make every shape once for a theme and a size of text."""
        made_for = theme, sp(TYPE_SP["label"]), dp(1)
        if self._made_for == made_for:
            return
        self.clear()
        self._made_for, self._shown, self._size, self._said = made_for, True, (0, 0), None
        self._case = TypeCase(made_for[1])
        self._line, self._ring, self._card = Rectangle(), Translate(), Translate()
        self._lines = SetLines(self._case)
        self._ground = RoundedRectangle(radius=[dp(5)])
        self._edge = Line()
        ring = dp(RING_DP) + 2
        disc = Rectangle(texture=_ring(dp(RING_DP), theme), pos=(-ring, -ring), size=(2 * ring, 2 * ring))
        ring_drawn = (PushMatrix(), self._ring, Color(1, 1, 1, 1), disc, PopMatrix())
        for each in (Color(*theme.ink), self._line, *ring_drawn):
            self.add(each)
        shapes = (Color(*theme.card), self._ground, Color(*theme.ink), self._edge, self._lines)
        for each in (PushMatrix(), self._card, *shapes, PopMatrix()):
            self.add(each)

    def _say(self, words: list[str]) -> None:
        """Set the words of the card, and stretch it to hold them."""
        self.words = words
        leading, pad, step = dp(LEADING_DP), dp(PAD_DP), dp(WIDTH_STEP_DP)
        line_height = self._case.height + leading
        height = len(words) * line_height - leading + 2 * pad
        least = max(self._lines.compose(words, lead=True)) + 2 * pad
        self._stretch(-(-least // step) * step, height)
        first = height - pad - self._case.height
        self._lines.place([(pad, first - number * line_height) for number in range(len(words))])

    def _put_card(self, x: float, y: float, frame: Frame) -> None:
        """Put the card beside the line; the ring stays in sight."""
        width, height = self._size
        left, bottom = _beside(x, width, frame), frame.top - dp(10) - height
        if left < x < left + width and y > bottom - dp(RING_DP):
            bottom = frame.bottom + dp(10)  # a narrow chart: leave the ring in sight
        self._card.xy = round(left), round(bottom)

    def _stretch(self, width: float, height: float) -> None:
        size = round(width), round(height)
        if size != self._size:
            self._size = size
            self._ground.size = size
            self._edge.rounded_rectangle = (0, 0, *size, dp(5))


def _ring(radius: float, theme: Theme) -> Any:
    """Return a texture of a ring in ink filled with card, two pixels larger than its radius all round."""
    side = round(2 * (radius + 2))
    axis = np.arange(side) + 0.5 - side / 2
    away = np.hypot(axis[None, :], axis[:, None])[..., None]
    outer = np.clip(radius + RING_WIDTH_DP / 2 - away + 0.5, 0, 1)
    inner = np.clip(radius - RING_WIDTH_DP / 2 - away + 0.5, 0, 1)
    pixels = np.empty((side, side, 4))
    pixels[..., :3] = np.array(theme.ink[:3]) * (1 - inner) + np.array(theme.card[:3]) * inner
    pixels[..., 3:] = outer
    texture = Texture.create(size=(side, side), colorfmt="rgba")
    texture.blit_buffer(np.rint(pixels * 255).astype(np.uint8).ravel(), colorfmt="rgba", bufferfmt="ubyte")
    return texture


def _beside(x: float, width: float, frame: Frame) -> float:
    """Return the left edge of the card: right of the line, else left of it, else wherever it fits."""
    away = dp(FROM_LINE_DP)
    if x + away + width <= frame.right:
        return x + away
    if x - away - width >= frame.left:
        return x - away - width
    return frame.right - width if x < (frame.left + frame.right) / 2 else frame.left

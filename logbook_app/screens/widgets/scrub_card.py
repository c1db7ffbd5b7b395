"""The line under the finger, and the card that says every value at that instant."""

from __future__ import annotations

from typing import Any

from kivy.graphics import Color, Ellipse, InstructionGroup, Line, Rectangle, RoundedRectangle
from kivy.metrics import dp, sp

from logbook_app.analysis.chart_lines import Frame
from logbook_app.analysis.section_of_dive import Section, readout
from logbook_app.screens.theme import TYPE_SP, Theme
from logbook_app.screens.widgets.text_textures import TextTextures

RING_DP = 6
PAD_DP = 12
FROM_LINE_DP = 14


class ScrubCard(InstructionGroup):
    """Draws itself for one instant; `words` holds what it says."""

    def __init__(self, texts: TextTextures) -> None:
        super().__init__()
        self._texts = texts
        self.words: list[str] = []

    def show(self, section: Section, frame: Frame, theme: Theme, time_s: float | None) -> None:
        """Draw line, ring and card at an instant; None, or one out of view, draws nothing."""
        self.clear()
        self.words = []
        if time_s is None or not frame.from_s <= time_s <= frame.to_s:
            return
        self.words = readout(section, time_s)
        x, y = frame.point(time_s, section.depth_at(time_s))
        self._draw_line(x, y, frame, theme)
        self._draw_card(x, y, frame, theme)

    def _draw_line(self, x: float, y: float, frame: Frame, theme: Theme) -> None:
        ring = dp(RING_DP)
        self.add(Color(*theme.ink))
        self.add(Rectangle(pos=(round(x), frame.bottom), size=(max(1, round(dp(1))), frame.height)))
        self.add(Color(*theme.card))
        self.add(Ellipse(pos=(x - ring, y - ring), size=(2 * ring, 2 * ring)))
        self.add(Color(*theme.ink))
        self.add(Line(circle=(x, y, ring), width=dp(1.1)))

    def _draw_card(self, x: float, y: float, frame: Frame, theme: Theme) -> None:
        textures = [
            self._texts.texture(words, sp(TYPE_SP["label"]), bold=number == 0)
            for number, words in enumerate(self.words)
        ]
        leading, pad = dp(3), dp(PAD_DP)
        width = max(texture.width for texture in textures) + 2 * pad
        height = sum(texture.height + leading for texture in textures) - leading + 2 * pad
        left, bottom = _beside(x, width, frame), frame.top - dp(10) - height
        if left < x < left + width and y > bottom - dp(RING_DP):
            bottom = frame.bottom + dp(10)  # a narrow chart: leave the ring in sight
        self._draw_ground(left, bottom, width, height, theme)
        self._draw_words(textures, left + pad, bottom + height - pad, leading, theme)

    def _draw_ground(self, left: float, bottom: float, width: float, height: float, theme: Theme) -> None:
        box = round(left), round(bottom), round(width), round(height)
        self.add(Color(*theme.card))
        self.add(RoundedRectangle(pos=box[:2], size=box[2:], radius=[dp(5)]))
        self.add(Color(*theme.ink))
        self.add(Line(rounded_rectangle=(*box, dp(5))))

    def _draw_words(self, textures: list[Any], x: float, top: float, leading: float, theme: Theme) -> None:
        self.add(Color(*theme.ink))
        for texture in textures:
            top -= texture.height
            self.add(Rectangle(texture=texture, pos=(round(x), round(top)), size=texture.size))
            top -= leading


def _beside(x: float, width: float, frame: Frame) -> float:
    """Return the left edge of the card: right of the line, else left of it, else wherever it fits."""
    away = dp(FROM_LINE_DP)
    if x + away + width <= frame.right:
        return x + away
    if x - away - width >= frame.left:
        return x - away - width
    return frame.right - width if x < (frame.left + frame.right) / 2 else frame.left

"""The line under the finger, and the card that says every value at that instant.

It follows every frame of a moving finger, so nothing is made anew: line, ring and ground of the card are
parts of one picture (`_Shapes`), and the words are letters that were set before.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from kivy.graphics import Color, InstructionGroup, Mesh, PopMatrix, PushMatrix, Translate
from kivy.graphics.texture import Texture
from kivy.metrics import dp, sp
from numpy.typing import NDArray

from logbook_app.analysis.chart_lines import Frame
from logbook_app.analysis.readout import readout
from logbook_app.analysis.section_of_dive import Section
from logbook_app.screens.theme import TYPE_SP, Theme
from logbook_app.screens.widgets.type_case import SetLines, TypeCase

RING_DP, RING_WIDTH_DP = 6, 1.7
CORNER_DP = 5
PAD_DP = 12
LEADING_DP = 3
FROM_LINE_DP = 14
WIDTH_STEP_DP = 16  # the card keeps its width while its figures change by a letter or two

FloatArray = NDArray[np.float64]
_Box = tuple[float, float, float, float]


class ScrubCard(InstructionGroup):
    """Draws itself for one instant; `words` holds what it says."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self._made_for: Any = None
        self._said: Any = None
        self._size = (0, 0)
        self._parts: tuple[Any, ...] = ()
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
            self._say([*readout(section, time_s), *besides], theme)
        x, y = frame.point(time_s, section.depth_at(time_s))
        corner = self._beside(x, y, frame)
        self._card.xy = corner
        self._shapes.place((round(x), floor, max(1, round(dp(1))), frame.top - floor), (x, y), corner)

    def _hide(self) -> None:
        if self._shown:
            self._shown, self._said, self.words = False, None, []
            self.clear()

    def _make(self, theme: Theme) -> None:
        """Make everything once for a theme and a size of text, and draw it."""
        made_for = theme, sp(TYPE_SP["label"]), dp(1)
        if self._made_for != made_for:
            self._made_for, self._said, self._size = made_for, None, (0, 0)
            self._case, self._shapes, self._card = TypeCase(made_for[1]), _Shapes(), Translate()
            self._lines = SetLines(self._case)
            words = (Color(*theme.ink), PushMatrix(), self._card, self._lines, PopMatrix())
            self._parts = (Color(1, 1, 1, 1), self._shapes, *words)
            self._hide()
        if not self._shown:
            self._shown = True
            for part in self._parts:
                self.add(part)

    def _say(self, words: list[str], theme: Theme) -> None:
        """Set the words of the card, and stretch it to hold them."""
        self.words = words
        pad, step, line_height = dp(PAD_DP), dp(WIDTH_STEP_DP), self._case.height + dp(LEADING_DP)
        least = max(self._lines.compose(words, lead=True)) + 2 * pad
        size = round(-(-least // step) * step), round(len(words) * line_height - dp(LEADING_DP) + 2 * pad)
        if size != self._size:
            self._size = size
            self._shapes.draw(size, theme)
        first = size[1] - pad - self._case.height
        self._lines.place([(pad, first - number * line_height) for number in range(len(words))])

    def _beside(self, x: float, y: float, frame: Frame) -> tuple[int, int]:
        """Return the corner of the card: beside the line, with the ring in sight."""
        width, height = self._size
        left, bottom = _left_of_card(x, width, frame), frame.top - dp(10) - height
        if left < x < left + width and y > bottom - dp(RING_DP):
            bottom = frame.bottom + dp(10)  # a narrow chart: leave the ring in sight
        return round(left), round(bottom)


class _Shapes(InstructionGroup):
    """Line, ring and ground of the card, as parts of one picture that are drawn at once."""

    def __init__(self) -> None:
        super().__init__()
        self._mesh: Any = Mesh(mode="triangles")
        self._mesh.indices = [corner + 4 * box for box in range(3) for corner in (0, 1, 2, 2, 3, 0)]
        self.add(self._mesh)

    def draw(self, size: tuple[int, int], theme: Theme) -> None:
        """Draw the picture for a card of this size: its ground, above it the ring, beside that some ink."""
        self._card = size
        ring = _ring(dp(RING_DP), theme)
        self._ring = ring.shape[0]
        picture = np.zeros((size[1] + self._ring + 1, max(size[0], self._ring + 4), 4))
        picture[: size[1], : size[0]] = _ground(size, dp(CORNER_DP), theme)
        picture[size[1] + 1 :, : self._ring] = ring
        picture[size[1] + 1 :, self._ring + 1 :] = theme.ink
        pixels = np.rint(picture * 255).astype(np.uint8)
        texture = Texture.create(size=(pixels.shape[1], pixels.shape[0]), colorfmt="rgba")
        texture.blit_buffer(pixels.ravel(), colorfmt="rgba", bufferfmt="ubyte")
        self._mesh.texture = texture

    def place(self, line: _Box, middle: tuple[float, float], corner: tuple[int, int]) -> None:
        """Put the line, the ring about a point, and the ground of the card where they belong [px]."""
        (width, height), ring = self._card, self._ring
        texture = self._mesh.texture
        across, up = texture.tex_coords[2] / texture.width, texture.tex_coords[5] / texture.height
        ink = (ring + 2, height + 2, 1, ring - 2)
        around = (middle[0] - ring / 2, middle[1] - ring / 2, ring, ring)
        vertices: list[float] = []
        for place, part in (
            (line, ink),
            (around, (0, height + 1, ring, ring)),
            ((*corner, width, height), (0, 0, width, height)),
        ):
            vertices += _corners(place, part, across, up)
        self._mesh.vertices = vertices


def _corners(place: Sequence[float], part: Sequence[float], across: float, up: float) -> tuple[float, ...]:
    """Return x, y, u, v of the four corners of a place that shows a part of a texture."""
    x, y, width, height = place
    u0, v0, u1, v1 = part[0] * across, part[1] * up, (part[0] + part[2]) * across, (part[1] + part[3]) * up
    left = (x, y, u0, v0, x + width, y, u1, v0)
    return (*left, x + width, y + height, u1, v1, x, y + height, u0, v1)


def _ring(radius: float, theme: Theme) -> FloatArray:
    """Return the pixels of a ring in ink filled with card, two pixels larger than its radius all round."""
    side = round(2 * (radius + 2))
    axis = np.arange(side) + 0.5 - side / 2
    return _edged(np.hypot(axis[None, :], axis[:, None]) - radius, dp(RING_WIDTH_DP), theme)


def _ground(size: tuple[int, int], corner: float, theme: Theme) -> FloatArray:
    """Return the pixels of a card with round corners and an edge in ink."""
    edge = max(1.0, round(dp(1)))
    beyond = [np.abs(np.arange(side) + 0.5 - side / 2) - (side / 2 - corner) for side in size]
    away = np.hypot(np.maximum(beyond[0], 0)[None, :], np.maximum(beyond[1], 0)[:, None])
    inside = np.minimum(np.maximum(beyond[0][None, :], beyond[1][:, None]), 0)
    return _edged(away + inside - corner + edge / 2, edge, theme)


def _edged(away_px: FloatArray, width_px: float, theme: Theme) -> FloatArray:
    """Return pixels of card within a line of ink, by how far each is outside the middle of the line."""
    outer = np.clip(width_px / 2 - away_px + 0.5, 0, 1)[..., None]
    inner = np.clip(-width_px / 2 - away_px + 0.5, 0, 1)[..., None]
    colours = np.array(theme.ink[:3]) * (1 - inner) + np.array(theme.card[:3]) * inner
    return np.concatenate((colours, outer), axis=-1)


def _left_of_card(x: float, width: float, frame: Frame) -> float:
    """Return the left edge of the card: right of the line, else left of it, else wherever it fits."""
    away = dp(FROM_LINE_DP)
    if x + away + width <= frame.right:
        return x + away
    if x - away - width >= frame.left:
        return x - away - width
    return frame.right - width if x < (frame.left + frame.right) / 2 else frame.left

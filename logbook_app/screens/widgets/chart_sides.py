"""What stands still around a chart while the time moves: depths, names and scales of the lanes, the key.

All of it is painted once on a texture of its own, and only the parts of that which hold something are
shown: it is drawn again with every frame of a moving finger.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from kivy.graphics import (
    ClearBuffers,
    ClearColor,
    Color,
    Fbo,
    InstructionGroup,
    Mesh,
    PopMatrix,
    PushMatrix,
    Rectangle,
    Translate,
)
from kivy.graphics.texture import Texture
from kivy.metrics import dp, sp
from numpy.typing import NDArray

from logbook_app.analysis.chart_lanes import Lane
from logbook_app.analysis.chart_layout import Put
from logbook_app.analysis.chart_lines import Frame
from logbook_app.language import _, number
from logbook_app.physics.compartments import ZHL16C
from logbook_app.screens.theme import TYPE_SP, Colour, Theme
from logbook_app.screens.widgets.chart_bands import COMPARTMENTS, LEGEND_SP, Band
from logbook_app.screens.widgets.chart_lanes import pattern_dp, strokes
from logbook_app.screens.widgets.load_map import HATCH_DP, shades
from logbook_app.screens.widgets.ribbon import hatching
from logbook_app.screens.widgets.type_case import Line, SetLines, TypeCase

ASIDE_DP = 8  # between the plot and the figures at its left
SCALE_DP = 5  # between the plot and a scale at its right
SAMPLE_DP = 30  # of a dashed line, before its name
RAMP_DP, RAMP_HEIGHT_DP, HATCHED_DP = 72, 12, 20
CLOSE = 0.85  # of their height: figures may stand this close above one another

Stroke = tuple[float, float, float, float]
"""Left, bottom, width and height [px]."""


class ChartSides(InstructionGroup):
    """Everything around and between the bands."""

    def __init__(self) -> None:
        super().__init__()
        self._size_px = 0.0
        self._fbo: Any = None
        self._shown = Mesh(mode="triangles")
        self._hatch = hatching(round(dp(HATCH_DP)))

    def begin(self, theme: Theme, corner: tuple[float, float], size: tuple[float, float]) -> None:
        """Take everything away, to be put down anew in this theme.

        corner, size   of the chart on the window [px]
        """
        self._theme = theme
        self._corner, self._size = (round(corner[0]), round(corner[1])), (round(size[0]), round(size[1]))
        if self._size_px != sp(TYPE_SP["small"]):
            self._size_px = sp(TYPE_SP["small"])
            self._case = TypeCase(self._size_px)
        self._words: list[Line] = []
        self._strokes: list[Stroke] = []
        self._swatches = InstructionGroup()
        self._boxes: list[Stroke] = []

    def end(self) -> None:
        """Paint what was put down, and show the parts that hold something."""
        lines, strokes = SetLines(self._case), Mesh(mode="triangles")
        lines.compose([words for words, _x, _y in self._words])
        lines.place([(round(x), round(y)) for _words, x, y in self._words])
        strokes.vertices, strokes.indices = _boxes(self._strokes)
        self._lay()
        # The ground has the colour of the words, and none of it: their soft edges then keep their colour.
        ground = (ClearColor(*self._theme.quiet[:3], 0), ClearBuffers(), PushMatrix())
        moved = Translate(-self._corner[0], -self._corner[1])
        words = (Color(*self._theme.quiet), lines, strokes)
        for each in (*ground, moved, self._swatches, *words, PopMatrix()):
            self._fbo.add(each)
        self._shown.vertices, self._shown.indices = _boxes(self._boxes, self._corner, self._size)

    def _lay(self) -> None:
        """Have a texture of the right size, with nothing on it."""
        if self._fbo is None or tuple(self._fbo.size) != self._size:
            self.clear()
            self._fbo = Fbo(size=self._size)
            self._shown.texture = self._fbo.texture
            for each in (self._fbo, Color(1, 1, 1, 1), self._shown):
                self.add(each)
        self._fbo.clear()

    def edges(self, frame: Frame) -> None:
        """Show what stands at the left and at the right of a plot."""
        (x, y), (width, height) = self._corner, self._size
        self._boxes.append((x, y, frame.left - x, height))
        self._boxes.append((frame.right, y, x + width - frame.right, height))

    def depths(self, puts: Sequence[Put]) -> None:
        """Put down the depths at the left of the section."""
        self._words += [(put.words, put.box.left, put.box.bottom) for put in puts]

    def lane(self, lane: Lane, band: Band, frame: Frame) -> None:
        """Put down the name of a lane above it and its scale at its right."""
        self._named(lane, band.top + dp(1), frame.left, frame.right)
        self._boxes.append((frame.left, band.top, frame.width, self._case.height + dp(2)))
        x, high = frame.right + dp(SCALE_DP), self._case.height
        self._strokes += [(x, band.bottom, 1, band.height)]
        ends = [(band.bottom, lane.low_words), (band.top, lane.high_words)]
        if lane.mark is not None:
            y = band.bottom + float(lane.share(lane.mark)) * band.height
            ends.append(
                (y, lane.mark_words if all(abs(y - at) > high or not said for at, said in ends) else "")
            )
        for y, words in ends:
            inward = -1 if y >= band.top else 0
            self._strokes.append((x, y + inward, dp(4), 1))
            lift = {band.bottom: 0.3, band.top: 0.7}.get(y, 0.5)
            self._words.append((words, x + dp(7), y - high * lift))

    def key_of_map(self, band: Band, frame: Frame) -> None:
        """Put down what the rows are, their half-times, and what the colours mean."""
        high, row = self._case.height, band.height / COMPARTMENTS
        title = self._fitting(
            (_("load by compartment, half-time in minutes"), _("load by half-time, min"), _("load")),
            self._corner[0] + self._size[0] - frame.left,
        )
        self._boxes.append((frame.left, band.top, frame.width, high + dp(2)))
        self._boxes.append((frame.left, band.bottom - sp(LEGEND_SP), frame.width, sp(LEGEND_SP)))
        self._words.append((title, frame.left, band.top + dp(1)))
        for place in range(0, COMPARTMENTS, math.ceil(CLOSE * high / row)):
            half_time = number(float(ZHL16C.n2_half_time_min[place]), "g")
            left = frame.left - dp(ASIDE_DP) - self._case.width(half_time)
            self._words.append((half_time, left, band.top - (place + 0.5) * row - high / 2))
        self._key(frame, band.bottom - sp(LEGEND_SP))

    def chosen_row(self, compartment: int, band: Band, frame: Frame) -> None:
        """Put a line over and under the row of the chosen compartment, and a mark at both its ends."""
        row = band.height / COMPARTMENTS
        bottom, thick = band.top - (compartment + 1) * row, max(1.0, round(dp(1.5)))
        self._boxes.append((frame.left, bottom - thick, frame.width, thick))
        self._boxes.append((frame.left, bottom + row, frame.width, thick))
        self._strokes += [
            (frame.left - dp(5), bottom - thick, frame.width + dp(10), thick),
            (frame.left - dp(5), bottom + row, frame.width + dp(10), thick),
            (frame.left - dp(5), bottom, dp(5), row),
            (frame.right, bottom, dp(5), row),
        ]

    def _fitting(self, wordings: Sequence[str], room: float) -> str:
        """Return the first wording that finds room, the last where none does [px]."""
        return next((words for words in wordings if self._case.width(words) <= room), wordings[-1])

    def _key(self, frame: Frame, bottom: float) -> None:
        """Say the scale in words: from none over the limit to what is beyond it."""
        middle, gap = bottom + sp(LEGEND_SP) / 2, dp(6)
        shapes = dp(RAMP_DP + HATCHED_DP) + 5 * gap
        ends = self._case.width(_("none")) + self._case.width(_("limit"))
        room = self._corner[0] + self._size[0] - frame.left - shapes - ends
        beyond = self._fitting((_("beyond it"), _("over")), room)
        # Very large letters on a narrow chart: the key then begins at the chart's own edge.
        x = frame.left if self._case.width(beyond) <= room else self._corner[0]
        low, height = middle - dp(RAMP_HEIGHT_DP) / 2, dp(RAMP_HEIGHT_DP)
        x = self._say(_("none"), x, middle) + gap
        self._ramp = _texture_of(shades(self._theme)[:-1])
        self._swatch((1.0, 1.0, 1.0, 1.0), (x, low, dp(RAMP_DP), height), self._ramp)
        x = self._say(_("limit"), x + dp(RAMP_DP) + gap, middle) + 2 * gap
        hatched = (x, low, dp(HATCHED_DP), height)
        self._swatch(self._theme.blue, hatched)
        self._swatch(self._theme.card, hatched, self._hatch, repeat=True)
        self._say(beyond, x + dp(HATCHED_DP) + gap, middle)

    def _say(self, words: str, x: float, middle: float) -> float:
        """Put words down about a height, and return where they end."""
        self._words.append((words, x, middle - self._case.height / 2))
        return x + self._case.width(words)

    def _swatch(self, colour: Colour, box: Stroke, texture: Any = None, *, repeat: bool = False) -> None:
        x, y, width, height = (round(side) for side in box)
        u, v = (width / texture.width, height / texture.height) if repeat else (1.0, 1.0)
        coords = (0.0, 0.0, u, 0.0, u, v, 0.0, v)
        self._swatches.add(Color(*colour))
        self._swatches.add(Rectangle(texture=texture, tex_coords=coords, pos=(x, y), size=(width, height)))

    def _named(self, lane: Lane, y: float, left: float, right: float) -> None:
        """Put down the name of a lane, and each line's dashes before its name where there are several."""
        names = [line.words for line in lane.lines] if len(lane.lines) > 1 else []
        sample, gap = dp(SAMPLE_DP), dp(12)
        wide = sum(self._case.width(name) + sample + 2 * gap for name in names)
        x = left
        if not names:
            self._words.append((self._fitting((lane.words, lane.short or lane.words), right - x), x, y))
        elif x + self._case.width(lane.words) + gap + wide <= right:
            self._words.append((lane.words, x, y))
            x += self._case.width(lane.words) + gap
        for place, name in enumerate(names):
            if x + sample + dp(5) + self._case.width(name) > right:
                self._words.append(("…", x, y))
                break
            self._strokes += _dashed(x, y + self._case.height / 2, sample, pattern_dp(place))
            self._words.append((name, x + sample + dp(5), y))
            x += sample + dp(5) + self._case.width(name) + gap


def _texture_of(pixels: NDArray[np.uint8]) -> Any:
    """Return a row of pixels as a texture."""
    texture = Texture.create(size=(len(pixels), 1), colorfmt="rgba")
    texture.blit_buffer(pixels.ravel(), colorfmt="rgba", bufferfmt="ubyte")
    return texture


def _dashed(x: float, y: float, length: float, pattern: Sequence[int]) -> list[Stroke]:
    """Return the strokes of a dashed line, whole where there is no pattern."""
    parts = strokes(length, [dp(each) for each in pattern])
    return [(x + at, y, part, dp(1.5)) for at, part in parts]


def _boxes(
    strokes: Sequence[Stroke], corner: tuple[float, float] = (0, 0), size: tuple[float, float] = (1, 1)
) -> tuple[Any, Any]:
    """Return vertices and indices of boxes on whole pixels; each shows its own part of a texture.

    corner, size   where the texture lies and how large it is [px]
    """
    boxes = np.rint(np.array(strokes, dtype=np.float64).reshape(-1, 4))
    vertices = np.zeros((len(boxes), 4, 4), dtype=np.float32)
    vertices[:, (0, 3), 0] = boxes[:, :1]
    vertices[:, (1, 2), 0] = boxes[:, :1] + np.maximum(boxes[:, 2:3], 1)
    vertices[:, :2, 1] = boxes[:, 1:2]
    vertices[:, 2:, 1] = boxes[:, 1:2] + np.maximum(boxes[:, 3:], 1)
    vertices[:, :, 2:] = (vertices[:, :, :2] - corner) / np.array(size)
    corners = np.arange(len(boxes), dtype=np.uint16)[:, None] * 4
    indices = (corners + np.array([0, 1, 2, 2, 3, 0], dtype=np.uint16)).ravel()
    return (vertices.ravel(), indices) if len(boxes) else ([], [])

"""Meshes for charts: a line with soft edges, and an area under or over one.

Kivy's own smooth line cuts corners into spikes and drops points without a word where there are
many. These meshes take the edges of the ink column by column (`chart_lines.ink_of_line`), so they
show what was recorded, at a cost that follows the width of the screen and not the recording.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from kivy.graphics import Color, InstructionGroup, Mesh
from kivy.graphics.texture import Texture
from numpy.typing import NDArray

from logbook_app.analysis.chart_lines import Ink

FloatArray = NDArray[np.float64]

MOST_COLUMNS = 10_000  # a mesh has 16-bit indices, six for each column of a ribbon
_CLEAR, _FULL = 0.25, 0.75  # centres of the two texels that the soft edge runs between


class Ribbon(InstructionGroup):
    """A line of ink. Give it a colour once and new ink whenever the view moves.

    pattern   lengths of ink and gap in turn along x [px]; nothing for a whole line. A gap may hide how
              far a steep line goes, so a line that must show its extremes is whole
    """

    def __init__(self, colour: Sequence[float], pattern: Sequence[int] = ()) -> None:
        super().__init__()
        self._texture = _dashed_edge(pattern) if pattern else _soft_edge()
        self._period = sum(pattern)
        self._colour = Color(*colour)
        self._mesh = Mesh(mode="triangle_strip", texture=self._texture)
        self._columns = 0
        self.add(self._colour)
        self.add(self._mesh)

    def dye(self, colour: Sequence[float]) -> None:
        """Change the colour of the ink."""
        self._colour.rgba = colour

    def show(self, ink: Ink | None) -> None:
        """Draw this ink and no other; None draws nothing."""
        count = 0 if ink is None or len(ink.x) < 2 else len(ink.x)
        if count > MOST_COLUMNS:
            raise ValueError(f"A ribbon of {count} columns is wider than {MOST_COLUMNS}.")
        if count != self._columns:
            self._columns = count
            self._mesh.indices = _buffer(_three_strips(count))
        vertices = np.empty(0) if ink is None or not count else _ribbon_vertices(ink)
        if self._period and vertices.size:
            vertices[:, :, 2] = vertices[:, :, 0] / self._period
        self._mesh.vertices = _buffer(vertices)


class Area(InstructionGroup):
    """What lies between a line and a level: ground below a profile, a ceiling overhead."""

    def __init__(self, colour: Sequence[float], texture: Any = None) -> None:
        super().__init__()
        self._texture = texture
        self._colour = Color(*colour)
        self._mesh = Mesh(mode="triangle_strip", texture=texture)
        self._columns = 0
        self.add(self._colour)
        self.add(self._mesh)

    def dye(self, colour: Sequence[float]) -> None:
        """Change the colour of the area."""
        self._colour.rgba = colour

    def show(self, x: FloatArray, line_y: FloatArray, level_y: float) -> None:
        """Fill from the line x, line_y (n,) to the level [px]; empty arrays fill nothing."""
        if len(x) != self._columns:
            self._columns = len(x)
            self._mesh.indices = _buffer(np.arange(2 * len(x), dtype=np.uint16))
        vertices = np.zeros((len(x), 2, 4), dtype=np.float32)
        vertices[:, :, 0] = x[:, None]
        vertices[:, 0, 1] = line_y
        vertices[:, 1, 1] = level_y
        if self._texture is not None:
            vertices[:, :, 2:] = vertices[:, :, :2] / self._texture.width
        self._mesh.vertices = _buffer(vertices)


def hatching(step_px: int) -> Any:
    """Return a texture of oblique lines that repeats every `step_px`, white on clear."""
    rows = np.arange(step_px)
    distance = (rows[None, :] + rows[:, None]) % step_px
    off_line = np.minimum(distance, step_px - distance) / np.sqrt(2.0)
    alpha = np.clip(max(1.0, step_px / 9) * 0.5 + 0.5 - off_line, 0.0, 1.0)
    return _repeating((step_px, step_px), alpha)


def dashes(dash_px: int) -> Any:
    """Return a texture of dashes and gaps of this length, one above the other, white on clear."""
    return _repeating((1, 2 * dash_px), np.repeat([1.0, 0.0], dash_px)[:, None])


def _repeating(size: tuple[int, int], alpha: FloatArray) -> Any:
    texture = _white(size, alpha)
    texture.wrap = "repeat"
    return texture


def _soft_edge() -> Any:
    return _white((1, 2), np.array([[0.0], [1.0]]))


def _dashed_edge(pattern: Sequence[int]) -> Any:
    """Return a texture with a soft edge upward and dashes along, which repeats along."""
    inked = np.concatenate([np.full(length, place % 2 == 0) for place, length in enumerate(pattern)])
    return _repeating((len(inked), 2), np.stack([np.zeros(len(inked)), inked.astype(np.float64)]))


def _white(size: tuple[int, int], alpha: FloatArray) -> Any:
    """Return a white texture with these alphas, which fills itself again when its context is lost."""
    pixels = np.full((*alpha.shape, 4), 255, dtype=np.uint8)
    pixels[..., 3] = np.rint(alpha * 255)
    data = pixels.tobytes()
    texture = Texture.create(size=size, colorfmt="rgba")

    def fill(lost: Any) -> None:
        lost.blit_buffer(data, colorfmt="rgba", bufferfmt="ubyte")

    fill(texture)
    texture.add_reload_observer(fill)
    return texture


def _buffer(values: NDArray[Any]) -> Any:
    """Return what a mesh takes: a flat array, but an empty list where there is nothing."""
    return values.ravel() if values.size else []


def _three_strips(columns: int) -> NDArray[np.uint16]:
    """Return indices of upper edge, body and lower edge as one strip: four vertices a column."""
    first = np.arange(columns, dtype=np.uint16) * 4
    strips = [np.column_stack((first + edge, first + edge + 1)).ravel() for edge in range(3)]
    joined: list[NDArray[np.uint16]] = []
    for strip in strips:
        if joined and strip.size:
            joined.append(np.array([joined[-1][-1], strip[0]], dtype=np.uint16))
        joined.append(strip)
    return np.concatenate(joined).astype(np.uint16)


def _ribbon_vertices(ink: Ink) -> NDArray[np.float32]:
    """Return x, y, u, v of the outer and inner side of both edges of each column."""
    thick = (ink.upper - ink.lower) / 2
    vertices = np.zeros((len(ink.x), 4, 4), dtype=np.float32)
    vertices[:, :, 0] = ink.x[:, None]
    vertices[:, :, 3] = (_CLEAR, _FULL, _FULL, _CLEAR)
    for edge, sign, outer, inner in ((ink.upper, 1, 0, 1), (ink.lower, -1, 3, 2)):
        soft = np.minimum(_softness_px(edge), thick)
        vertices[:, outer, 1] = edge + sign * soft
        vertices[:, inner, 1] = edge - sign * soft
    return vertices


def _softness_px(edge: FloatArray) -> FloatArray:
    """Return half the height of the soft rim: one pixel across the edge, whatever its slope.

    The gentler of the slopes to both neighbours counts: at the tip of a spike the steeper one would
    let the rim fade far beyond the tip, to depths where nobody was.
    """
    steps = np.abs(np.diff(edge))
    gentler = np.minimum(np.append(steps, steps[-1]), np.insert(steps, 0, steps[0]))
    return np.asarray(0.5 * np.hypot(1.0, gentler))


if __name__ == "__main__":
    from kivy.uix.widget import Widget

    from logbook_app.analysis.chart_lines import ink_of_line
    from logbook_app.screens.theme import DAY
    from logbook_app.screens.widgets.alone import show_alone

    def wave() -> Widget:
        widget, ribbon, x = Widget(), Ribbon(DAY.ink), np.linspace(40.0, 700.0, 5000)
        ribbon.show(ink_of_line(x, 300 + 150 * np.sin(x / 30) ** 3, 1.1))
        widget.canvas.add(ribbon)
        return widget

    show_alone(wave)

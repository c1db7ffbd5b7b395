"""The chart as a sheet of paper that is wider than what is shown of it.

Drawing a chart takes longer than a frame of a moving finger allows. So it is painted once, on a
texture that reaches beyond both sides of the view; while the view moves along, only other columns
of the same texture are shown. The view moves by whole pixels, so what is shown is what was
painted, to the pixel. A new sheet is painted when the view leaves this one, when the time is
stretched, and when the view has come to rest: then the words are chosen anew, so that none is cut.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from kivy.graphics import ClearBuffers, ClearColor, Color, Fbo, InstructionGroup, Mesh

from logbook_app.analysis.chart_lines import Frame
from logbook_app.screens.theme import Colour

WIDEST_PX = 4096  # what the weakest graphics processors in use can hold
VIEWS_WIDE = 3
_THREE_BOXES = [corner + 4 * box for box in range(3) for corner in (0, 1, 2, 2, 3, 0)]
SAME = 1e-6  # share by which two scales may differ and be the same


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """Where the painted part of the dive lies on the sheet; everything in pixels of the sheet.

    frame   the plot with all that is painted
    view    the plot as it was to be shown when it was painted
    """

    frame: Frame
    view: Frame

    @property
    def s_per_px(self) -> float:
        """How long a column is [s]."""
        return (self.frame.to_s - self.frame.from_s) / self.frame.width

    @property
    def before(self) -> int:
        """Columns before the view that it was painted for."""
        return round(self.view.left - self.frame.left)

    def is_of_length(self, length_s: float) -> bool:
        """Return whether a view of this length has the columns of this sheet."""
        wanted_s = self.view.to_s - self.view.from_s
        return abs(length_s - wanted_s) <= SAME * wanted_s

    def is_settled(self, from_s: float, to_s: float) -> bool:
        """Return whether the words are those of this view, and there is room to move at both sides."""
        reaches = self.frame.width > self.view.width or self.frame.from_s <= 0
        return reaches and self.columns_to(from_s, to_s) == self.before

    def columns_to(self, from_s: float, to_s: float) -> int | None:
        """Return how many columns lie before a view, None where the sheet does not have it."""
        if not self.is_of_length(to_s - from_s):
            return None
        columns = round((from_s - self.frame.from_s) / self.s_per_px)
        return columns if 0 <= columns <= self.frame.width - self.view.width else None


def sheet_plan(view: Frame, whole_s: float, margin_px: int, reach_px: float) -> SheetPlan:
    """Return the plan of a sheet around a view, as far as the dive goes.

    view       the plot as it is to be shown, counted from the widget's lower left corner
    whole_s    length of the whole dive's view [s]
    margin_px  left free at both sides, for figures that stand on the edge
    reach_px   how far it goes beyond the view on both sides
    """
    s_per_px = (view.to_s - view.from_s) / view.width
    before = min(int(reach_px), int(view.from_s / s_per_px))
    after = min(int(reach_px), max(0, int((whole_s - view.to_s) / s_per_px)))
    painted = replace(
        view,
        left=margin_px,
        width=before + view.width + after,
        from_s=view.from_s - before * s_per_px,
        to_s=view.to_s + after * s_per_px,
    )
    return SheetPlan(painted, replace(view, left=margin_px + before))


def widest_sheet_px(view: Frame, margin_px: int) -> float:
    """Return how wide the painted part of a sheet may be, at least as wide as the view [px]."""
    return max(view.width, min(VIEWS_WIDE * view.width, WIDEST_PX - 2 * margin_px))


class ChartSheet(InstructionGroup):
    """Shows part of what its painters painted.

    painters   instruction groups that draw on the sheet, the first one at the bottom
    """

    def __init__(self, painters: Sequence[InstructionGroup]) -> None:
        super().__init__()
        self._painters = painters
        self._fbo: Any = None
        self._shown = Mesh(mode="triangles", indices=_THREE_BOXES)
        self._bands: tuple[float, float] = 0, 0
        self._corner: tuple[float, float] = 0, 0
        self._width = 0.0

    def lay(self, size: tuple[int, int], ground: Colour) -> None:
        """Have a sheet of this size and colour for the painters [px]; what was on the last one goes."""
        if self._fbo is None or tuple(self._fbo.size) != size:
            self.clear()
            self._fbo = Fbo(size=size)
            self._shown.texture = self._fbo.texture
            for instruction in (self._fbo, Color(1, 1, 1, 1), self._shown):
                self.add(instruction)
        self._fbo.clear()
        for instruction in (ClearColor(*ground), ClearBuffers(), *self._painters):
            self._fbo.add(instruction)

    def place(self, corner: tuple[float, float], width: float, axis: tuple[float, float]) -> None:
        """Say where on the window the sheet is shown.

        corner   lower left of what is shown, over the sheet's whole height [px]
        width    of what is shown [px]
        axis     lowest and highest row of the sheet in which figures may reach over both edges [px]
        """
        self._corner, self._width, self._bands = corner, width, axis

    def show(self, first: float, overhang: tuple[float, float] = (0, 0)) -> None:
        """Show the columns from `first` on; the band of the axis that much further left and right [px]."""
        (low, high), (left, right), top = self._bands, overhang, self._fbo.size[1]
        boxes = (
            (0.0, self._width, 0, low),
            (-left, self._width + right, low, high),
            (0.0, self._width, high, top),
        )
        coords = self._fbo.texture.tex_coords
        across, up = coords[2] / self._fbo.size[0], coords[5] / top
        x, y = self._corner
        vertices: list[float] = []
        for start, end, bottom, upper in boxes:
            u0, u1, v0, v1 = (first + start) * across, (first + end) * across, bottom * up, upper * up
            vertices += (x + start, y + bottom, u0, v0, x + end, y + bottom, u1, v0)
            vertices += (x + end, y + upper, u1, v1, x + start, y + upper, u0, v1)
        self._shown.vertices = vertices


def whole_figures(
    boxes: Sequence[tuple[float, float]], first: float, last: float, margins: tuple[float, float]
) -> tuple[float, float]:
    """Return how far the band of the axis must reach over both edges so that no figure is cut [px].

    boxes         left and right of every figure on the sheet, in order [px]
    first, last   the columns of the plot that are shown [px]
    margins       free at the left and the right of the plot; a figure that needs more is not shown [px]

    >>> whole_figures([(80, 120), (180, 220)], 100, 200, (25, 25))
    (20, 20)
    >>> whole_figures([(80, 120), (180, 220)], 110, 210, (25, 5))
    (-10, -30)
    """
    start, end = first, last
    for left, right in boxes:
        if left < first < right:
            start = left if left >= first - margins[0] else right
        if left < last < right:
            end = right if right <= last + margins[1] else left
    return first - start, end - last

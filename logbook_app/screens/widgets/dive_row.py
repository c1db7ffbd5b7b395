"""One dive in the list, drawn on a canvas: no children, no kv, nothing kept between dives.

A row is painted from its `RowWords` when it scrolls into view and painted over for the next dive.
What a row shows that belongs to a dive (that it is in the bin, that it is chosen) lies in the words,
never in the row. The heading of a group is a row as well, so that all are equally high.
`python -m logbook_app.screens.widgets.dive_list` shows invented ones.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from kivy.graphics import Color, Mesh, PopMatrix, PushMatrix, Rectangle, Translate
from kivy.graphics.instructions import InstructionGroup
from kivy.metrics import dp, sp
from kivy.uix.recycleview.views import RecycleDataViewBehavior
from kivy.uix.widget import Widget

from logbook_app.screens.icons import ICONS
from logbook_app.screens.logbook_lines import ON, PART, RowWords
from logbook_app.screens.theme import GAP_DP, ROW_DP, TYPE_SP, Theme

PICTURE_WIDTH_DP = {True: 56, False: 92}
EDGE_DP = {True: 12, False: 28}
PRESSED_ALPHA = 0.09
MARK_DP = 24
SIGNS = {ON: "check", PART: "minus"}
MOVED_DP = 12  # further than this and it was no tap


def row_height_px() -> float:
    """Return the height of a row for the text size as it is now [px]."""
    lines = sp(TYPE_SP["body"]) + sp(TYPE_SP["label"])
    return float(max(dp(ROW_DP + GAP_DP), lines * 1.35 + dp(26)))


class DiveRow(RecycleDataViewBehavior, Widget):
    """A row of the list; `recycleview` must have `look`, `texts` and `choose(chosen)`."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.size_hint = (1, None)
        self._words: RowWords | None = None
        self._list: Any = None
        self._picture, self._behind = _Picture(), InstructionGroup()
        self._pressed, self._ground = Color(), Rectangle()
        self._dyed_in: Theme | None = None
        self._mark: _Mark | None = None  # most rows are never chosen
        with self.canvas:
            PushMatrix()
            # Places of 10,000 rows exceed what single-precision vertices hold; matrices are double.
            self._place = Translate(0, 0)
            self.canvas.add(self._behind)
            self._rule_colour, self._rule = Color(), Rectangle()
            self.canvas.add(self._picture)
            self._ink, self._site, self._depth = Color(), Rectangle(), Rectangle()
            self._quiet, self._line, self._time = Color(), Rectangle(), Rectangle()
            PopMatrix()

    @property
    def words(self) -> RowWords | None:
        """What the row says now."""
        return self._words

    def refresh_view_attrs(self, recycleview: Any, _index: int, data: RowWords) -> None:
        """Paint the row for a dive."""
        self._words, self._list = data, recycleview
        self._paint(data, recycleview.look.theme, recycleview.width, row_height_px())

    def refresh_view_layout(
        self, _recycleview: Any, _index: int, layout: dict[str, Any], _viewport: Any
    ) -> None:
        """Move the row to its place: the least that Kivy needs for touches."""
        self.size = layout["size"]
        self.pos = self._place.xy = layout["pos"]

    @property
    def can_be_pressed(self) -> bool:
        """False for a heading that chooses nothing."""
        return self._words is not None and (not self._words.heading or bool(self._words.mark))

    def trigger_action(self, _duration: float = 0.1) -> None:
        """Choose the dive, as a key of the keyboard does."""
        if self._words is not None and self._list is not None:
            self._list.choose(self._words.chosen)

    def on_touch_down(self, touch: Any) -> bool:
        """Take a finger on the row, but not on the seam between two rows."""
        seam = dp(GAP_DP) / 2
        inside = self.collide_point(*touch.pos) and self.y + seam <= touch.y <= self.top - seam
        if not inside or touch.is_mouse_scrolling or not self.can_be_pressed:
            return False
        touch.grab(self)
        self._press(True)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """Choose the dive where the finger comes up about where it went down."""
        if touch.grab_current is not self:
            return False
        touch.ungrab(self)
        self._press(False)
        moved = abs(touch.x - touch.ox) + abs(touch.y - touch.oy) > dp(MOVED_DP)
        if not moved:
            self.trigger_action()
        return True

    def _press(self, down: bool) -> None:
        """Shade the row while a finger is on it, and a heading always; else there is nothing to fill."""
        theme = self._list.look.theme
        heading = self._words is not None and self._words.heading
        self._behind.clear()  # what is not there costs no frame anything
        if down or heading:
            self._pressed.rgba = (*theme.ink[:3], PRESSED_ALPHA) if down else theme.rail
            self._ground.size = (self._list.width, row_height_px())
            self._behind.add(self._pressed)
            self._behind.add(self._ground)

    def _paint(self, words: RowWords, theme: Theme, width: float, height: float) -> None:
        narrow = self._list.look.narrow
        edge, picture_width = dp(EDGE_DP[narrow]), dp(PICTURE_WIDTH_DP[narrow])
        if theme is not self._dyed_in:
            self._dyed_in, self._rule_colour.rgba = theme, theme.hairline
            self._ink.rgba, self._quiet.rgba = theme.ink, theme.quiet
            self._picture.dye(theme)
        self._press(False)
        self._rule.pos, self._rule.size = (edge, 0), (width - 2 * edge, max(1, round(dp(1))))
        picture_height = min(dp(44), height - dp(20))
        left, right = edge + self._paint_mark(words, theme, edge, height), width - edge
        self._picture.show(
            words.outline, (left, (height - picture_height) / 2), (picture_width, picture_height)
        )
        left += picture_width + dp(14) if words.outline else 0
        self._paint_right(words, right, height)
        text_right = right - max(self._depth.size[0], self._time.size[0]) - dp(12)
        self._paint_left(words, left, text_right - left, height)

    def _paint_mark(self, words: RowWords, theme: Theme, left: float, height: float) -> float:
        """Draw the box of a row that can be chosen; return how much room it takes [px]."""
        if self._mark is None and words.mark:
            self._mark = _Mark()
            self.canvas.insert(self.canvas.indexof(self._picture), self._mark)
        if self._mark is not None:
            self._mark.show(words.mark, theme, self._list.texts, left, height)
        return dp(MARK_DP + 14) if words.mark else 0

    def _paint_left(self, words: RowWords, left: float, room: float, height: float) -> None:
        """Put site and line one above the other, in the middle of the row."""
        texts = self._list.texts
        _show(self._site, texts.texture(words.site, sp(TYPE_SP["body"]), bold=True, widest_px=room), left)
        _show(self._line, texts.texture(words.line, sp(TYPE_SP["label"]), widest_px=room), left)
        _stack(self._site, self._line, height)

    def _paint_right(self, words: RowWords, right: float, height: float) -> None:
        """Put depth and time under one another against the right edge."""
        texts = self._list.texts
        upper = texts.texture(words.action or words.depth, sp(TYPE_SP["body"]), bold=True)
        lower = texts.texture(words.time, sp(TYPE_SP["label"]))
        _show(self._depth, upper, right - upper.width)
        _show(self._time, lower, right - lower.width)
        _stack(self._depth, self._time, height)


class _Mark(InstructionGroup):
    """A box: hollow, ticked, or with a stroke where it holds for some of what it stands for."""

    def __init__(self) -> None:
        super().__init__()
        self._edge_colour, self._edge = Color(), Rectangle()
        self._ground_colour, self._ground = Color(), Rectangle()
        self._sign_colour, self._sign = Color(), Rectangle()
        for part in (self._edge_colour, self._edge, self._ground_colour, self._ground):
            self.add(part)
        self.add(self._sign_colour)
        self.add(self._sign)

    def show(self, mark: str, theme: Theme, texts: Any, left: float, height: float) -> None:
        """Draw the box in the middle of the row's height, or nothing."""
        side, rim = (dp(MARK_DP) if mark else 0), dp(2)
        bottom = (height - side) / 2
        self._edge_colour.rgba = self._sign_colour.rgba = theme.ink
        self._ground_colour.rgba = theme.ink if mark == ON else theme.card
        self._edge.pos, self._edge.size = (left, bottom), (side, side)
        inside = max(0, side - 2 * rim)
        self._ground.pos, self._ground.size = (left + rim, bottom + rim), (inside, inside)
        if mark not in SIGNS:
            self._sign.size = (0, 0)
            return
        self._sign_colour.rgba = theme.on_ink if mark == ON else theme.ink
        sign = texts.texture(ICONS[SIGNS[mark]], dp(MARK_DP - 4), font="icons")
        self._sign.texture, self._sign.size = sign, sign.size
        self._sign.pos = left + (side - sign.width) / 2, bottom + (side - sign.height) / 2


class _Picture(InstructionGroup):
    """The small picture of a dive: water over a line, in one mesh each."""

    def __init__(self) -> None:
        super().__init__()
        self._columns = 0
        self._water_colour, self._water = Color(), Mesh(mode="triangle_strip")
        self._line_colour, self._line = Color(), Mesh(mode="line_strip")
        for part in (self._water_colour, self._water, self._line_colour, self._line):
            self.add(part)

    def dye(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self._water_colour.rgba, self._line_colour.rgba = theme.water[2], theme.blue

    def show(self, outline: bytes, pos: tuple[float, float], size: tuple[float, float]) -> None:
        """Draw an outline into a box [px], from the surface and back to it."""
        outline = b"\0" + outline + b"\0" if outline else b""
        count = len(outline)
        if count != self._columns:
            self._columns = count
            self._water.indices = np.arange(2 * count, dtype=np.uint16) if count else []
            self._line.indices = np.arange(count, dtype=np.uint16) if count else []
        if not count:
            return
        vertices = np.zeros((count, 2, 4), dtype=np.float32)
        vertices[:, :, 0] = (pos[0] + np.linspace(0, size[0], count))[:, None]
        vertices[:, 0, 1] = pos[1] + size[1]
        vertices[:, 1, 1] = pos[1] + size[1] * (1 - np.frombuffer(outline, np.uint8) / 255)
        self._water.vertices = vertices.ravel()
        self._line.vertices = vertices[:, 1].ravel()


def _show(rectangle: Any, texture: Any, x: float) -> None:
    rectangle.texture, rectangle.size = texture, texture.size
    rectangle.pos = (round(x), rectangle.pos[1])


def _stack(upper: Any, lower: Any, height: float) -> None:
    """Set two texts one above the other, as a pair in the middle of the row."""
    leading = dp(2)
    bottom = (height - upper.size[1] - lower.size[1] - leading) / 2
    lower.pos = (lower.pos[0], round(bottom))
    upper.pos = (upper.pos[0], round(bottom + lower.size[1] + leading))

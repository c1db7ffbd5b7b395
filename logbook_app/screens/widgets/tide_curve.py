"""Draws the load falling from the last surfacing toward clear, with its marks, and a line to be dragged.

What is drawn comes from `screens.tide_lines`; this widget only puts it where there is room. A finger that
moves along the curve looks ahead; one that moves up or down lets go, so that the page can scroll.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

DRAGS_FROM_DP = 8


class TideCurve(Widget):
    """The tide curve of the load. Give it a size and `lines`.

    Events: `on_look(minutes)` where a finger drags or taps, in minutes since surfacing; `on_let_go(touch)`
    where it goes up or down instead.
    """

    __events__ = ("on_look", "on_let_go")

    lines = ObjectProperty(None, allownone=True)
    """The TideLines to draw."""

    at_min = NumericProperty(None, allownone=True)
    """Where the handle stands, in minutes since surfacing; None is now."""

    at_words = StringProperty("")
    """What it stands at, empty for now."""

    test_id = StringProperty("tide-curve")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        self._drawing: Any = None
        self._handle: Any = None
        super().__init__(**kwargs)
        # In the next frame: while a page is laid out, a place holds for a moment only.
        self._draw = Clock.create_trigger(self._draw_now)
        self._move = Clock.create_trigger(self._move_handle, -1)
        self._look = App.get_running_app().look
        for name in ("lines", "pos", "size"):
            self.fbind(name, self._draw)
        for name in ("at_min", "at_words"):
            self.fbind(name, self._move)
        self._look.tell(self, lambda curve: curve._draw(), "theme", "text_scale")

    @property
    def drawing(self) -> Any:
        """The `TideDrawing` on the screen, None where there is none."""
        return self._drawing

    def on_look(self, _minutes: float) -> None:
        """A finger stands at an instant."""

    def on_let_go(self, _touch: Any) -> None:
        """A finger moved up or down: the page may scroll with it."""

    def on_touch_down(self, touch: Any) -> bool:
        """Take a finger on the curve; nothing moves before the finger does."""
        if touch.is_mouse_scrolling or self._drawing is None or not self.collide_point(*touch.pos):
            return bool(super().on_touch_down(touch))
        touch.grab(self)
        touch.ud[self] = touch.pos
        return True

    def on_touch_move(self, touch: Any) -> bool:
        """Look where the finger is, once it moves along the curve."""
        if touch.grab_current is not self:
            return bool(super().on_touch_move(touch))
        if touch.ud[self] is not None:
            self._begin(touch)
        if touch.ud[self] is None:
            self._look_at(touch)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """A finger that did not move looks where it is."""
        if touch.grab_current is not self:
            return bool(super().on_touch_up(touch))
        touch.ungrab(self)
        self._look_at(touch)
        return True

    def _begin(self, touch: Any) -> None:
        """Drag from here on, or let go, once it is known which."""
        start_x, start_y = touch.ud[self]
        along, across = abs(touch.x - start_x), abs(touch.y - start_y)
        if max(along, across) <= dp(DRAGS_FROM_DP):
            return
        if across > along:
            touch.ungrab(self)
            self.dispatch("on_let_go", touch)
        else:
            touch.ud[self] = None

    def _look_at(self, touch: Any) -> None:
        if self._drawing is not None:
            self.dispatch("on_look", self._drawing.minutes(touch.x))

    def _draw_now(self, *_args: Any) -> None:
        self.clear_widgets()
        self.canvas.clear()
        self.canvas.after.clear()
        self._drawing = self._handle = None
        if self.lines is None or self.width < dp(100) or self.height < dp(80):
            return
        # With numpy behind it, the drawing is imported when there is something to draw and not before.
        from logbook_app.screens.widgets.tide_drawing import draw_tide
        from logbook_app.screens.widgets.tide_handle import TideHandle

        room = self.at_min is not None
        self._drawing = draw_tide(self, self.lines, self._look.theme, room_for_handle=room)
        self._handle = TideHandle(self)
        self._move_handle()

    def _move_handle(self, *_args: Any) -> None:
        """Move the handle; where it has no row for its words yet, or needs none any more, draw anew."""
        if self._drawing is None:
            return
        if self._drawing.room_for_handle != (self.at_min is not None):
            self._draw()
            return
        minutes = self.lines.marks[0].minutes if self.at_min is None else self.at_min
        self._handle.show(
            self._drawing, minutes, self.at_words if self.at_min is not None else "", self._look.theme
        )


def _alone() -> TideCurve:
    """Return a curve to look at by itself: a diver two hours up, half of the load gone each hour."""
    from logbook_app.screens.tide_lines import Mark, TideLines

    minutes = tuple(float(minute) for minute in range(0, 24 * 60, 10))
    marks = (
        Mark(135, "now 14:07", "17 % of the limit", look_here=True),
        Mark(720, "fly from 23:52", "12 h after one dive (guideline)"),
        Mark(780, "clear Sun 15 Nov 00:52", "all at or under 5 %"),
    )
    load = tuple(0.64 * 0.5 ** (minute / 60) for minute in minutes)
    surfaced = datetime.fromisoformat("2026-11-14T11:52:00+01:00")
    return TideCurve(lines=TideLines(minutes, load, surfaced, 0.75, (0.0, 0.25, 0.5, 0.75), marks))


if __name__ == "__main__":
    from logbook_app.screens.widgets.alone import show_alone

    show_alone(_alone)

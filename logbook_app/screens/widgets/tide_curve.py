"""Draws the load falling from the last surfacing toward clear, with its marks.

What is drawn comes from `screens.tide_lines`; this widget only puts it where there is room.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.widget import Widget


class TideCurve(Widget):
    """The tide curve of the load. Give it a size and `lines`."""

    lines = ObjectProperty(None, allownone=True)
    """The TideLines to draw."""

    test_id = StringProperty("tide-curve")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        # In the next frame: while a page is laid out, a place holds for a moment only.
        self._draw = Clock.create_trigger(self._draw_now)
        self._look = App.get_running_app().look
        for name in ("lines", "pos", "size"):
            self.fbind(name, self._draw)
        self._look.bind(theme=self._draw, text_scale=self._draw)

    def _draw_now(self, *_args: Any) -> None:
        self.clear_widgets()
        self.canvas.clear()
        if self.lines is None or self.width < dp(100) or self.height < dp(80):
            return
        # With numpy behind it, the drawing is imported when there is something to draw and not before.
        from logbook_app.screens.widgets.tide_drawing import draw_tide

        draw_tide(self, self.lines, self._look.theme)


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

"""Draws the load falling from the last surfacing toward clear, with its marks.

What is drawn comes from `screens.tide_lines`; this widget only puts it where there is room.
"""

from __future__ import annotations

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
        self._draw = Clock.create_trigger(self._draw_now, -1)
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

"""A straight track of hours that a finger moves along: from now to a later instant."""

from __future__ import annotations

from typing import Any

from kivy.properties import NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from logbook_app.screens.kv_files import KvBeside

HOURS = 36  # every morning of tomorrow lies on it


class TrackLine(Widget):
    """The line with its knob."""

    hours = NumericProperty(0.0)
    """Where the knob stands."""


class TimeTrack(KvBeside, BoxLayout):
    """Event: `on_move(hours)` while a finger moves along. Whoever listens sets `hours`."""

    __events__ = ("on_move",)

    hours = NumericProperty(0.0)
    """How far ahead of now the knob stands."""

    test_id = StringProperty("time-track")
    """How tests find it."""

    def on_touch_down(self, touch: Any) -> bool:
        """Take the finger."""
        if touch.is_mouse_scrolling or not self.collide_point(*touch.pos):
            return bool(super().on_touch_down(touch))
        touch.grab(self)
        self._follow(touch)
        return True

    def on_touch_move(self, touch: Any) -> bool:
        """Follow the finger."""
        if touch.grab_current is not self:
            return bool(super().on_touch_move(touch))
        self._follow(touch)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """Let the finger go."""
        if touch.grab_current is not self:
            return bool(super().on_touch_up(touch))
        touch.ungrab(self)
        return True

    def on_move(self, hours: float) -> None:
        """The finger stands at so many hours from now."""

    def _follow(self, touch: Any) -> None:
        line = self.ids.line
        share = (touch.x - line.x) / max(1.0, line.width)
        self.dispatch("on_move", HOURS * min(max(share, 0.0), 1.0))

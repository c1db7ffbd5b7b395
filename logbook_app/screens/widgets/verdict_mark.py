"""What can be said of a requirement, as a shape: words always stand beside it.

Filled is met, hollow is not met, and an outline with gaps is for a person to confirm.
"""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import StringProperty
from kivy.uix.widget import Widget

from logbook_app.analysis.experience import Verdict

_GAP = 0.4  # of a side, in its middle


class VerdictMark(Widget):
    """A square that says how a requirement stands."""

    verdict = StringProperty(Verdict.NOT_MET.value)
    """A `Verdict`."""

    def __init__(self, **kwargs: Any) -> None:
        self._draw_soon = Clock.create_trigger(lambda _dt: self._draw(), -1)
        super().__init__(size_hint=(None, None), size=(dp(22), dp(22)), **kwargs)
        for name in ("pos", "size", "verdict"):
            self.fbind(name, self._draw_soon)
        App.get_running_app().look.fbind("theme", self._draw_soon)
        self._draw_soon()

    def _draw(self) -> None:
        around = dp(4)
        x, y, side = self.x + around, self.y + around, self.width - 2 * around
        self.canvas.clear()
        with self.canvas:
            Color(*App.get_running_app().look.theme.ink)
            if self.verdict == Verdict.MET:
                Rectangle(pos=(x, y), size=(side, side))
            elif self.verdict == Verdict.NOT_MET:
                Line(rectangle=(x, y, side, side), width=dp(1.2))
            else:
                self._corners(x, y, side)

    @staticmethod
    def _corners(x: float, y: float, side: float) -> None:
        arm = side * (1 - _GAP) / 2
        for left, up in ((0, 0), (0, 1), (1, 0), (1, 1)):
            at_x, at_y = x + left * side, y + up * side
            to_x, to_y = at_x + (arm if not left else -arm), at_y + (arm if not up else -arm)
            Line(points=(to_x, at_y, at_x, at_y, at_x, to_y), width=dp(1.2))

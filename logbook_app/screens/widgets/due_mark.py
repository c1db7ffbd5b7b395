"""How urgent something is, as a shape: words always stand beside it.

Filled is overdue, half filled is due soon, hollow is later, and an outline with gaps is what nobody
noted down.
"""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.graphics import Color, SmoothEllipse, SmoothLine
from kivy.metrics import dp
from kivy.properties import NumericProperty
from kivy.uix.widget import Widget

from logbook_app.analysis.kit_due import Urgency

_DASHES = 6


class DueMark(Widget):
    """A circle that says how urgent something is."""

    urgency = NumericProperty(int(Urgency.LATER))
    """An `Urgency`; below zero where nothing is ever due, and nothing is drawn."""

    def __init__(self, **kwargs: Any) -> None:
        self._draw_soon = Clock.create_trigger(lambda _dt: self._draw(), -1)
        super().__init__(size_hint=(None, None), size=(dp(22), dp(22)), **kwargs)
        for name in ("pos", "size", "urgency"):
            self.fbind(name, self._draw_soon)
        App.get_running_app().look.tell(self, lambda mark: mark._draw_soon(), "theme")
        self._draw_soon()

    def _draw(self) -> None:
        theme, around = App.get_running_app().look.theme, dp(3)
        overdue = self.urgency == Urgency.OVERDUE
        x, y, side = self.x + around, self.y + around, self.width - 2 * around
        self.canvas.clear()
        if self.urgency < 0:
            return
        with self.canvas:
            Color(*(theme.accent if overdue else theme.ink))
            if overdue:
                SmoothEllipse(pos=(x, y), size=(side, side))
            if self.urgency == Urgency.SOON:  # the lower half
                SmoothEllipse(pos=(x, y), size=(side, side), angle_start=90, angle_end=270)
            if self.urgency == Urgency.NOT_KNOWN:
                self._dashes(x + side / 2, y + side / 2, side / 2)
            else:
                SmoothLine(circle=(x + side / 2, y + side / 2, side / 2), width=dp(1.3))

    @staticmethod
    def _dashes(x: float, y: float, radius: float) -> None:
        turn = 360 / _DASHES
        for dash in range(_DASHES):
            SmoothLine(circle=(x, y, radius, dash * turn, dash * turn + turn * 0.55), width=dp(1.3))

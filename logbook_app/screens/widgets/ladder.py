"""Draws the sixteen compartments as thin bars on one scale, from clear to the surfacing limit."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp, sp
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.label import Label
from kivy.uix.widget import Widget

RUNG_SP, LOW_RUNG_SP = 15.0, 13.5
SCALE_SP = 20.0
TICK = "at surfacing"
OVER_LIMIT = 1.08  # how far beyond the limit the scale reaches; more is drawn at its end


class Ladder(Widget):
    """One bar a compartment with a tick where it was at surfacing. It sets its own height."""

    rungs = ObjectProperty(())
    """The Rungs of `screens.surface_lines`."""

    low = BooleanProperty(False)
    """True where the rungs stand closer, in a low window."""

    test_id = StringProperty("ladder")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        # In the next frame: while a page is laid out, a place holds for a moment only.
        self._draw = Clock.create_trigger(self._draw_now)
        self._look = App.get_running_app().look
        self._foot = 0.0
        for name in ("rungs", "low", "pos", "size"):
            self.fbind(name, self._draw)
        self._look.bind(theme=self._draw, text_scale=self._draw)

    def _draw_now(self, *_args: Any) -> None:
        self.clear_widgets()
        self.canvas.clear()
        rung_height = sp(LOW_RUNG_SP if self.low else RUNG_SP)
        words = [self._label(text) for text in ("clear", TICK, "surfacing limit")]
        self._foot = sp(SCALE_SP) * (1 if self._in_one_line(words) else 2)
        self.height = rung_height * len(self.rungs) + self._foot
        rungs = [(rung, self.top - rung_height * (index + 0.5)) for index, rung in enumerate(self.rungs)]
        with self.canvas:
            for rung, y in rungs:
                self._bar(rung, y)
            Color(*self._look.theme.ink)
            for load in (0, 1):
                Line(points=[self._x(load), self.y + self._foot, self._x(load), self.top])
        # A label made inside the block above would be drawn there as well, and stay.
        for rung, y in rungs:
            self._put(self._label(rung.half_time), y, right=self._x(0) - dp(8))
        if self.rungs:
            self._explain(*words)

    def _explain(self, clear: Label, tick: Label, limit: Label) -> None:
        """Say what the ends of the scale are, and what a tick is."""
        line = self.y + self._foot - sp(SCALE_SP) / 2
        self._put(clear, line, left=self._x(0))
        self._put(limit, line, right=self._x(1))
        below = self.y + sp(SCALE_SP) / 2
        left = (self._x(0) + clear.width + self._x(1) - limit.width - tick.width) / 2 + dp(3)
        self._put(tick, below, left=left if below == line else self._x(0) + dp(10))
        with self.canvas:
            Color(*self._look.theme.ink)
            Line(points=[tick.x - dp(6), below - sp(5), tick.x - dp(6), below + sp(5)], width=dp(1.0))

    def _in_one_line(self, words: list[Label]) -> bool:
        return sum(label.width + dp(16) for label in words) <= self._x(1) - self._x(0)

    def _x(self, load: float) -> float:
        left, right = self.x + sp(44), self.right - sp(8)
        return float(left + (right - left) * max(0.0, min(load, OVER_LIMIT)) / OVER_LIMIT)

    def _bar(self, rung: Any, y: float) -> None:
        theme, half = self._look.theme, sp(3.5)
        Color(*theme.hairline)
        Line(points=[self._x(0), y, self._x(1), y])
        Color(*theme.blue)
        Rectangle(pos=(self._x(0), y - half), size=(self._x(rung.load) - self._x(0), 2 * half))
        Color(*theme.ink)
        at = self._x(rung.at_surfacing)
        Line(points=[at, y - sp(5), at, y + sp(5)], width=dp(1.0))

    def _label(self, words: str) -> Label:
        size = sp(11 if self.low else 12)
        label = Label(text=words, font_size=size, color=self._look.theme.quiet, size_hint=(None, None))
        label.texture_update()
        label.size = label.texture_size
        return label

    def _put(self, label: Label, middle: float, *, left: float = 0, right: float = 0) -> None:
        label.x = left or right - label.width
        label.center_y = middle
        self.add_widget(label)


def _alone() -> Ladder:
    """Return a ladder to look at by itself: the slow compartments have kept more."""
    from logbook_app.screens.surface_lines import Rung

    half_times_min = (5, 8, 12.5, 18.5, 27, 38.3, 54.3, 77, 109, 146, 187, 239, 305, 390, 498, 635)
    rungs = tuple(
        Rung(f"{half:g}", 0.64 * 0.5 ** (135 / half), 0.64 - abs(half - 54.3) / 1200)
        for half in half_times_min
    )
    return Ladder(rungs=rungs, size_hint_y=None)


if __name__ == "__main__":
    from logbook_app.screens.widgets.alone import show_alone

    show_alone(_alone)

"""Draws the sixteen compartments as thin bars on one scale, from clear to the surfacing limit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp, sp
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.label import Label
from kivy.uix.widget import Widget

RUNG_SP = 15.0
SCALE_SP = 24.0
OVER_LIMIT = 1.08  # how far beyond the limit the scale reaches; more is drawn at its end


class Ladder(Widget):
    """One bar a compartment with a tick where it was at surfacing. It sets its own height."""

    rungs = ObjectProperty(())
    """The Rungs of `screens.surface_lines`."""

    test_id = StringProperty("ladder")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._draw = Clock.create_trigger(self._draw_now, -1)
        self._look = App.get_running_app().look
        for name in ("rungs", "pos", "size"):
            self.fbind(name, self._draw)
        self._look.bind(theme=self._draw, text_scale=self._draw)

    def _draw_now(self, *_args: Any) -> None:
        self.clear_widgets()
        self.canvas.clear()
        self.height = sp(RUNG_SP) * len(self.rungs) + sp(SCALE_SP)
        with self.canvas:
            for rung, y in self._rungs_and_heights():
                self._bar(rung, y)
            Color(*self._look.theme.ink)
            for load in (0, 1):
                Line(points=[self._x(load), self.y + sp(SCALE_SP), self._x(load), self.top])
        # A label made inside the block above would be drawn there as well, and stay.
        for rung, y in self._rungs_and_heights():
            self._text(rung.half_time, y, right=self._x(0) - dp(8))
        if self.rungs:
            self._text("clear", self.y + sp(SCALE_SP) / 2, left=self._x(0))
            self._text("surfacing limit", self.y + sp(SCALE_SP) / 2, right=self._x(1))

    def _rungs_and_heights(self) -> Iterator[tuple[Any, float]]:
        for index, rung in enumerate(self.rungs):
            yield rung, self.top - sp(RUNG_SP) * (index + 0.5)

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

    def _text(self, words: str, middle: float, *, left: float = 0, right: float = 0) -> None:
        label = Label(text=words, font_size=sp(12), color=self._look.theme.quiet, size_hint=(None, None))
        label.texture_update()
        label.size = label.texture_size
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

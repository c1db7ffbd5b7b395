"""Draws the sixteen compartments as thin bars on one scale, from clear to the surfacing limit.

A touch chooses the rung that it is nearest to; the rungs are too thin for a wet finger, so whoever shows
the chosen one gives keys to go to the next. While the loads fall only bars move: texts stay as they are.
"""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp, sp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.label import Label
from kivy.uix.widget import Widget

from logbook_app.language import _, later, number

RUNG_SP, LOW_RUNG_SP = 15.0, 13.5
SCALE_SP = 20.0
TICK = later("at surfacing")
OVER_LIMIT = 1.08  # how far beyond the limit the scale reaches; more is drawn at its end


class Ladder(ButtonBehavior, Widget):
    """One bar a compartment with a tick where it was at surfacing. It sets its own height.

    Event: `on_rung(index)` where one is touched, 0 for the fastest.
    """

    __events__ = ("on_rung",)

    rungs = ObjectProperty(())
    """The Rungs of `screens.surface_lines`."""

    chosen = NumericProperty(-1)
    """Which rung is marked, -1 for none."""

    low = BooleanProperty(False)
    """True where the rungs stand closer, in a low window."""

    test_id = StringProperty("ladder")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        # In the next frame: while a page is laid out, a place holds for a moment only.
        self._draw = Clock.create_trigger(self._draw_now)
        self._move = Clock.create_trigger(self._move_bars, -1)
        self._look = App.get_running_app().look
        self._foot = 0.0
        self._bars: list[tuple[Rectangle, Line]] = []
        for name in ("low", "pos", "size", "chosen"):
            self.fbind(name, self._draw)
        self.fbind("rungs", self._move)
        self._look.tell(self, lambda ladder: ladder._draw(), "theme", "text_scale")

    def on_rung(self, _index: int) -> None:
        """A rung was touched."""

    def on_release(self) -> None:
        """Choose the rung nearest to the finger; a key of the keyboard chooses the next one."""
        if not self.rungs:
            return
        from_top = (
            (self.top - self.last_touch.y) / self._rung_height() if self.last_touch else self.chosen + 1
        )
        self.dispatch("on_rung", int(min(max(from_top, 0), len(self.rungs) - 1)))

    def rung_middle(self, index: int) -> float:
        """Return how high a rung lies [px]."""
        return float(self.top - self._rung_height() * (index + 0.5))

    def _rung_height(self) -> float:
        return float(sp(LOW_RUNG_SP if self.low else RUNG_SP))

    def _draw_now(self, *_args: Any) -> None:
        self.clear_widgets()
        self.canvas.clear()
        words = [self._label(text) for text in (_("clear"), _(TICK), _("surfacing limit"))]
        self._foot = sp(SCALE_SP) * self._lines_of(words)
        self.height = self._rung_height() * len(self.rungs) + self._foot
        with self.canvas:
            self._mark_chosen()
            self._bars = [self._bar(index) for index in range(len(self.rungs))]
            Color(*self._look.theme.ink)
            for load in (0, 1):
                Line(points=[self._x(load), self.y + self._foot, self._x(load), self.top])
        # A label made inside the block above would be drawn there as well, and stay.
        for index, rung in enumerate(self.rungs):
            label = self._label(rung.half_time, bold=index == self.chosen)
            self._put(label, self.rung_middle(index), right=self._x(0) - dp(8))
        if self.rungs:
            self._explain(*words)
        self._move_bars()

    def _move_bars(self, *_args: Any) -> None:
        """Set the bars and ticks; the rest is drawn anew only where the number of rungs changes."""
        if len(self._bars) != len(self.rungs):
            self._draw()
            return
        for index, (rung, (bar, tick)) in enumerate(zip(self.rungs, self._bars, strict=True)):
            y, at = self.rung_middle(index), self._x(rung.at_surfacing)
            bar.pos, bar.size = (self._x(0), y - sp(3.5)), (self._x(rung.load) - self._x(0), sp(7))
            tick.points = [at, y - sp(5), at, y + sp(5)]

    def _mark_chosen(self) -> None:
        if 0 <= self.chosen < len(self.rungs):
            height = self._rung_height()
            Color(*self._look.theme.rail)
            Rectangle(
                pos=(self.x, self.rung_middle(int(self.chosen)) - height / 2), size=(self.width, height)
            )

    def _explain(self, clear: Label, tick: Label, limit: Label) -> None:
        """Say what the ends of the scale are, and what a tick is, in as many lines as that needs."""
        lines = self._lines_of([clear, tick, limit])
        first, last = self.y + self._foot - sp(SCALE_SP) / 2, self.y + sp(SCALE_SP) / 2
        self._put(clear, first, left=self._x(0))
        self._put(limit, first if lines < 3 else first - sp(SCALE_SP), right=self._x(1))
        left = (self._x(0) + clear.width + self._x(1) - limit.width - tick.width) / 2 + dp(3)
        self._put(tick, last, left=left if lines == 1 else self._x(0) + dp(10))
        with self.canvas:
            Color(*self._look.theme.ink)
            Line(points=[tick.x - dp(6), last - sp(5), tick.x - dp(6), last + sp(5)], width=dp(1.0))

    def _lines_of(self, words: list[Label]) -> int:
        clear, tick, limit = (label.width + dp(16) for label in words)
        room = self._x(1) - self._x(0)
        return 1 if clear + tick + limit <= room else 2 if clear + limit <= room else 3

    def _x(self, load: float) -> float:
        left, right = self.x + sp(44), self.right - sp(8)
        return float(left + (right - left) * max(0.0, min(load, OVER_LIMIT)) / OVER_LIMIT)

    def _bar(self, index: int) -> tuple[Rectangle, Line]:
        theme, y = self._look.theme, self.rung_middle(index)
        Color(*theme.hairline)
        Line(points=[self._x(0), y, self._x(1), y])
        Color(*theme.blue)
        bar = Rectangle()
        Color(*theme.ink)
        return bar, Line(width=dp(1.0))

    def _label(self, words: str, bold: bool = False) -> Label:
        size = sp(11 if self.low else 12)
        colour = self._look.theme.ink if bold else self._look.theme.quiet
        label = Label(text=words, font_size=size, bold=bold, color=colour, size_hint=(None, None))
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
        Rung(f"{number(half, 'g')}", 0.64 * 0.5 ** (135 / half), 0.64 - abs(half - 54.3) / 1200)
        for half in half_times_min
    )
    return Ladder(rungs=rungs, size_hint_y=None)


if __name__ == "__main__":
    from logbook_app.screens.widgets.alone import show_alone

    show_alone(_alone)

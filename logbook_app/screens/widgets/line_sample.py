"""A short piece of a diver's line, as it is drawn on the chart, before the diver's name."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.graphics import Color, Rectangle
from kivy.metrics import dp
from kivy.properties import NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.chart_lanes import strokes
from logbook_app.screens.widgets.chart_water import LEADER_RADIUS_DP, LINE_RADIUS_DP, diver_pattern_dp


class LineSample(Widget):
    """A piece of line."""

    place = NumericProperty(0)
    """0 for the leader's line, then those of the others in turn."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.bind(pos=self.draw, size=self.draw, place=self.draw)
        App.get_running_app().look.tell(self, lambda sample: sample.draw(), "theme")
        self.draw()

    def draw(self, *_args: Any) -> None:
        """Draw it anew."""
        pattern = diver_pattern_dp(int(self.place) - 1) if self.place else ()
        high = 2 * dp(LINE_RADIUS_DP if self.place else LEADER_RADIUS_DP)
        self.canvas.clear()
        with self.canvas:
            Color(*App.get_running_app().look.theme.ink)
            for left, length in strokes(self.width, [dp(each) for each in pattern]):
                Rectangle(pos=(self.x + left, self.center_y - high / 2), size=(length, high))


class NamedLine(KvBeside, BoxLayout):
    """A piece of line and whose it is."""

    place = NumericProperty(0)
    """0 for the leader's line, then those of the others in turn."""

    text = StringProperty("")
    """Whose line it is."""

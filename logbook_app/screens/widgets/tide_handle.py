"""The line on the tide curve that a finger moves, and what it stands at.

It lies over the drawing and moves without it: the curve is not drawn anew while a finger drags.
"""

from __future__ import annotations

from typing import Any

from kivy.graphics import Color, Line, Rectangle, SmoothEllipse
from kivy.metrics import dp, sp
from kivy.uix.label import Label
from kivy.uix.widget import Widget

from logbook_app.screens.theme import TYPE_SP, Theme

KNOB_DP = 9
GAP_DP = 6  # between the line and its words


class TideHandle:
    """Line, knob and words; put them on a widget with `show`.

    widget   whose curve it stands on
    """

    def __init__(self, widget: Widget) -> None:
        self._widget = widget
        with widget.canvas.after:
            self._colour = Color()
            self._line, self._knob = Line(width=dp(1.4)), SmoothEllipse()
            self._inner_colour, self._inner = Color(), SmoothEllipse()
        self._label = Label(size_hint=(None, None), bold=True)
        with self._label.canvas.before:
            self._ground_colour, self._ground = Color(), Rectangle()

    def show(self, drawing: Any, minutes: float, words: str, theme: Theme) -> None:
        """Stand at an instant of a drawing; without words only the knob shows, ready to be dragged."""
        x = drawing.x(minutes)
        self._colour.rgba = theme.accent
        self._inner_colour.rgba = theme.card
        _put(self._knob, x, drawing.bottom, dp(KNOB_DP))
        _put(self._inner, x, drawing.bottom, dp(KNOB_DP - 3) if not words else 0.0)
        self._show_words(drawing, x, words, theme)
        top = self._label.y if self._label.x < x < self._label.right else drawing.handle_top
        self._line.points = [x, drawing.bottom, x, top] if words else []

    def _show_words(self, drawing: Any, x: float, words: str, theme: Theme) -> None:
        label = self._label
        if not words:
            self._widget.remove_widget(label)
            return
        if label.parent is None:
            self._widget.add_widget(label)
        if label.text != words:
            label.text = words
        label.font_size, label.color = sp(TYPE_SP["label"]), theme.accent
        label.texture_update()
        label.size = label.texture_size
        label.x = beside(x, label.width, drawing.left, self._widget.right)
        label.top = drawing.handle_top
        self._ground_colour.rgba = theme.card
        self._ground.pos, self._ground.size = label.pos, label.size


def beside(x: float, width: float, left: float, right: float) -> float:
    """Return where words begin: right of the line, else left of it, else over it within the edges [px].

    >>> beside(100, 50, 0, 300), beside(280, 50, 0, 300), beside(30, 280, 0, 300)
    (106.0, 224.0, 20.0)
    """
    gap = dp(GAP_DP)
    if x + gap + width <= right:
        return float(x + gap)
    if x - gap - width >= left:
        return float(x - gap - width)
    return float(max(left, right - width))


def _put(circle: Any, x: float, y: float, radius: float) -> None:
    circle.pos, circle.size = (x - radius, y - radius), (2 * radius, 2 * radius)

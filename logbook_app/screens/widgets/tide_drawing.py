"""The drawing of the tide curve: scales, water, marks, each where `screens.tide_lines` says."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from kivy.graphics import Color, Line
from kivy.metrics import dp, sp
from kivy.uix.label import Label
from kivy.uix.widget import Widget

from logbook_app.analysis.chart_lines import ink_of_line
from logbook_app.screens.theme import TYPE_SP, Colour, Theme
from logbook_app.screens.tide_lines import (
    LabelPlace,
    Mark,
    TideLines,
    clear_of_lines,
    hour_ticks,
    place_labels,
)
from logbook_app.screens.widgets.ribbon import Area, Ribbon

_SCALE_SP = 46  # room for the numbers of the scale
_LENGTHS = (1.0, 0.93, 0.86)  # of the curve, where the label of its last mark stands beside it
DETAILS_FROM_DP = 560  # a narrower chart shows the first line of each mark only


def draw_tide(widget: Widget, lines: TideLines, theme: Theme, *, room_for_handle: bool) -> TideDrawing:
    """Draw on the widget's canvas and add its texts as children; both are empty before.

    room_for_handle   leave a row free above the curve for what the handle stands at

    Returns the drawing, which knows where an instant stands.
    """
    drawing = TideDrawing(widget, lines, theme, room_for_handle)
    with widget.canvas:  # what is made in here is drawn on it, in this order
        drawing.water()
        drawing.grid()
        drawing.curve()
        drawing.hours()
        drawing.marks()
    # A label made inside the block above would be drawn there as well, and stay.
    for label in drawing.labels():
        widget.add_widget(label)
    return drawing


class TideDrawing:
    """One drawing of the curve: the scales, then everything on them.

    left, right, bottom   of the water [px]
    handle_top            of the row for the words of the handle, where there is one [px]
    """

    def __init__(self, widget: Widget, lines: TideLines, theme: Theme, room_for_handle: bool) -> None:
        self.widget, self.lines, self.theme = widget, lines, theme
        self.room_for_handle = room_for_handle
        self.mark_labels = [self._mark_label(mark) for mark in lines.marks]
        self.left, self.right = widget.x + sp(_SCALE_SP), widget.right - sp(20)
        self._place_marks()
        self.step_height = max((label.texture_size[1] for label in self.mark_labels), default=0) + dp(6)
        steps = 1 + max((place.step for place in self.label_places), default=0)
        self.bottom = widget.y + sp(32)
        # A chart not yet laid out may have no room under its labels.
        self.handle_top = widget.top - self.step_height * steps - dp(2)
        row = sp(TYPE_SP["label"]) * 1.4 + dp(2) if room_for_handle else dp(4)
        self.top = max(self.bottom + 1.0, self.handle_top - row)
        most = int((self.right - self.left) / sp(64))
        self.hour_ticks = hour_ticks(lines.began_local, lines.minutes[-1], most)
        self.curve_x = np.array([self.x(minutes) for minutes in lines.minutes])
        self.curve_y = np.array([self.y(load) for load in lines.load])

    def _place_marks(self) -> None:
        """Place the labels; a wide chart may end sooner, where that sets all of them side by side."""
        widths = [label.texture_size[0] for label in self.mark_labels]
        shares = _LENGTHS if self.widget.width >= dp(DETAILS_FROM_DP) else _LENGTHS[:1]
        whole = self.right - self.left
        for share in (*shares, _LENGTHS[0]):
            self.right = self.left + whole * share
            at = [self.x(mark.minutes) for mark in self.lines.marks]
            self.label_places = place_labels(at, widths, self.left + dp(4), self.widget.right)
            self.lines_reach_labels = clear_of_lines(self.label_places, at, widths)
            if all(place.step == 0 for place in self.label_places):
                return

    def x(self, minutes: float) -> float:
        return float(self.left + (self.right - self.left) * minutes / self.lines.minutes[-1])

    def minutes(self, x: float) -> float:
        """Return the instant that a point stands for, kept on the curve [min since surfacing]."""
        share = (x - self.left) / (self.right - self.left)
        return float(min(max(share, 0.0), 1.0) * self.lines.minutes[-1])

    def y(self, load: float) -> float:
        return float(self.bottom + (self.top - self.bottom) * load / self.lines.top)

    def grid(self) -> None:
        for load in self.lines.grid:
            y = self.y(load)
            Color(*self.theme.hairline)
            Line(points=[self.left, y, self.right, y], dash_length=2, dash_offset=3 if load else 0)

    def water(self) -> None:
        area = Area(self.theme.water[2])
        area.show(self.curve_x, self.curve_y, self.bottom)

    def curve(self) -> None:
        ribbon = Ribbon(self.theme.blue)
        ribbon.show(ink_of_line(self.curve_x, self.curve_y, dp(1.2)))

    def hours(self) -> None:
        Color(*self.theme.ink)
        Line(points=[self.left, self.bottom, self.right, self.bottom])
        for minutes, _words in self.hour_ticks:
            x = self.x(minutes)
            Line(points=[x, self.bottom, x, self.bottom - dp(5)])

    def marks(self) -> None:
        for mark, place in zip(self.lines.marks, self.label_places, strict=True):
            x = self.x(mark.minutes)
            Color(*(self.theme.accent if mark.look_here else self.theme.ink))
            top = self._step_top(place) if self.lines_reach_labels else self.top
            Line(points=[x, self.bottom, x, top], width=dp(1.0))

    def labels(self) -> Iterator[Label]:
        yield from self._load_labels()
        for minutes, words in self.hour_ticks:
            label = self._label(words, self.theme.quiet, TYPE_SP["small"])
            label.center_x, label.top = self.x(minutes), self.bottom - sp(12)
            label.right = min(label.right, self.widget.right)
            yield label
        for label, place in zip(self.mark_labels, self.label_places, strict=True):
            label.x, label.top = place.left, self._step_top(place)
            yield label

    def _load_labels(self) -> Iterator[Label]:
        """Yield a number for each line of the grid, or for every second where they stand too close."""
        apart = (self.top - self.bottom) / (len(self.lines.grid) - 1)
        every = max(1, math.ceil(sp(TYPE_SP["small"]) * 1.4 / apart))
        for load in self.lines.grid[::every]:
            label = self._label(f"{load * 100:.0f} %", self.theme.quiet, TYPE_SP["small"])
            label.right, label.center_y = self.left - dp(8), self.y(load)
            yield label

    def _step_top(self, place: LabelPlace) -> float:
        return float(self.widget.top - place.step * self.step_height)

    def _mark_label(self, mark: Mark) -> Label:
        role = "accent" if mark.look_here else "ink"
        words = f"[b][color={_hex(getattr(self.theme, role))}]{mark.words}[/color][/b]"
        if self.widget.width >= dp(DETAILS_FROM_DP):
            words += f"\n[size={round(sp(TYPE_SP['small']))}]{mark.detail}[/size]"
        label = self._label(words, self.theme.quiet, TYPE_SP["label"], markup=True)
        room = self.widget.width - sp(_SCALE_SP) - dp(4)
        if label.width > room:
            label.text_size = room, None
            label.texture_update()
            label.size = label.texture_size
        return label

    def _label(self, words: str, color: Colour, size_sp: float, markup: bool = False) -> Label:
        label = Label(
            text=words,
            color=color,
            font_size=sp(size_sp),
            markup=markup,
            size_hint=(None, None),
            halign="left",
        )
        label.texture_update()
        label.size = label.texture_size
        return label


def _hex(color: Colour) -> str:
    return "".join(f"{round(part * 255):02x}" for part in color[:3])

"""The words on a chart section: axes, soundings, the stop, remarks on leaders, gas switches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from kivy.graphics import Color, InstructionGroup, Line, Rectangle
from kivy.metrics import dp, sp

from logbook_app.screens.theme import TYPE_SP, Colour, Theme
from logbook_app.screens.widgets.chart_lines import (
    Frame,
    Ink,
    depth_marks,
    evenly_along,
    first_of_each_stretch,
    minute_marks,
    sounding_figures,
)
from logbook_app.screens.widgets.chart_places import Box, Places, Wish, place_on_leaders, place_under_line
from logbook_app.screens.widgets.ribbon import dashes
from logbook_app.screens.widgets.section_of_dive import Mark, Section
from logbook_app.screens.widgets.text_textures import TextTextures

ESTIMATE_WORDS = "estimate: square profile"
SOUNDINGS_APART_DP = 96
DASH_DP = 4
STUB_DP = 28  # of a leader whose words found no room


class ChartWords(InstructionGroup):
    """Puts words around and into the frame, each where nothing else is."""

    def __init__(self, texts: TextTextures) -> None:
        super().__init__()
        self._texts = texts
        self._dashes = dashes(round(dp(DASH_DP)))

    def show(self, section: Section, frame: Frame, theme: Theme, ink: Ink | None) -> None:
        """Draw all words of this section in this frame; `ink` is the line they keep clear of."""
        self.clear()
        self._show_axes(section, frame, theme)
        if ink is None:
            return
        plot = Box(frame.left, frame.bottom, frame.right, frame.top)
        places = Places(plot, ink.x, ink.middle, gap=dp(5))
        self._show_estimate(section, frame, places, theme)
        self._show_remarks(section, frame, places, theme)
        self._show_stop(section, frame, places, theme)
        self._show_gases(section, frame, places, theme)
        self._show_ceiling(section, frame, places, theme)
        self._show_soundings(section, frame, places, theme)

    def depth_axis_width(self, section: Section, floor_m: float) -> float:
        """Return how wide the column of depth figures is [px]."""
        marks = depth_marks(floor_m, section.imperial, 1000.0, 0.0)
        return max(self._small(_depth_words(section, words)).width for _, words in marks) + dp(8)

    def time_axis_height(self) -> float:
        """Return how much room the minutes need under the frame [px]."""
        return float(self._small("0").height + dp(12))

    def _show_axes(self, section: Section, frame: Frame, theme: Theme) -> None:
        size = self._small("0")
        for depth_m, words in depth_marks(frame.floor_m, section.imperial, frame.height, size.height):
            texture = self._small(_depth_words(section, words))
            y = float(frame.y(depth_m))
            self._put(texture, frame.left - dp(8) - texture.width, y - texture.height / 2, theme.quiet)
        for minute in minute_marks(frame.from_s, frame.to_s, frame.width, size.height * 4.5):
            texture = self._small(f"{minute:.0f} min")
            x = float(frame.x(minute * 60))
            self.add(Color(*theme.quiet))
            self.add(Rectangle(pos=(round(x), frame.bottom - dp(5)), size=(1, dp(5))))
            self._put(texture, x - texture.width / 2, frame.bottom - dp(8) - texture.height, theme.quiet)

    def _show_estimate(self, section: Section, frame: Frame, places: Places, theme: Theme) -> None:
        if section.estimate:
            texture = self._label(ESTIMATE_WORDS, bold=True)
            box = Box.at(frame.left + (frame.width - texture.width) / 2, frame.bottom + dp(10), texture.size)
            self._put_box(texture, places.take(box), theme.ink)

    def _show_stop(self, section: Section, frame: Frame, places: Places, theme: Theme) -> None:
        """Draw a bar under the stop, as long as it lasted, and its words under that or in the water."""
        stop = section.stop
        if stop is None or stop.from_s >= frame.to_s or stop.to_s <= frame.from_s:
            return
        left = float(frame.x(max(frame.from_s, stop.from_s)))
        right = float(frame.x(min(frame.to_s, stop.to_s)))
        bar = places.take(_under_stop(places, left, right))
        texture = self._label(stop.words)
        boxes = [box for box in _about_stop(places, bar, texture.size) if places.is_free(box)]
        if boxes:
            self._put_box(texture, places.take(boxes[0]), theme.ink)
        self.add(Color(*theme.ink))
        for x, y, size in (
            (left, bar.bottom + dp(3), (right - left, dp(1.5))),
            (left, bar.bottom, (dp(1.5), dp(8))),
            (right - dp(1.5), bar.bottom, (dp(1.5), dp(8))),
        ):
            self.add(Rectangle(pos=(round(x), round(y)), size=size))

    def _show_remarks(self, section: Section, frame: Frame, places: Places, theme: Theme) -> None:
        marks = _in_view(section.remarks, frame)
        textures = [self._label(mark.words, bold=True) for mark in marks]
        boxes = place_on_leaders(places, _wishes(section, frame, marks, textures), indent=dp(8))
        for mark, texture, box in zip(marks, textures, boxes, strict=True):
            x, y = _on_line(section, frame, mark)
            top = min(frame.top, y + dp(STUB_DP)) if box is None else box.top
            self._put_leader(x, y + dp(3), top, theme.accent)
            self._put_box(texture, box, theme.accent)

    def _show_gases(self, section: Section, frame: Frame, places: Places, theme: Theme) -> None:
        """Mark every change of gas with a hollow square on the line; the first gas is no change."""
        marks = _in_view(section.gases[1:], frame)
        textures = [self._label(mark.words) for mark in marks]
        wishes = _wishes(section, frame, marks, textures)
        found = dict(place_under_line(places, wishes, dp(30), shares=(0.5, 0.0, 1.0)))
        for number, (mark, texture) in enumerate(zip(marks, textures, strict=True)):
            x, y = _on_line(section, frame, mark)
            self.add(Color(*theme.card))
            self.add(Rectangle(pos=(x - dp(4), y - dp(4)), size=(dp(8), dp(8))))
            self.add(Color(*theme.ink))
            self.add(Line(rectangle=(x - dp(4), y - dp(4), dp(8), dp(8)), width=1.2))
            self._put_box(texture, found.get(number), theme.ink)

    def _show_ceiling(self, section: Section, frame: Frame, places: Places, theme: Theme) -> None:
        """Say what the hatching is, under its deepest point."""
        series = section.series
        at = int(series.ceiling_m.argmax())
        ceiling_m, time_s = float(series.ceiling_m[at]), float(series.time_s[at])
        if ceiling_m <= 0 or not frame.from_s <= time_s <= frame.to_s:
            return
        texture = self._label(f"ceiling {section.units.depth(ceiling_m)}")
        bottom = float(frame.y(ceiling_m)) - dp(6) - texture.height
        for share in (0.5, 1.0, 0.0):
            box = Box.at(float(frame.x(time_s)) - share * texture.width, bottom, texture.size)
            if places.is_free(box):
                self._put_box(texture, places.take(box), theme.ink)
                return

    def _show_soundings(self, section: Section, frame: Frame, places: Places, theme: Theme) -> None:
        if section.estimate:
            return
        points = _worth_sounding(section, frame)
        figures = [self._sounding(depth_m, section.imperial) for _, depth_m in points]
        wishes = [
            Wish(*frame.point(*point), _sounding_size(*textures))
            for point, textures in zip(points, figures, strict=True)
        ]
        for number, box in place_under_line(places, wishes, dp(22), dp(SOUNDINGS_APART_DP)):
            whole, tenth = figures[number]
            self._put(whole, box.left, box.top - whole.height, theme.ink)
            if tenth is not None:
                self._put(tenth, box.left + whole.width, box.bottom, theme.ink)

    def _sounding(self, depth_m: float, imperial: bool) -> tuple[Any, Any | None]:
        whole, tenth = sounding_figures(depth_m, imperial)
        size, lower = sp(TYPE_SP["body"]), sp(TYPE_SP["body"]) * 0.72
        texture = self._texts.texture(whole, size, italic=True)
        return texture, self._texts.texture(tenth, lower, italic=True) if tenth else None

    def _small(self, words: str) -> Any:
        return self._texts.texture(words, sp(TYPE_SP["small"]))

    def _label(self, words: str, bold: bool = False) -> Any:
        return self._texts.texture(words, sp(TYPE_SP["label"]), bold=bold)

    def _put(self, texture: Any, x: float, y: float, colour: Colour) -> None:
        self.add(Color(*colour))
        self.add(Rectangle(texture=texture, pos=(round(x), round(y)), size=texture.size))

    def _put_box(self, texture: Any, box: Box | None, colour: Colour) -> None:
        if box is not None:
            self._put(texture, box.left, box.bottom, colour)

    def _put_leader(self, x: float, bottom: float, top: float, colour: Colour) -> None:
        height = max(0.0, top - bottom)
        dash = height / self._dashes.height
        self.add(Color(*colour))
        self.add(
            Rectangle(
                texture=self._dashes,
                pos=(round(x - dp(0.75)), bottom),
                size=(dp(1.5), height),
                tex_coords=(0, 0, 1, 0, 1, dash, 0, dash),
            )
        )


def _depth_words(section: Section, words: str) -> str:
    """Return the figure, with the unit at the surface only: a chart says its unit once."""
    return f"{words} {'ft' if section.imperial else 'm'}" if words == "0" else words


def _in_view(marks: Sequence[Mark], frame: Frame) -> list[Mark]:
    return [mark for mark in marks if frame.from_s <= mark.middle_s <= frame.to_s]


def _under_stop(places: Places, left: float, right: float) -> Box:
    """Return the box of the bar under a stop."""
    low, _ = places.line_between(left, right)
    return Box(left, low - places.gap - dp(8), right, low - places.gap)


def _about_stop(places: Places, bar: Box, size: tuple[float, float]) -> list[Box]:
    """Return where the words of a stop may stand: close under its bar, above the line, or further down."""
    middle = (bar.left + bar.right) / 2
    hung = places.under_line(middle, size)
    under = Box.at(hung.left, min(hung.bottom, bar.bottom - places.gap - size[1]), size)
    above = places.above_line(middle, size)
    return [under, above] if bar.bottom - under.top < size[1] else [above, under]


def _worth_sounding(section: Section, frame: Frame) -> list[tuple[float, float]]:
    """Return instants and depths worth a figure: where the diver turned, then evenly along the line.

    Of the turns close to one another only the deepest is asked for, however restless the line is.
    """
    turn_s = section.time_s[section.turns]
    turn_s = turn_s[(turn_s >= frame.from_s) & (turn_s <= frame.to_s)]
    turn_s = turn_s[first_of_each_stretch(frame.x(turn_s), dp(SOUNDINGS_APART_DP) / 4)]
    even_s = evenly_along(frame.from_s, frame.to_s, frame.width, dp(SOUNDINGS_APART_DP))
    worth_s = np.concatenate((turn_s, even_s[even_s <= section.end_s]))
    depth_m = np.interp(worth_s, section.time_s, section.depth_m)
    return list(zip(worth_s.tolist(), depth_m.tolist(), strict=True))


def _on_line(section: Section, frame: Frame, mark: Mark) -> tuple[float, float]:
    return frame.point(mark.middle_s, section.depth_at(mark.middle_s))


def _wishes(section: Section, frame: Frame, marks: Sequence[Mark], textures: Sequence[Any]) -> list[Wish]:
    return [
        Wish(*_on_line(section, frame, mark), tuple(texture.size))
        for mark, texture in zip(marks, textures, strict=True)
    ]


def _sounding_size(whole: Any, tenth: Any | None) -> tuple[float, float]:
    """Return the size of a sounding; the decimal stands a third of its height lower."""
    if tenth is None:
        return whole.width, whole.height
    return whole.width + tenth.width, whole.height + tenth.height * 0.2

"""The words on a chart section, drawn where `analysis.chart_layout` puts them.

What is in view and what lies before and after it are laid out apart, so that no word lies over
the edge of the view it was laid out for.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from kivy.graphics import Color, InstructionGroup, Line, Rectangle
from kivy.metrics import dp, sp

from logbook_app.analysis.chart_layout import (
    ChartLayout,
    Letters,
    Put,
    Remarked,
    Role,
    Stopped,
    Switched,
    axes_layout,
    chart_layout,
    depth_axis_width,
    time_axis_height,
)
from logbook_app.analysis.chart_lines import Frame, Ink
from logbook_app.analysis.chart_places import Box, Places
from logbook_app.analysis.section_of_dive import Section
from logbook_app.screens.theme import TYPE_SP, Colour, Theme
from logbook_app.screens.widgets.chart_sheet import SheetPlan
from logbook_app.screens.widgets.ribbon import dashes
from logbook_app.screens.widgets.text_textures import TextTextures

GAP_DP = 5
DASH_DP = 4
TENTH_SHARE = 0.72  # height of a sounding's decimal
NARROWEST_DP = 90  # a stretch beside the view in which words are worth placing


class ChartWords(InstructionGroup):
    """Puts words around and into the frame, each where nothing else is."""

    def __init__(self, texts: TextTextures) -> None:
        super().__init__()
        self._texts = texts
        self._dashes = dashes(round(dp(DASH_DP)))
        self.minute_boxes: list[tuple[float, float]] = []

    def show(
        self,
        section: Section,
        plan: SheetPlan,
        theme: Theme,
        ink: Ink | None,
        others: Sequence[Ink],
        taken: Sequence[Box],
    ) -> None:
        """Draw all words of this section on this sheet.

        ink, others  of its line and of those laid over it; the words keep clear of them
        taken        boxes where something stands already
        """
        self.clear()
        axes = axes_layout(section, plan.frame, self.letters())
        self.minute_boxes = [(put.box.left, put.box.right) for put in axes.minutes]
        for put in axes.minutes:
            self._put(put, theme.quiet)
        for x in axes.ticks:
            self._bar(theme.quiet, (x, plan.frame.bottom - dp(5)), (1, dp(5)))
        if ink is None:
            return
        for frame in _stretches(plan):
            plot = Box(frame.left, frame.bottom, frame.right, frame.top)
            besides = [(other.x, other.middle) for other in others]
            places = Places(plot, ink.x, ink.middle, dp(GAP_DP), besides)
            for box in taken:
                places.take(box)
            self._draw(chart_layout(section, frame, self.letters(), places), theme)

    def depth_axis_width(self, section: Section, floor_m: float) -> float:
        """Return how wide the column of depth figures is [px]."""
        return depth_axis_width(section, floor_m, self.letters())

    def time_axis_height(self) -> float:
        """Return how much room the minutes need under the frame [px]."""
        return time_axis_height(self.letters())

    def _draw(self, layout: ChartLayout, theme: Theme) -> None:
        for remark in layout.remarks:
            self._remark(remark, theme)
        if layout.stop is not None:
            self._stop(layout.stop, theme)
        for switch in layout.switches:
            self._switch(switch, theme)
        self._put(layout.other, theme.blue)
        for words in (layout.diver, *layout.divers, layout.estimate, layout.ceiling, *layout.figures):
            self._put(words, theme.ink)

    def _remark(self, remark: Remarked, theme: Theme) -> None:
        height = max(0.0, remark.head - remark.foot)
        dash = height / self._dashes.height
        self.add(Color(*theme.accent))
        self.add(
            Rectangle(
                texture=self._dashes,
                pos=(round(remark.x - dp(0.75)), remark.foot),
                size=(dp(1.5), height),
                tex_coords=(0, 0, 1, 0, 1, dash, 0, dash),
            )
        )
        self._put(remark.put, theme.accent)

    def _stop(self, stop: Stopped, theme: Theme) -> None:
        bar = stop.bar
        for x, y, size in (
            (bar.left, bar.bottom + dp(3), (bar.right - bar.left, dp(1.5))),
            (bar.left, bar.bottom, (dp(1.5), dp(8))),
            (bar.right - dp(1.5), bar.bottom, (dp(1.5), dp(8))),
        ):
            self._bar(theme.ink, (x, y), size)
        self._put(stop.put, theme.ink)

    def _switch(self, switch: Switched, theme: Theme) -> None:
        """Draw a change of gas as a hollow square on the line."""
        corner, side = (switch.x - dp(4), switch.y - dp(4)), dp(8)
        self.add(Color(*theme.card))
        self.add(Rectangle(pos=corner, size=(side, side)))
        self.add(Color(*theme.ink))
        self.add(Line(rectangle=(*corner, side, side), width=1.2))
        self._put(switch.put, theme.ink)

    def _bar(self, colour: Colour, corner: tuple[float, float], size: tuple[float, float]) -> None:
        self.add(Color(*colour))
        self.add(Rectangle(pos=(round(corner[0]), round(corner[1])), size=size))

    def _put(self, put: Put | None, colour: Colour) -> None:
        if put is not None:
            texture = self._texture(put.words, put.role)
            self.add(Color(*colour))
            corner = round(put.box.left), round(put.box.bottom)
            self.add(Rectangle(texture=texture, pos=corner, size=texture.size))

    def letters(self) -> Letters:
        """Return how the words look here."""
        return Letters(dp(1), lambda words, role: tuple(self._texture(words, role).size))

    def _texture(self, words: str, role: Role) -> Any:
        if role == "axis":
            return self._texts.texture(words, sp(TYPE_SP["small"]))
        if role in ("sounding", "tenth"):
            share = TENTH_SHARE if role == "tenth" else 1.0
            return self._texts.texture(words, sp(TYPE_SP["body"]) * share, italic=True)
        return self._texts.texture(words, sp(TYPE_SP["label"]), bold=role == "strong")


def _stretches(plan: SheetPlan) -> Iterator[Frame]:
    """Yield the view, then what lies before and after it where words find room there."""
    whole, view = plan.frame, plan.view
    yield view
    if view.left - whole.left >= dp(NARROWEST_DP):
        yield replace(whole, width=view.left - whole.left, to_s=view.from_s)
    if whole.right - view.right >= dp(NARROWEST_DP):
        yield replace(whole, left=view.right, width=whole.right - view.right, from_s=view.to_s)

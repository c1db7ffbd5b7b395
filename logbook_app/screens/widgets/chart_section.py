"""A dive as a chart section: water in depth tints, ground, soundings, ceiling, remarks, scrub line.

One finger moves the scrub line. Two fingers stretch and move the time that is shown; a double tap
shows the whole dive again. A finger that moves up or down lets go, so that the page can scroll.

    python -m logbook_app.screens.widgets.chart_section      shows an invented dive
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from logbook_app.analysis.chart_lines import Frame, floor_of_chart_m
from logbook_app.analysis.section_of_dive import Section
from logbook_app.screens.widgets.chart_water import ChartWater
from logbook_app.screens.widgets.chart_words import ChartWords
from logbook_app.screens.widgets.scrub_card import ScrubCard
from logbook_app.screens.widgets.text_textures import TextTextures

SHORTEST_VIEW_S = 60.0
LETS_GO_DP = 18
KEY_STEPS = 120  # of the shown time, one for each press of an arrow


class ChartSection(Widget):
    """The chart of one dive."""

    section = ObjectProperty(None, allownone=True)
    """The Section to draw; None draws nothing."""

    from_s = NumericProperty(0.0)
    """First instant shown [s]."""

    to_s = NumericProperty(0.0)
    """Last instant shown [s]."""

    scrub_s = NumericProperty(None, allownone=True)
    """The instant under the scrub line [s]; None for no line."""

    test_id = StringProperty("chart")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_let_go")
        super().__init__(**kwargs)
        self._look = App.get_running_app().look
        self._texts = TextTextures(400)
        self._water = ChartWater(self._look.theme)
        self._words = ChartWords(self._texts)
        self._scrub = ScrubCard(self._texts)
        for part in (self._water, self._words, self._scrub):
            self.canvas.add(part)
        self._frame: Frame | None = None
        self._fingers: list[Any] = []
        self._draw_soon = Clock.create_trigger(lambda _dt: self.draw(), -1)
        self._scrub_soon = Clock.create_trigger(lambda _dt: self._draw_scrub(), -1)
        self.fbind("section", self._show_whole)
        for name in ("pos", "size", "section", "from_s", "to_s"):
            self.fbind(name, self._draw_soon)
        self.fbind("scrub_s", self._scrub_soon)
        self._look.bind(theme=self._draw_soon, text_scale=self._draw_soon)
        self._show_whole()

    @property
    def frame(self) -> Frame | None:
        """Where the water lies on the screen, with the time as it is to be shown; None before the first."""
        return replace(self._frame, from_s=self.from_s, to_s=self.to_s) if self._frame else None

    @property
    def readout(self) -> list[str]:
        """What the scrub card says now, line by line."""
        return self._scrub.words

    def on_let_go(self, touch: Any) -> None:
        """A finger moved up or down: the page may scroll with it."""

    def draw(self) -> None:
        """Draw everything for the view as it is now."""
        self._frame = self._measured()
        if self._frame is None:
            return
        theme = self._look.theme
        ink = self._water.show(self.section, self._frame, theme)
        self._words.show(self.section, self._frame, theme, ink)
        self._draw_scrub()

    def show_span(self, from_s: float, to_s: float) -> None:
        """Show this part of the dive, kept within it and not shorter than a minute."""
        end_s = self._whole_s()
        length_s = min(max(to_s - from_s, SHORTEST_VIEW_S), end_s)
        self.from_s = min(max(0.0, from_s), end_s - length_s)
        self.to_s = self.from_s + length_s

    def step(self, steps: int) -> None:
        """Move the scrub line by so many steps, as the arrow keys do."""
        middle_s = (self.from_s + self.to_s) / 2
        start_s = middle_s if self.scrub_s is None else self.scrub_s
        moved_s = start_s + steps * (self.to_s - self.from_s) / KEY_STEPS
        self.scrub_s = min(max(self.from_s, moved_s), min(self.to_s, self._last_s()))

    def on_touch_down(self, touch: Any) -> bool:
        """Take a finger on the water: the first scrubs, the second stretches."""
        if touch.is_mouse_scrolling or self._frame is None or not self.collide_point(*touch.pos):
            return super().on_touch_down(touch)
        if touch.is_double_tap:
            self._show_whole()
        touch.grab(self)
        self._fingers.append(touch)
        touch.ud[self] = touch.pos
        if len(self._fingers) == 1:
            self._scrub_to(touch.x)
        return True

    def on_touch_move(self, touch: Any) -> bool:
        """Follow one finger with the scrub line, two with the view."""
        if touch.grab_current is not self:
            return super().on_touch_move(touch)
        if len(self._fingers) >= 2:
            self._stretch(touch)
        elif self._moves_along_page(touch):
            self._release(touch)
            self.dispatch("on_let_go", touch)
        else:
            self._scrub_to(touch.x)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """Leave the scrub line where the finger left it."""
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        self._release(touch)
        return True

    def _release(self, touch: Any) -> None:
        touch.ungrab(self)
        if touch in self._fingers:
            self._fingers.remove(touch)

    def _moves_along_page(self, touch: Any) -> bool:
        """Return whether the finger, which has not scrubbed yet, goes up or down rather than along."""
        if touch.ud.get("scrubs"):
            return False
        start_x, start_y = touch.ud[self]
        along, across = abs(touch.x - start_x), abs(touch.y - start_y)
        touch.ud["scrubs"] = along > dp(LETS_GO_DP)
        return across > dp(LETS_GO_DP) and across > along

    def _scrub_to(self, x: float) -> None:
        frame = self.frame
        if frame is not None:
            self.scrub_s = min(frame.time_s(x), self._last_s())

    def _stretch(self, touch: Any) -> None:
        """Keep both fingers on the instants they stand on."""
        first, second = self._fingers[:2]
        frame = self.frame
        if frame is None or touch not in (first, second):
            return
        before = [finger.px if finger is touch else finger.x for finger in (first, second)]
        after = [first.x, second.x]
        apart_before, apart = abs(before[0] - before[1]), abs(after[0] - after[1])
        if min(apart_before, apart) < dp(24):
            return
        length_s = (frame.to_s - frame.from_s) * apart_before / apart
        centre_s = frame.time_s(sum(before) / 2)
        share = (sum(after) / 2 - frame.left) / frame.width
        self.show_span(centre_s - share * length_s, centre_s + (1 - share) * length_s)

    def _show_whole(self, *_args: Any) -> None:
        self.scrub_s = None
        self.from_s, self.to_s = 0.0, self._whole_s()

    def _last_s(self) -> float:
        return self.section.end_s if self.section else 0.0

    def _whole_s(self) -> float:
        """Return the time that a view of the whole dive shows: a little beyond its end."""
        return max(SHORTEST_VIEW_S, self._last_s() * 1.03)

    def _measured(self) -> Frame | None:
        section: Section | None = self.section
        if section is None or self.to_s <= self.from_s:
            return None
        floor_m = floor_of_chart_m(section.max_depth_m, section.imperial)
        left = self.x + self._words.depth_axis_width(section, floor_m)
        below, above, right = self._words.time_axis_height(), dp(10), self.right - dp(10)
        if right - left < dp(60) or self.height - below - above < dp(60):
            return None
        return Frame(
            left=round(left),
            bottom=round(self.y + below),
            width=round(right - left),
            height=round(self.height - below - above),
            from_s=self.from_s,
            to_s=self.to_s,
            floor_m=floor_m,
        )

    def _draw_scrub(self) -> None:
        if self._frame is not None and self.section is not None:
            self._scrub.show(self.section, self._frame, self._look.theme, self.scrub_s)


def _invented_section() -> Section:
    """Return a dive nobody made: down to 28 m, slowly up a slope, a fast stretch, a stop."""
    from datetime import UTC, datetime

    import numpy as np

    from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
    from logbook_app.analysis.section_of_dive import section_of_dive
    from logbook_app.analysis.spoken_units import SpokenUnits
    from logbook_app.dive.cylinder import Cylinder
    from logbook_app.dive.profile import GasSwitch, Profile, Remark
    from logbook_app.dive.record import Dive
    from logbook_app.physics.breathing_gas import AIR, BreathingGas

    time_s = np.arange(0.0, 47 * 60, 5)
    way_min = np.array([0, 3, 4, 17, 22, 31, 38, 38.5, 40, 45, 46.9])
    way_m = np.array([0, 22, 28.4, 25.6, 19.5, 14.1, 12, 6, 5, 4.8, 0])
    swell_m = 0.5 * np.sin(time_s / 70) * np.clip(np.interp(time_s / 60, way_min, way_m) / 10 - 0.4, 0, 1)
    depth_m = np.round(np.maximum(0, np.interp(time_s / 60, way_min, way_m) + swell_m), 1)
    pressure_bar = np.round(np.linspace(205, 61, len(time_s)))
    temperature_c = np.round(17 - 8 * np.clip(depth_m / 25, 0, 1))
    profile = Profile(
        time_s,
        depth_m,
        {"temperature_c": temperature_c, "pressure_bar_0": pressure_bar},
        switches=(GasSwitch(2000.0, 1),),
        remarks=(Remark(900.0, "old anchor"),),
    )
    dive = Dive(
        began_at=datetime(2026, 11, 14, 10, 5, tzinfo=UTC),
        duration_min=47,
        max_depth_m=28.4,
        cylinders=(Cylinder(AIR, 15.0, 205, 61), Cylinder(BreathingGas(0.5), 7.0, 200, 150)),
    )
    analysis = analyse(dive, profile, nothing_carried(dive), Rules())
    return section_of_dive(dive, profile, analysis, SpokenUnits("metric"))


if __name__ == "__main__":
    from logbook_app.screens.widgets.alone import show_alone

    show_alone(lambda: ChartSection(section=_invented_section()))

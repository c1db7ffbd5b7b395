"""A dive as a chart section: water in depth tints, ground, soundings, ceiling, remarks, scrub line.

`ChartFingers` says what a touch does. What is drawn lies on a `ChartSheet`, so that moving along costs
next to nothing; the figures at the side stand still.

    python -m logbook_app.screens.widgets.chart_section      shows an invented dive
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import ListProperty, NumericProperty, ObjectProperty, StringProperty

from logbook_app.analysis.chart_lanes import Lane, compartment_lane, compartment_words, lanes
from logbook_app.analysis.chart_layout import Letters, axes_layout
from logbook_app.analysis.chart_lines import Frame, floor_of_chart_m
from logbook_app.analysis.section_of_dive import Section
from logbook_app.screens.widgets.chart_bands import COMPARTMENTS, Band, Bands, bands
from logbook_app.screens.widgets.chart_fingers import ChartFingers
from logbook_app.screens.widgets.chart_lanes import ChartLanes
from logbook_app.screens.widgets.chart_sheet import (
    ChartSheet,
    SheetPlan,
    sheet_plan,
    whole_figures,
    widest_sheet_px,
)
from logbook_app.screens.widgets.chart_sides import ASIDE_DP, SCALE_DP, ChartSides
from logbook_app.screens.widgets.chart_water import ChartWater
from logbook_app.screens.widgets.chart_words import ChartWords
from logbook_app.screens.widgets.load_map import LoadMap
from logbook_app.screens.widgets.photo_signs import PhotoFrames, photo_under, photos_near
from logbook_app.screens.widgets.scrub_card import ScrubCard
from logbook_app.screens.widgets.text_textures import TextTextures

SETTLES_S = 0.15  # after the last move the words are chosen anew
OVERHANG_DP = 24  # half of the widest figure below the chart
WIDEST_HALF_TIME = "54.3"
AT_RIGHT_DP = 18  # there is less room at the right


class ChartSection(ChartFingers):
    """The chart of one dive."""

    section = ObjectProperty(None, allownone=True)
    """The Section to draw; None draws nothing."""

    other = ObjectProperty(None, allownone=True)
    """The OtherRecording that is laid over it; None for none."""

    divers = ListProperty([])
    """The lines of others who were there (OtherRecording), where several divers are compared."""

    photos = ListProperty([])
    """Photos to mark: each when it was taken on the dive's clock [s], its id, what it is called."""

    chosen = ListProperty([])
    """What is shown under the section: names of `chart_lanes.NAMES`, and `load` for the map."""

    compartment = NumericProperty(None, allownone=True)
    """The compartment whose load is shown against its limit, 0 to 15; None for none."""

    section_height = NumericProperty(0)
    """Height of the section with its minutes; the chart is as high as all that it shows. 0 takes what
    height the chart is given [px]."""

    test_id = StringProperty("chart")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_compartment_touched")
        self.register_event_type("on_photo")
        super().__init__(**kwargs)
        self._look = App.get_running_app().look
        self._texts = TextTextures(400)
        self._water = ChartWater(self._look.theme)
        self._words = ChartWords(self._texts)
        self._lanes, self._map = ChartLanes(), LoadMap()
        self._photos = PhotoFrames(self._texts)
        self._sheet = ChartSheet((self._water, self._photos, self._words, self._lanes, self._map))
        self._sides = ChartSides()
        self._scrub = ScrubCard()
        for part in (self._sheet, self._sides, self._scrub):
            self.canvas.add(part)
        self._bands: Bands = bands(0.0, 0, has_map=False, has_compartment=False)
        self._shown_lanes: tuple[Lane, ...] = ()
        self._bottom = 0
        self._drawn: Section | None = None
        self._plan: SheetPlan | None = None
        self._frame: Frame | None = None
        self._shown_frame: tuple[Any, Frame] | None = None
        self._draw_soon = Clock.create_trigger(lambda _dt: self.draw(), -1)
        self._move_soon = Clock.create_trigger(lambda _dt: self._move(), -1)
        self._scrub_soon = Clock.create_trigger(lambda _dt: self._draw_scrub(), -1)
        self._settle_soon = Clock.create_trigger(self._settle, SETTLES_S)
        self._rested_at_s: float | None = None
        self.fbind("section", self._turn_to_section)
        self.fbind("other", self._lay_over)
        self.fbind("divers", self._lay_over)
        for name in ("pos", "size", "photos", "chosen", "compartment", "section_height"):
            self.fbind(name, self._draw_soon)
        for name in ("from_s", "to_s"):
            self.fbind(name, self._move_soon)
        self.fbind("scrub_s", self._scrub_soon)
        self._look.tell(self, lambda chart: chart._draw_soon(), "theme", "text_scale")
        self._turn_to_section()

    @property
    def frame(self) -> Frame | None:
        """Where the water lies on the screen, with the time that is shown; None before the first."""
        if self._frame is None:
            return None
        known = self._plan, self._frame, self.from_s, self.to_s
        if self._shown_frame is None or self._shown_frame[0] != known:
            self._shown_frame = known, self._frame_of_view(self._frame, self._plan)
        return self._shown_frame[1]

    def _frame_of_view(self, frame: Frame, plan: SheetPlan | None) -> Frame:
        columns = plan.columns_to(self.from_s, self.to_s) if plan else None
        if plan is None or columns is None:
            return replace(frame, from_s=self.from_s, to_s=self.to_s)
        first_s = plan.frame.from_s + columns * plan.s_per_px
        return replace(frame, from_s=first_s, to_s=first_s + frame.width * plan.s_per_px)

    @property
    def last_s(self) -> float:
        """Where the line ends [s]."""
        return float(self._drawn.drawn_end_s) if self._drawn else 0.0

    @property
    def readout(self) -> list[str]:
        """What the scrub card says now, line by line."""
        return self._scrub.words

    def on_compartment_touched(self, compartment: int) -> None:
        """A row of the map was tapped."""

    def on_photo(self, photo_id: str) -> None:
        """The frame of a photo was tapped."""

    def on_tap(self, touch: Any) -> None:
        """Say which photo or which compartment was tapped."""
        frame = self.frame
        photo = photo_under(self.photos, frame, touch.x, touch.y) if frame else None
        if photo is not None:
            self.scrub_s = min(max(0.0, photo[0]), self.last_s)
            self.dispatch("on_photo", photo[1])
        band = self._bands.map
        if band is not None and band.bottom <= touch.y - self._bottom < band.top:
            share = (band.top - (touch.y - self._bottom)) / band.height
            self.dispatch("on_compartment_touched", int(share * COMPARTMENTS))

    def draw(self) -> None:
        """Draw everything for the view as it is now."""
        self._plan, self._frame = None, None
        # A page that is being turned leaves a chart no width for a moment.
        if self._drawn is not None and self.width >= 1:
            self._measure(self._drawn)
            self._draw_sides(self._drawn)
        self._paint()
        self._draw_scrub()

    def _turn_to_section(self, *_args: Any) -> None:
        self.scrub_s = None
        self._lay_over()
        self.show_whole()

    def _lay_over(self, *_args: Any) -> None:
        """Put the other recording over the section, or take it away; a whole view stays whole.

        Only a line under a finger stretches nothing: it would slip away from the finger.
        """
        was_whole = self.is_whole
        divers = tuple(self.divers)
        self._drawn = replace(self.section, other=self.other, divers=divers) if self.section else None
        if was_whole and not self.is_carrying:
            self.show_whole()
        self._draw_soon()

    def _move(self) -> None:
        """Show another part of the sheet; paint another sheet where this one does not have it."""
        if self._frame is None or self._plan is None:
            return
        columns = self._plan.columns_to(self.from_s, self.to_s)
        if columns is None:
            self._paint()
        else:
            self._show(self._plan, columns)
        self._draw_scrub()
        self._settle_soon()

    def _settle(self, _dt: float) -> None:
        """Choose the words anew once the view rests."""
        if self._rested_at_s != self.from_s:
            self._rested_at_s = self.from_s
            self._settle_soon()
        elif self._plan is not None and not self._plan.is_settled(self.from_s, self.to_s):
            self._paint()

    def _paint(self) -> None:
        """Paint a sheet around the view."""
        section, frame, theme = self._drawn, self._frame, self._look.theme
        if section is None or frame is None:
            return
        margin, low = round(dp(OVERHANG_DP)), round(frame.bottom - self._bottom)
        view = replace(frame, left=0, bottom=low, from_s=self.from_s, to_s=self.to_s)
        widest = widest_sheet_px(view, margin)
        # While the time is stretched every frame is another sheet: it need not be wide.
        reach = 0 if self._stretches() else (widest - view.width) / 2
        self._plan = plan = sheet_plan(view, self.view.whole_s, margin, reach)
        width = plan.frame.width if self.view.is_whole else widest
        self._sheet.lay((round(width + 2 * margin), round(self.height)), theme.card)
        ink = self._water.show(section, plan.frame, theme)
        taken = self._photos.show(self.photos, plan.frame, theme)
        self._words.show(section, plan, theme, ink, self._water.inks, taken)
        self._paint_below(section, plan.frame)
        self._sheet.place((frame.left, self._bottom), frame.width, (self._bands.section.bottom, low))
        self._show(plan, plan.before)

    def _stretches(self) -> bool:
        """Return whether the view is longer or shorter than the one that was painted last."""
        plan = self._plan
        return plan is not None and not plan.is_of_length(self.to_s - self.from_s)

    def _show(self, plan: SheetPlan, columns: int) -> None:
        """Show the sheet from a column on."""
        first, margins = plan.frame.left + columns, (dp(OVERHANG_DP), dp(AT_RIGHT_DP))
        overhang = whole_figures(self._words.minute_boxes, first, first + plan.view.width, margins)
        self._sheet.show(first, overhang)

    def _paint_below(self, section: Section, frame: Frame) -> None:
        """Paint the lanes and the map."""
        bands, theme = self._bands, self._look.theme
        lanes, places = list(self._shown_lanes), list(bands.lanes)
        if bands.compartment is not None:
            lanes.append(compartment_lane(section, int(self.compartment)))
            places.append(bands.compartment)
        self._lanes.show(lanes, places, frame, theme)
        self._map.clear()
        if bands.map is not None:
            self._map.show(section, bands.map, frame, theme)

    def _draw_sides(self, section: Section) -> None:
        """Put down what stays where it is while the time moves."""
        frame, sides = self._frame, self._sides
        sides.begin(self._look.theme, (self.x, self._bottom), self.size)
        if frame is not None:
            sides.edges(frame)
            sides.depths(
                axes_layout(section, replace(frame, from_s=0.0, to_s=1.0), self._words.letters()).depths
            )
            for lane, band in zip(self._shown_lanes, self._bands.lanes, strict=True):
                sides.lane(lane, self._on_window(band), frame)
            if self._bands.map is not None:
                self._draw_key(section, self._on_window(self._bands.map), frame)
        sides.end()

    def _draw_key(self, section: Section, band: Band, frame: Frame) -> None:
        self._sides.key_of_map(band, frame)
        if self._bands.compartment is not None:
            compartment = int(self.compartment)
            self._sides.chosen_row(compartment, band, frame)
            lane = compartment_lane(section, compartment)
            self._sides.lane(lane, self._on_window(self._bands.compartment), frame)

    def _on_window(self, band: Band) -> Band:
        return replace(band, bottom=band.bottom + self._bottom)

    def _draw_scrub(self) -> None:
        frame = self.frame
        if frame is not None and self._drawn is not None:
            floor = frame.bottom if self._bands.section.bottom == 0 else self._bottom
            besides = self._besides(self._drawn) if self.scrub_s is not None else ()
            self._scrub.show(self._drawn, frame, floor, self._look.theme, self.scrub_s, besides)

    def _besides(self, section: Section) -> tuple[str, ...]:
        """Return what else is said under the finger: the chosen compartment, photos."""
        photos = photos_near(self.photos, self.scrub_s)
        if self._bands.compartment is None:
            return photos
        return (compartment_words(section, int(self.compartment), self.scrub_s), *photos)

    def _measure(self, section: Section) -> None:
        """Find where everything lies, and take the height that it needs."""
        self._shown_lanes = lanes(section, self.chosen)
        has_map = "load" in self.chosen and not section.estimate
        self._bands = bands(
            self.section_height or self.height,
            len(self._shown_lanes),
            has_map=has_map,
            has_compartment=self.compartment is not None,
        )
        if self.section_height:
            self.size = self.width, self._bands.height
        self._bottom = round(self.y)
        self._frame = self._framed(section)

    def _framed(self, section: Section) -> Frame | None:
        """Return the plot of the section; None where there is no room for one."""
        letters, band = self._words.letters(), self._bands.section
        floor_m = floor_of_chart_m(section.drawn_depth_m, section.imperial)
        widths = [self._words.depth_axis_width(section, floor_m)]
        if self._bands.map is not None:
            widths.append(letters.measure(WIDEST_HALF_TIME, "axis")[0] + dp(ASIDE_DP))
        left = self.x + max(widths)
        below, above = self._words.time_axis_height(), dp(10)
        right = self.right - max(
            dp(10), scale_width(self._shown_lanes, letters, self._bands.compartment is not None)
        )
        if right - left < dp(60) or band.height - below - above < dp(60):
            return None
        return Frame(
            left=round(left),
            bottom=round(self._bottom + band.bottom + below),
            width=round(right - left),
            height=round(band.height - below - above),
            from_s=self.from_s,
            to_s=self.to_s,
            floor_m=floor_m,
        )


def scale_width(shown: Sequence[Lane], letters: Letters, has_compartment: bool) -> float:
    """Return the room that the scales of these lanes need at the right [px]."""
    words = [words for lane in shown for words in (lane.low_words, lane.high_words)]
    words += ["100 %"] if has_compartment else []
    return max((letters.measure(each, "axis")[0] for each in words if each), default=0.0) + dp(SCALE_DP + 8)


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

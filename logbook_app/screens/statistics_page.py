"""What the logbook adds up to, in bars and on a map; a touch lists the dives behind any of it."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty

from logbook_app.analysis.book_statistics import BookStatistics, Period, Place
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives
from logbook_app.analysis.statistics_words import (
    MINUTE_VOLUME_NOTE,
    PERIODS,
    WATER_NOTE,
    depth_bars,
    mark_label,
    mark_words,
    minute_volume_bars,
    month_bars,
    period_words,
    place_words,
    sum_words,
    water_bars,
    year_bars,
)
from logbook_app.language import _
from logbook_app.screens.coast_lines import coast_lines
from logbook_app.screens.import_words import DiveLine, dive_line
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.report_rows import DiveButton
from logbook_app.screens.widgets.site_map import SiteMap
from logbook_app.screens.worker import Progress

SHOWN_AT_ONCE = 30
PROGRESS_LOOKED_AT_S = 0.5
MOST_PLACES = 12

_Answer = tuple[BookStatistics, SpokenUnits, list[Any]]


class StatisticsPage(Room):
    """The figures of a period that the diver chooses."""

    period = StringProperty(Period.ALL.value)
    """Which part of the logbook."""

    periods = ListProperty([])
    """Pairs of period and words."""

    sum = StringProperty("")
    """How many dives and hours."""

    ready = BooleanProperty(False)
    """True once the logbook has answered."""

    empty = BooleanProperty(False)
    """True where there is no dive in the period."""

    no_dive = BooleanProperty(False)
    """True where there is no dive at all."""

    mapped = BooleanProperty(False)
    """True where the position of any site is known."""

    unmapped = StringProperty("")
    """How many sites have no position, empty where all have one."""

    listed = StringProperty("")
    """What the dives in the list are, empty while there is no list."""

    listed_count = NumericProperty(0)
    """How many there are."""

    lines_shown = NumericProperty(0)
    """How many of them show."""

    found = ObjectProperty(None, allownone=True)
    """The BookStatistics that are shown."""

    def __init__(self, **kwargs: Any) -> None:
        self._stale = True
        self._lines: list[DiveLine] = []
        self._task: Any = None
        self._watching = Clock.create_trigger(
            lambda _dt: self._tell_progress(), PROGRESS_LOOKED_AT_S, interval=True
        )
        super().__init__(**kwargs)
        self.periods = [(period.value, period_words(period)) for period in PERIODS]
        self.ids.minute_volume.note, self.ids.water.note = _(MINUTE_VOLUME_NOTE), _(WATER_NOTE)

    def entered(self) -> None:
        """Ask for the figures where anything may have changed."""
        if self._stale:
            self._ask()

    def left(self) -> None:
        """Read no more samples; what was read is kept."""
        if self._task is not None and not self._task.finished:
            self._task.cancel()
            self._stale = True

    def refresh(self, changes: Any) -> None:
        """Other dives or other units: ask again, now or at the next visit."""
        if changes.dives or changes.totals or changes.settings:
            self._stale = True
            if self.present:
                self._ask()

    def back(self) -> bool:
        """Close the list where it is open."""
        was_open, self.listed = bool(self.listed), ""
        return was_open

    def choose_period(self, chosen: list[str]) -> None:
        """Look at another part of the logbook."""
        if chosen and chosen[0] != self.period:
            self.period, self.listed = chosen[0], ""
            self._ask()

    def list_dives(self, words: str, dive_ids: tuple[str, ...]) -> None:
        """List the dives behind a figure, the latest first; a single one is opened."""
        app = App.get_running_app()
        if len(dive_ids) == 1:
            app.open_dive(dive_ids[0])
            return

        def work(logbook: Any) -> list[DiveLine]:
            wanted, units = set(dive_ids), SpokenUnits(logbook.settings().units)
            dives = [dive for dive in logbook.own_dives() if dive.id in wanted]
            return [dive_line(dive, units) for dive in reversed(dives)]

        app.ask(work, then=lambda lines: self._list(words, lines))

    def list_places(self, places: list[Place]) -> None:
        """List the dives of the sites that were touched."""
        names = ", ".join(place.name for place in places)
        self.list_dives(names, tuple(key for place in places for key in place.dive_ids))

    def show_more(self) -> None:
        """Show more of the list."""
        self._show_lines(int(self.lines_shown) + SHOWN_AT_ONCE)

    # Inside

    def _ask(self) -> None:
        self._stale, period = False, Period(self.period)

        def work(logbook: Any, report: Any, cancelled: Any) -> _Answer:
            units = SpokenUnits(logbook.settings().units)
            found = logbook.book.statistics(period, report, cancelled, feet=not units.metric)
            return found, units, coast_lines() if found.places else []

        app = App.get_running_app()
        self._task = app.run_long(work, then=self._show)
        self._watching()

    def _tell_progress(self) -> None:
        """Say how far the reading of samples has come; only the first time it takes any."""
        if self._task.finished or self._task.cancelled:
            self._watching.cancel()
        elif words := reading_words(self._task.progress):
            self.sum = words

    def _show(self, answer: _Answer) -> None:
        found, units, shore = answer
        if found.period.value != self.period:
            return  # another part was chosen since
        self.found, self.sum = found, sum_words(found)
        self.empty, self.no_dive = not found.dives, not found.dives and found.period is Period.ALL
        self.ids.years.bars, self.ids.months.bars = year_bars(found), month_bars(found)
        self.ids.depths.bars = depth_bars(found, units)
        self.ids.minute_volume.bars = minute_volume_bars(found, units)
        self.ids.water.bars = water_bars(found, units)
        self._show_marks(found, units)
        self._show_places(found.places, shore)
        self.ready = True

    def _show_marks(self, found: BookStatistics, units: SpokenUnits) -> None:
        self.ids.marks.clear_widgets()
        for mark in found.marks:
            line = DiveLine("", mark_label(mark), mark_words(mark, units))
            row = DiveButton(line=line, test_id=f"mark-{mark.kind}")
            row.bind(on_release=lambda _row, mark=mark: self.list_dives(mark_label(mark), mark.dive_ids))
            self.ids.marks.add_widget(row)

    def _show_places(self, places: tuple[Place, ...], shore: list[Any]) -> None:
        unknown = sum(place.latitude_deg is None for place in places)
        self.mapped = unknown < len(places)
        self.unmapped = _("Sites without a position: {count}").format(count=unknown) if unknown else ""
        site_map: SiteMap = self.ids.site_map
        site_map.shore, site_map.places = shore, places
        self.ids.places.clear_widgets()
        for place in places[:MOST_PLACES]:
            row = DiveButton(
                line=DiveLine("", place.name, spoken_dives(place.dives)), test_id=f"site-{place.name}"
            )
            row.bind(on_release=lambda _row, place=place: self.list_dives(place_words(place), place.dive_ids))
            self.ids.places.add_widget(row)

    def _list(self, words: str, lines: list[DiveLine]) -> None:
        self._lines, self.listed_count = lines, len(lines)
        self.ids.dives.clear_widgets()
        self.listed = words
        self._show_lines(SHOWN_AT_ONCE)
        self.ids.dives_page.scroll_y = 1

    def _show_lines(self, count: int) -> None:
        box = self.ids.dives
        for line in self._lines[len(box.children) : count]:
            row = DiveButton(line=line, test_id="listed-dive")
            row.bind(on_release=lambda row: App.get_running_app().open_dive(row.line.dive_id))
            box.add_widget(row)
        self.lines_shown = len(box.children)


def reading_words(progress: Progress) -> str:
    """Return how far the samples are read, empty while nobody knows how many there are.

    >>> reading_words(Progress(400, 10_000))
    'Reading the samples once: 400 of 10000 dives.'
    """
    if not progress.all:
        return ""
    return _("Reading the samples once: {done} of {all} dives.").format(done=progress.done, all=progress.all)

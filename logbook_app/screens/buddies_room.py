"""Dives made together, laid over each other: choosing them, then who was where and how far apart."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty

from logbook_app.analysis.compared_dives import APART_M, APART_S, MOST_DIVES, Limits
from logbook_app.analysis.divers_together import moved
from logbook_app.analysis.likely_partners import LikelyPair
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.logbook import CODE_PHOTO_ENDINGS, can_read_codes
from logbook_app.screens.buddies_lines import (
    Said,
    Together,
    choice_words,
    pair_line,
    picked_words,
    together,
    views_of,
)
from logbook_app.screens.platform_services import Result, has_file_chooser, pick_files
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.check_row import CheckRow
from logbook_app.screens.widgets.line_sample import NamedLine
from logbook_app.screens.widgets.report_rows import DiveButton
from logbook_app.screens.widgets.words import Words

SHOWN_AT_ONCE = 12
ASKED_AFTER_S = 0.15  # steps that follow one another closely are one question


class BuddiesRoom(Room):
    """Choose two dives, or a group with its leader first, and see them on one chart."""

    pairs = ObjectProperty(())
    """The likely pairs (`LikelyPair`)."""

    looking = BooleanProperty(True)
    """True while likely partners are looked for."""

    picked = ListProperty([])
    """Ids of the dives that are chosen, the leader's first."""

    picked_line = StringProperty("")
    """Who leads and who is along."""

    choice_count = NumericProperty(0)
    """How many dives there are to choose from."""

    choices_shown = NumericProperty(0)
    """How many of them show."""

    newest_id = StringProperty("")
    """The owner's latest dive that can be handed over, empty for none."""

    newest_line = StringProperty("")
    """What that dive is."""

    reads_codes = BooleanProperty(False)
    """True where a photo of a picture code can be read here."""

    comparing = BooleanProperty(False)
    """True while dives are compared, False while they are chosen."""

    together = ObjectProperty(None, allownone=True)
    """The `Together` that is shown."""

    limit_m = NumericProperty(APART_M)
    """From which gap on two divers count as apart [m]."""

    limit_s = NumericProperty(APART_S)
    """How long a gap has to last to count [s]."""

    moving = BooleanProperty(False)
    """True while a line can be moved."""

    mover = StringProperty("")
    """Id of the dive whose line is moved."""

    lag_line = StringProperty("")
    """Where that line lies."""

    by_hand = BooleanProperty(False)
    """True where that line was moved by hand."""

    def __init__(self, **kwargs: Any) -> None:
        self._stale = True
        self._task: Any = None
        self._choices: list[Dive] = []
        self._units = SpokenUnits()
        self._lags_s: dict[str, float] = {}
        self._carried_s = 0.0
        self._compare_soon = Clock.create_trigger(lambda _dt: self._compare_again(), ASKED_AFTER_S)
        super().__init__(**kwargs)

    def entered(self) -> None:
        """Look for likely partners where anything may have changed, and take the keys of the chart."""
        Window.bind(on_key_down=self._on_key)
        if self._stale:
            self._ask()

    def left(self) -> None:
        """Look no further."""
        Window.unbind(on_key_down=self._on_key)
        if self._task is not None and not self._task.finished:
            self._task.cancel()
            self._stale = True

    def refresh(self, changes: Any) -> None:
        """Other dives, other units or other rules: ask again, now or at the next visit."""
        if changes.dives or changes.totals or changes.settings:
            self._stale = True
            if self.present:
                self._ask()

    def back(self) -> bool:
        """Go back to the choice of dives."""
        was_comparing, self.comparing, self.moving = self.comparing, False, False
        return was_comparing

    # Choosing

    def pick(self, dive_id: str) -> None:
        """Choose a dive, or let it go; the first one leads."""
        if dive_id in self.picked:
            self.picked = [each for each in self.picked if each != dive_id]
        elif len(self.picked) < MOST_DIVES:
            self.picked = [*self.picked, dive_id]
        else:
            App.get_running_app().say(_("Eight dives are as many as one chart can show."))
        self._mark_picked()
        if len(self.picked) < 2:
            self._ask_choices()

    def begin_with(self, dive_id: str) -> None:
        """Choose this dive, and offer those begun nearest to it."""
        self.comparing, self.picked = False, [dive_id]
        self._mark_picked()
        self._ask_choices()

    def start_again(self) -> None:
        """Let all chosen dives go."""
        self.picked = []
        self._ask_choices()

    def show_more(self) -> None:
        """Show more of the dives to choose from."""
        self._show_choices(int(self.choices_shown) + SHOWN_AT_ONCE)

    def read_photo(self) -> None:
        """Choose the photo of a picture code, with the device's own chooser or from its folders."""
        app = App.get_running_app()
        if has_file_chooser():
            pick_files(
                CODE_PHOTO_ENDINGS,
                lambda result: Clock.schedule_once(lambda _dt: _bring_in(result)),
                kind=_("Photos"),
                title=_("Choose the photo"),
            )
        else:
            app.go("import").offer_photos()

    # Comparing

    def compare(self, dive_ids: Sequence[str]) -> None:
        """Lay dives over each other, the leader's first."""
        self._lags_s, self.moving, wanted = {}, False, list(dive_ids)
        self.picked = wanted
        self._mark_picked()
        self._ask_comparison()

    def choose_limits(self, gap_m: list[str], lasts_s: list[str]) -> None:
        """Say from when on two divers count as apart."""
        self.limit_m, self.limit_s = float(gap_m[0]), float(lasts_s[0])
        self._compare_soon()

    def move(self, *, on: bool) -> None:
        """Let a line be moved, or leave it where it is."""
        self.moving = on
        if on and self.together is not None:
            self.choose_mover([self.together.lines[0].fingerprint])

    def choose_mover(self, chosen: list[str]) -> None:
        """Say whose line is moved."""
        self.mover, self._carried_s = chosen[0], 0.0
        self._say_lag()

    def step(self, by_s: float) -> None:
        """Move the line by some seconds."""
        self._carried_s += by_s
        self._draw_moved()
        self._compare_soon()

    def carry(self, by_s: float) -> None:
        """A finger carries the line; whole seconds, counted from where it was."""
        self._compare_soon.cancel()
        self._carried_s = float(round(by_s))
        self._draw_moved()

    def put_down(self) -> None:
        """The finger is gone: what is said follows."""
        if self._carried_s:
            self._compare_soon()

    def forget_moving(self) -> None:
        """Lay the line again where shapes or clocks put it."""
        self._lags_s.pop(self.mover, None)
        self._carried_s = 0.0
        self._compare_again()

    # Inside

    def _ask(self) -> None:
        self._stale = False
        self.looking = True
        app = App.get_running_app()
        self._task = app.run_long(
            lambda logbook, report, cancelled: logbook.buddies.likely(report, cancelled),
            then=self._show_pairs,
        )
        self._ask_choices()
        if self.comparing:
            self._ask_comparison()

    def _show_pairs(self, pairs: list[LikelyPair]) -> None:
        self.pairs, self.looking = tuple(pairs), False
        self.ids.likely.clear_widgets()
        for place, pair in enumerate(pairs):
            row = DiveButton(line=pair_line(pair), test_id=f"pair-{place}")
            row.bind(on_release=lambda _row, pair=pair: self.compare([pair.own.id, pair.other.id]))
            self.ids.likely.add_widget(row)

    def _ask_choices(self) -> None:
        leader = self.picked[0] if self.picked else ""

        def work(logbook: Any) -> tuple[list[Dive], SpokenUnits]:
            return logbook.buddies.to_choose_from(leader), SpokenUnits(logbook.settings().units)

        App.get_running_app().ask(work, then=self._take_choices, failed=self._leader_gone)

    def _leader_gone(self, error: Exception) -> None:
        """The dive that led is no longer there."""
        App.get_running_app().say_trouble(error)
        if self.picked:
            self.start_again()

    def _take_choices(self, answer: tuple[list[Dive], SpokenUnits]) -> None:
        self._choices, self._units = answer
        self.reads_codes = can_read_codes()
        there = {dive.id for dive in self._choices}
        self.picked = [dive_id for dive_id in self.picked if dive_id in there]
        self.choice_count = len(self._choices)
        own = [dive for dive in self._choices if dive.own]
        newest = max(own, key=lambda dive: dive.began_at, default=None)
        self.newest_id = newest.id if newest else ""
        self.newest_line = choice_words(newest, self._units) if newest else ""
        self.ids.choices.clear_widgets()
        self._show_choices(SHOWN_AT_ONCE)

    def _show_choices(self, count: int) -> None:
        box = self.ids.choices
        for dive in self._choices[len(box.children) : count]:
            row = CheckRow(words=choice_words(dive, self._units), test_id=f"choose-{dive.id}")
            row.bind(on_release=lambda _row, dive=dive: self.pick(dive.id))
            box.add_widget(row)
        self.choices_shown = len(box.children)
        self._mark_picked()

    def _mark_picked(self) -> None:
        for row in self.ids.choices.children:
            row.checked = row.test_id.removeprefix("choose-") in self.picked
        known = {dive.id: dive for dive in self._choices}
        self.picked_line = picked_words([known[each] for each in self.picked if each in known])

    def _ask_comparison(self) -> None:
        wanted, limits, lags_s = list(self.picked), self._limits(), dict(self._lags_s)

        def work(logbook: Any) -> Together:
            views, units = views_of(logbook, wanted)
            return together(views, units, limits, lags_s)

        App.get_running_app().ask(
            work, then=lambda answer: self._show(answer, wanted), failed=self._cannot_compare
        )

    def _compare_again(self) -> None:
        """Compare the same dives with other limits, or with a line moved."""
        if self.together is None or not self.comparing:
            return
        if self._carried_s:
            self._lags_s[self.mover] = self._lag_s(self.mover) + self._carried_s
            self._carried_s = 0.0
        before, limits, lags_s, wanted = self.together, self._limits(), dict(self._lags_s), list(self.picked)
        App.get_running_app().ask(
            lambda _logbook: together(before.views, before.units, limits, lags_s),
            then=lambda answer: self._show(answer, wanted),
        )

    def _limits(self) -> Limits:
        return Limits(float(self.limit_m), float(self.limit_s))

    def _lag_s(self, dive_id: str) -> float:
        laid = {beside.side.dive_id: beside.lag_s for beside in self.together.comparison.others}
        return self._lags_s.get(dive_id, laid[dive_id])

    def _cannot_compare(self, error: Exception) -> None:
        self.comparing = False
        App.get_running_app().say_trouble(error)

    def _show(self, answer: Together, wanted: list[str]) -> None:
        if wanted != list(self.picked):
            return  # other dives were chosen since
        chart, fresh = self.ids.chart, not self.comparing
        same = not fresh and self.together is not None and self.together.views[0] is answer.views[0]
        self.together, self.comparing = answer, True
        if not same:
            chart.section = answer.section
        self._draw_moved()
        self.ids.names.clear_widgets()
        for place, name in enumerate([answer.section.diver, *(line.words for line in answer.lines)]):
            self.ids.names.add_widget(NamedLine(place=place, text=name))
        self._set_out_said(answer.said)
        self.ids.gaps.rows, self.ids.table.rows = answer.gaps, answer.table
        if fresh:
            self.ids.compared.scroll_y = 1

    def _set_out_said(self, said: Sequence[Said]) -> None:
        self.ids.said.clear_widgets()
        for each in said:
            self.ids.said.add_widget(Words(text=each.name, bold=True))
            for sentence in each.sentences:
                self.ids.said.add_widget(Words(text=sentence, test_id="said"))

    def _draw_moved(self) -> None:
        """Draw the lines where they lie; one that is moved goes along at once."""
        if self.together is None:
            return
        laid = {beside.side.dive_id: beside.lag_s for beside in self.together.comparison.others}
        self.ids.chart.divers = [
            moved(line, self._aside_s(line.fingerprint, laid[line.fingerprint]))
            for line in self.together.lines
        ]
        self._say_lag()

    def _aside_s(self, dive_id: str, laid_s: float) -> float:
        """Return how far a line is from where the last comparison laid it: the worker may be behind [s]."""
        asked_s = self._lags_s.get(dive_id, laid_s) - laid_s
        return asked_s + (self._carried_s if dive_id == self.mover else 0.0)

    def _say_lag(self) -> None:
        if self.together is None or not self.mover:
            return
        known = {beside.side.dive_id: beside.lag_s for beside in self.together.comparison.others}
        if self.mover in known:
            by_s = self._aside_s(self.mover, known[self.mover])
            self.lag_line = self.together.lag_words(self.mover, by_s)
            self.by_hand = self.mover in self._lags_s or bool(self._carried_s)

    def _on_key(self, _window: Any, key: int, _scan: int, text: str | None, modifiers: list[str]) -> bool:
        return self.comparing and self.ids.chart.key(key, text, modifiers)


def _bring_in(result: Result) -> None:
    app = App.get_running_app()
    if result.ok:
        app.bring_in(list(result.value))
    elif result.reason:
        app.say(result.reason)

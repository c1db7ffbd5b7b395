"""What the columns of a table are: shown to the diver before a doubtful table is read.

The import page hands over the tables; what the diver decides is kept in the logbook for every table
with the same header, and handed back for each file. Where nothing says when the dive began, the
diver says it here, for this one file.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty

from logbook_app.analysis.spoken_units import SpokenUnits, spoken_duration
from logbook_app.language import _
from logbook_app.logbook import ColumnUse, Logbook, TablePreview, columns_text
from logbook_app.screens.columns_choice import (
    QUANTITIES,
    UNUSED,
    Uses,
    column_heading,
    column_values,
    columns_to_try,
    first_uses,
    table_text,
    unit_answers,
    what_follows,
    what_is_needed,
    with_quantity,
    with_unit,
)
from logbook_app.screens.entry_draft import EntryDraft, began_local
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.column_card import ColumnCard
from logbook_app.screens.widgets.date_time_entry import BEGAN_AT

LAID_OUT_AFTER_S = 0.05


@dataclass(frozen=True, slots=True)
class TableQuestion:
    """A table to look at, and the file that it is in."""

    path: Path
    preview: TablePreview


@dataclass(frozen=True, slots=True)
class TableAnswers:
    """What the diver decided: the list of columns of each file, and the files to leave out."""

    columns: dict[Path, str]
    left_out: frozenset[Path]


class ColumnsPage(Room):
    """One table after the other."""

    question = ObjectProperty(None, allownone=True)
    """The table that is shown (`TableQuestion`)."""

    uses = ListProperty([])
    """What each of its columns is taken for."""

    began_on = ObjectProperty(None, allownone=True)
    """Day of the dive; None is today."""

    began_time = ObjectProperty(None, allownone=True)
    """Time of day that it began, None while it is not said."""

    today = ObjectProperty(None, allownone=True)
    """The day by the clock on the dock."""

    asking = BooleanProperty(False)
    """True while the pad asks for the time."""

    asked_count = NumericProperty(0)
    """How many tables there are to look at."""

    left_count = NumericProperty(0)
    """How many come after this one."""

    may_leave_out = BooleanProperty(False)
    """True where the diver can go on without a table."""

    summary = StringProperty("")
    """How the table will be read, or what is still needed."""

    ready = BooleanProperty(False)
    """True where nothing is needed any more."""

    trial = StringProperty("")
    """What dive comes of it, or why none does; empty while that cannot be said."""

    below = BooleanProperty(False)
    """True where what follows stands at the end of the table."""

    table_text = StringProperty("")
    """The first lines of the table."""

    def __init__(self, **kwargs: Any) -> None:
        self._waiting: list[TableQuestion] = []
        self._columns: dict[Path, str] = {}
        self._left_out: set[Path] = set()
        self._tried, self._readable = "", False
        self._done: Callable[[TableAnswers], None] = lambda _answers: None
        super().__init__(**kwargs)

    def on_kv_post(self, _base_widget: Any) -> None:
        """Listen to the field of the time."""
        self.ids.when.ids.clock.bind(on_ask=lambda *_: self.ask_for_time())

    def on_below(self, *_args: Any) -> None:
        """Put what follows where there is room for it."""
        card = self.ids.follows
        card.parent.remove_widget(card)
        (self.ids.at_the_end if self.below else self.ids.in_view).add_widget(card)

    def ask_about(
        self,
        questions: Sequence[TableQuestion],
        done: Callable[[TableAnswers], None],
        *,
        may_leave_out: bool = False,
    ) -> None:
        """Show the tables one after the other; call `done` after the last.

        may_leave_out   True where the diver can go on without one of them
        """
        self._waiting, self._done, self.may_leave_out = list(questions), done, may_leave_out
        self._columns, self._left_out = {}, set()
        self.asked_count = len(questions)
        self._next()

    def back(self) -> bool:
        """Put the pad away where it is open."""
        was_open = self.asking
        self.put_pad_away()
        return was_open

    # What the diver does

    def choose_quantity(self, place: int, answer: str) -> None:
        """Take a column for something else."""
        quantity = "" if answer == UNUSED else answer
        self.uses = with_quantity(self.question.preview, self._uses, place, quantity)
        self._show()

    def choose_unit(self, place: int, unit: str) -> None:
        """Take a column in another unit."""
        self.uses = with_unit(self._uses, place, unit)
        self._show()

    def take_day(self, day: date | None) -> None:
        """Take the day; None is today."""
        self.began_on = day
        self._show()

    def ask_for_time(self) -> None:
        """Open the pad for the time."""
        self.asking = True
        self.ids.pad.ask(BEGAN_AT, BEGAN_AT.text(self.began_time), _("Done"))
        self._show()
        Clock.schedule_once(lambda _dt: self._bring_into_view(), LAID_OUT_AFTER_S)

    def take_typed(self, text: str) -> None:
        """Take what the pad has so far."""
        if self.asking:
            self.began_time = BEGAN_AT.value(text)
            self._show()

    def put_pad_away(self) -> None:
        """Close the pad; what was typed stays."""
        self.asking = False
        self.ids.pad.asked = None
        if self.question is not None:
            self._show()

    def keep(self) -> None:
        """Keep what was decided, for this file and for every table with its header."""
        preview, began = self.question.preview, self._began()
        columns = columns_text(self._uses)
        began_text = began.isoformat(timespec="minutes") if preview.needs_start and began else ""
        self._columns[self.question.path] = columns_text(self._uses, began_text)
        if preview.header_digest:
            digest = preview.header_digest
            App.get_running_app().ask(lambda logbook: logbook.remember_columns(digest, columns))
            self._settle(digest, columns)
        self._next()

    def leave_out(self) -> None:
        """Go on without this file."""
        self._left_out.add(self.question.path)
        self._next()

    # Inside

    @property
    def _uses(self) -> Uses:
        uses: list[ColumnUse] = list(self.uses)
        return tuple(uses)

    def _settle(self, digest: str, columns: str) -> None:
        """Ask no more about the same header, but for the start of a dive that nothing else tells."""
        self._waiting = [
            TableQuestion(one.path, one.preview.settled_as(columns))
            if one.preview.header_digest == digest
            else one
            for one in self._waiting
        ]
        self._waiting = [
            one for one in self._waiting if one.preview.asks or one.preview.header_digest != digest
        ]

    def _next(self) -> None:
        self.put_pad_away()
        self.left_count = max(0, len(self._waiting) - 1)
        if not self._waiting:
            self.question = None
            App.get_running_app().back()
            self._done(TableAnswers(dict(self._columns), frozenset(self._left_out)))
            return
        self.began_on = self.began_time = None
        self._tried, self._readable, self.trial = "", False, ""
        self.question = self._waiting.pop(0)
        self.uses = first_uses(self.question.preview)
        self._set_out()
        self._show()
        self.ids.scroll.scroll_y = 1

    def _set_out(self) -> None:
        preview = self.question.preview
        self.table_text = table_text(preview)
        self.ids.columns.clear_widgets()
        for place in range(len(preview.uses)):
            card = ColumnCard(
                place=place,
                heading=column_heading(preview, place),
                values=column_values(preview, place),
                quantities=[(name, _(words)) for name, words in QUANTITIES],
            )
            card.bind(
                on_quantity=lambda _card, place, answer: self.choose_quantity(place, answer),
                on_unit=lambda _card, place, unit: self.choose_unit(place, unit),
            )
            self.ids.columns.add_widget(card)

    def _show(self) -> None:
        """Bring the cards, the start and the sentence in line with what is decided."""
        now = App.get_running_app().now()
        self.today = now.date()
        if self.question is None:
            return
        preview, uses, began = self.question.preview, self._uses, self._began()
        for card in self.ids.columns.children:
            use = uses[card.place]
            card.quantity, card.unit = use.quantity or UNUSED, use.unit
            card.units = unit_answers(preview, uses, card.place)
        clock = self.ids.when.ids.clock
        clock.active = self.asking
        clock.text = self.ids.pad.text if self.asking else BEGAN_AT.text(self.began_time)
        late = began is not None and began > now
        self.ids.when.trouble = _("That is still to come. Check the day and the time.") if late else ""
        began = None if late else began
        self.summary = what_follows(preview, uses, began)
        self._try(columns_to_try(preview, uses))
        self.ready = self._readable and not what_is_needed(preview, uses, began)

    def _try(self, columns: str) -> None:
        """See in the background what dive comes of the columns."""
        if columns == self._tried:
            return
        self._tried, self._readable, self.trial = columns, False, ""
        if columns:
            path = self.question.path
            App.get_running_app().ask(
                lambda logbook: _dive_words(logbook, path, columns),
                then=lambda words: self._take_trial(columns, words, readable=True),
                failed=lambda error: self._take_trial(columns, str(error), readable=False),
            )

    def _take_trial(self, columns: str, words: str, *, readable: bool) -> None:
        if columns == self._tried and self.question is not None:
            self.trial, self._readable = words, readable
            self._show()

    def _began(self) -> datetime | None:
        """Return when the dive began by the clock on the dock, None while the time is not said."""
        if self.began_time is None:
            return None
        draft = EntryDraft(began_on=self.began_on, began_time=self.began_time)
        return began_local(draft, App.get_running_app().now())

    def _bring_into_view(self) -> None:
        clock = self.ids.when.ids.clock
        if self.asking and clock.get_root_window() is not None:
            self.ids.scroll.scroll_to(clock)


def _dive_words(logbook: Logbook, path: Path, columns: str) -> str:
    dive, units = logbook.dive_in_table(path, columns), SpokenUnits(logbook.settings().units)
    return _("A dive of {duration}, {depth} deep.").format(
        duration=spoken_duration(dive.duration_min), depth=units.depth(dive.max_depth_m)
    )

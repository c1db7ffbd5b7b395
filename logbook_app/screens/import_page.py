"""Bring in recordings: choose the files, say whose they are, watch, and read what came of it.

Nothing is passed over in silence: the report names every dive added and joined, counts those that
were there already, and has a sentence for everything odd. What seems to be one dive twice is
offered, and the whole import can be taken back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, OptionProperty

from logbook_app.analysis.import_report import Offer
from logbook_app.analysis.same_dive import JoinOffer
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.changes import Changes
from logbook_app.dive.problems import Cancelled, RefusedFile
from logbook_app.language import _
from logbook_app.logbook import CODE_PHOTO_ENDINGS, FORMATS, ImportReport, Logbook, ReadOptions
from logbook_app.screens.columns_page import TableAnswers, TableQuestion
from logbook_app.screens.import_words import (
    TAKEN_BACK,
    DiveLine,
    OfferLine,
    ReportWords,
    offer_line,
    report_words,
    settled_offers,
)
from logbook_app.screens.platform_services import (
    Result,
    files_below,
    has_file_chooser,
    pick_files,
    starting_folder,
)
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.report_rows import DiveButton, NoteLine, OfferRow
from logbook_app.screens.widgets.rows_by_frame import RowsByFrame

SHOWN_AT_ONCE = 30
MANY_FILES = 20  # looking at fewer takes no time worth a bar
CHOOSING, READING, REPORT = "choosing", "reading", "report"
MINE, OTHERS = "mine", "others"

Reporting = Callable[[int, int, str], None]
Cancelling = Callable[[], bool]


class ImportPage(Room):
    """Three steps on one page: choosing, reading, the report."""

    step = OptionProperty(CHOOSING, options=[CHOOSING, READING, REPORT])
    """Which of the three shows."""

    endings = ListProperty(FORMATS)
    """Endings of the files that can be read."""

    chosen = ListProperty([])
    """The files to read."""

    whose = OptionProperty(MINE, options=[MINE, OTHERS])
    """Whose recordings they are."""

    asking_whose = BooleanProperty(False)
    """True while a small window asks whose they are."""

    has_chooser = BooleanProperty(False)
    """True where the device has a chooser of its own."""

    report = ObjectProperty(None, allownone=True)
    """What came of it, in words (`ReportWords`)."""

    dives_shown = NumericProperty(SHOWN_AT_ONCE)
    """How many dives of the report show so far."""

    notes_shown = NumericProperty(SHOWN_AT_ONCE)
    """How many notes of the report show so far."""

    def __init__(self, **kwargs: Any) -> None:
        self._columns: dict[Path, str] = {}
        self._rows = RowsByFrame()
        super().__init__(**kwargs)

    def entered(self) -> None:
        """Look at the device and at the folder; a report that waits is left as it is."""
        self.has_chooser = has_file_chooser()
        files = self.ids.files
        if files.folder is None:
            files.folder = starting_folder()
        files.look_again()

    def left(self) -> None:
        """Show recordings alone again."""
        self.endings = FORMATS

    # Choosing

    def offer_photos(self) -> None:
        """Show photos as well until the page is left: one of them may be of a picture code."""
        self.endings = (*FORMATS, *CODE_PHOTO_ENDINGS)
        self.ids.files.look_again()

    def ask_device(self) -> None:
        """Open the device's own chooser."""
        pick_files(FORMATS, _on_drawing_thread(self._picked))

    def choose(self, paths: Sequence[Path]) -> None:
        """Choose files, and everything that can be read in folders and below them."""
        if self.step == READING:
            App.get_running_app().say(_("Recordings are being read. Bring these in after the report."))
            return
        self.step, self.report = CHOOSING, None
        App.get_running_app().run_long(
            lambda logbook, report, cancelled: _files_in(logbook, paths, report, cancelled),
            words=_("Looking through the folders") if any(path.is_dir() for path in paths) else "",
            then=self._found,
        )

    def choose_folder(self, folder: Path) -> None:
        """Choose everything in a folder and below it, or nothing where something is chosen."""
        if self.chosen:
            self.ids.files.chosen = []
        else:
            self.choose([folder])

    def choose_whose(self, whose: str) -> None:
        """Take whose recordings they are."""
        self.whose, self.asking_whose = whose, whose == OTHERS

    def look_at_columns(self, path: Path) -> None:
        """Show what the columns of one table are taken for."""
        App.get_running_app().ask(
            lambda logbook: logbook.columns_for(path), then=lambda preview: self._show_columns(path, preview)
        )

    def begin(self) -> None:
        """Ask about tables that leave a doubt, then read the chosen files in the background."""
        paths = [path for path in self.chosen if path not in self._columns]
        self.step = READING
        App.get_running_app().run_long(
            lambda logbook, report, cancelled: _doubts(logbook, paths, report, cancelled),
            words=_("Looking at the tables") if len(paths) > MANY_FILES else "",
            then=self._doubts_known,
            failed=self._failed,
        )

    # The report

    def show_report(self, change_id: int) -> None:
        """Show the report of an earlier import."""
        if self.step == READING:
            App.get_running_app().say(_("Recordings are being read. Look at earlier imports afterwards."))
            return
        App.get_running_app().ask(
            lambda logbook: _earlier_report(logbook, change_id), then=self._show_report, failed=self._failed
        )

    def open_dive(self, dive_id: str) -> None:
        """Show the page of a dive."""
        App.get_running_app().open_dive(dive_id)

    def accept(self, line: OfferLine) -> None:
        """Do what an offer offers; it can be undone."""
        App.get_running_app().ask(
            lambda logbook: _accept(logbook, line.offer), then=lambda answer: self._accepted(line, *answer)
        )

    def undo_import(self) -> None:
        """Take the whole import back."""
        before, app = self.report, App.get_running_app()

        def not_undone(error: Exception) -> None:
            self.report = before
            app.say_trouble(error)

        if before.import_id:
            self.report = replace(before, import_id=0)  # a second touch finds nothing to take back
            app.ask(lambda logbook: logbook.undo_import(before.import_id), self._taken_back, not_undone)

    def show_more_dives(self) -> None:
        """Show the next dives of the report."""
        self.dives_shown += SHOWN_AT_ONCE

    def show_more_notes(self) -> None:
        """Show the next notes of the report."""
        self.notes_shown += SHOWN_AT_ONCE

    def choose_again(self) -> None:
        """Bring in more."""
        self.step, self.report = CHOOSING, None
        self.ids.files.look_again()

    def on_report(self, *_args: Any) -> None:
        """Set out the report."""
        self._set_out()

    def on_dives_shown(self, *_args: Any) -> None:
        """Set out more of the report."""
        self._set_out()

    def on_notes_shown(self, *_args: Any) -> None:
        """Set out more of the report."""
        self._set_out()

    # Inside

    def _diver(self) -> str:
        return " ".join(self.ids.diver.text.split()) if self.whose == OTHERS else ""

    def _picked(self, result: Result) -> None:
        if result.ok:
            self._choose_all(result.value)
        elif result.reason:
            self.has_chooser = False
            App.get_running_app().say(result.reason)

    def _choose_all(self, paths: Iterable[Path]) -> None:
        self.ids.files.chosen = list(dict.fromkeys([*self.chosen, *paths]))

    def _found(self, paths: list[Path]) -> None:
        self._choose_all(paths)
        if not paths:
            App.get_running_app().say(_("No recording was found there."))

    def _show_columns(self, path: Path, preview: Any) -> None:
        app = App.get_running_app()
        if preview is None:
            app.say(
                _("{name} is no table of times and depths; what it holds is told by the file itself.").format(
                    name=path.name
                )
            )
            return
        app.shell.rooms.room("columns").ask_about([TableQuestion(path, preview)], self._columns_decided)
        app.go("columns")

    def _columns_decided(self, answers: TableAnswers) -> None:
        self._columns |= answers.columns

    def _doubts_known(self, questions: list[TableQuestion]) -> None:
        app = App.get_running_app()
        if not questions:
            self._read()
            return
        self.step = CHOOSING
        app.shell.rooms.room("columns").ask_about(
            questions, self._all_decided, may_leave_out=len(self.chosen) > 1
        )
        app.go("columns")

    def _all_decided(self, answers: TableAnswers) -> None:
        self._columns |= answers.columns
        self.ids.files.chosen = [path for path in self.chosen if path not in answers.left_out]
        if self.chosen:
            self._read()

    def _read(self) -> None:
        paths, options, columns = list(self.chosen), ReadOptions(diver=self._diver()), dict(self._columns)
        self.step = READING
        App.get_running_app().run_long(
            lambda logbook, report, cancelled: _import(logbook, paths, options, columns, report, cancelled),
            words=_("Bringing in recordings"),
            then=self._was_read,
            failed=self._failed,
        )

    def _was_read(self, answer: tuple[ImportReport, ReportWords]) -> None:
        report, words = answer
        self.ids.files.chosen, self._columns = [], {}
        self._show_report(words)
        app = App.get_running_app()
        app.changed(report.changes)
        if not self.present:
            app.say(_("The recordings are read. {heading}").format(heading=words.heading))

    def _show_report(self, words: ReportWords) -> None:
        self.dives_shown = self.notes_shown = SHOWN_AT_ONCE
        self.report, self.step = words, REPORT
        self.ids.report_page.scroll_y = 1

    def _failed(self, error: Exception) -> None:
        if self.step == READING:
            self.step = CHOOSING
        App.get_running_app().say_trouble(error)

    def _accepted(self, line: OfferLine, changes: Changes, further: list[OfferLine]) -> None:
        app, done = App.get_running_app(), offer_line(line.offer, done=True)

        def undone(undo: Changes) -> None:
            self._put_offers({done: line} | dict.fromkeys(further))
            app.changed(undo)

        self._put_offers({line: done}, further)
        app.changed(changes)
        app.say(
            done.done, undo=lambda: app.ask(lambda logbook: logbook.undo_import(changes.undo_id), then=undone)
        )

    def _put_offers(
        self, instead: dict[OfferLine, OfferLine | None], further: Sequence[OfferLine] = ()
    ) -> None:
        """Show other offers in place of some, none where it says None, and further ones after them."""
        if self.report is not None:
            offers = [instead.get(offer, offer) for offer in self.report.offers]
            known = [offer for offer in offers if offer is not None]
            self.report = replace(self.report, offers=(*known, *further))

    def _taken_back(self, changes: Changes) -> None:
        self.report = ReportWords(heading=_(TAKEN_BACK["import"]))
        App.get_running_app().changed(changes)

    def _set_out(self) -> None:
        words, notes_shown = self.report or ReportWords(), int(self.notes_shown)
        self._rows.fill(
            {
                self.ids.offers: (self._offer_row(line) for line in words.offers),
                self.ids.notes: (NoteLine(text=sentence) for sentence in words.notes[:notes_shown]),
                self.ids.doings: (NoteLine(text=sentence) for sentence in words.doings[:notes_shown]),
                self.ids.dives: (self._dive_row(line) for line in words.dives[: int(self.dives_shown)]),
            }
        )

    def _dive_row(self, line: DiveLine) -> DiveButton:
        return DiveButton(line=line, on_release=lambda row: self.open_dive(row.line.dive_id))

    def _offer_row(self, line: OfferLine) -> OfferRow:
        row = OfferRow(line=line)
        row.bind(on_accept=lambda row: self.accept(row.line))
        return row


def _files_in(
    logbook: Logbook, paths: Sequence[Path], report: Reporting, cancelled: Cancelling
) -> list[Path]:
    """Return the files among the paths, and those in the folders among them that may hold dives."""
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            for file in files_below(path, FORMATS):
                if cancelled():
                    raise Cancelled(_("Looking through the folders was stopped; nothing was chosen."))
                if logbook.may_hold_dives(file):
                    found.append(file)
                report(0, 0, _("{count} files").format(count=len(found)))
        else:
            found.append(path)
    return found


def _doubts(
    logbook: Logbook, paths: Sequence[Path], report: Reporting, cancelled: Cancelling
) -> list[TableQuestion]:
    """Return the tables that the diver has to look at before they are read."""
    found = []
    for done, path in enumerate(paths):
        if cancelled():
            raise Cancelled(_("Looking at the tables was stopped; nothing was read."))
        report(done, len(paths), path.name)
        try:
            preview = logbook.columns_for(path)
        except RefusedFile:
            continue  # reading it says so in the report
        if preview is not None and preview.asks:
            found.append(TableQuestion(path, preview))
    return found


def _import(
    logbook: Logbook,
    paths: list[Path],
    options: ReadOptions,
    columns: dict[Path, str],
    report: Reporting,
    cancelled: Cancelling,
) -> tuple[ImportReport, ReportWords]:
    done = logbook.import_files(paths, options, report, cancelled, columns)
    dives = [logbook.dive(dive_id) for dive_id in (*done.added, *done.joined)]
    return done, report_words(done, dives, SpokenUnits(logbook.settings().units))


def _earlier_report(logbook: Logbook, change_id: int) -> ReportWords:
    """Return the report of an earlier import, with what is still there of it."""
    changes = logbook.imports()
    report = next(change.report for change in changes if change.id == change_id) or ImportReport()
    gone = {dive.id for dive, _ in logbook.binned()}
    dives = [logbook.dive(dive_id) for dive_id in (*report.added, *report.joined) if dive_id not in gone]
    units = SpokenUnits(logbook.settings().units)
    return report_words(report, dives, units, settled_offers(report, changes, gone))


def _accept(logbook: Logbook, offer: Offer) -> tuple[Changes, list[OfferLine]]:
    """Do what an offer offers; return what that offers in turn: dives that meet on the moved clock."""
    if isinstance(offer, JoinOffer):
        return logbook.join_dives(offer.keep_id, offer.other_id), []
    changes = logbook.shift_clock(offer.dive_ids, offer.minutes)
    return changes, [offer_line(double) for double in logbook.doubles(offer.dive_ids)]


def _on_drawing_thread(callback: Callable[[Result], None]) -> Callable[[Result], None]:
    """Return a callable that brings a result from any thread to the drawing thread."""
    return lambda result: Clock.schedule_once(lambda _dt: callback(result)) and None

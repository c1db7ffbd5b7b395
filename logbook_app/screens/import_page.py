"""Bring in recordings: choose the files, say whose they are, watch, and read what came of it.

Nothing is passed over in silence: the report names every dive added and joined, counts those that
were there already, and has a sentence for everything odd.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, OptionProperty

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.logbook import FORMATS, ImportReport, ReadOptions
from logbook_app.screens.import_words import ReportWords, report_words
from logbook_app.screens.platform_services import Result, has_file_chooser, pick_files, starting_folder
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.report_rows import DiveButton, NoteLine

SHOWN_AT_ONCE = 30
CHOOSING, READING, REPORT = "choosing", "reading", "report"
MINE, OTHERS = "mine", "others"


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

    has_chooser = BooleanProperty(False)
    """True where the device has a chooser of its own."""

    report = ObjectProperty(None, allownone=True)
    """What came of it, in words (`ReportWords`)."""

    dives_shown = NumericProperty(SHOWN_AT_ONCE)
    """How many dives of the report show so far."""

    notes_shown = NumericProperty(SHOWN_AT_ONCE)
    """How many notes of the report show so far."""

    def entered(self) -> None:
        """Look at the device and at the folder; a report that waits is left as it is."""
        self.has_chooser = has_file_chooser()
        files = self.ids.files
        if files.folder is None:
            files.folder = starting_folder()
        files.look_again()

    # Choosing

    def ask_device(self) -> None:
        """Open the device's own chooser."""
        pick_files(FORMATS, _on_drawing_thread(self._picked))

    def begin(self) -> None:
        """Read the chosen files in the background."""
        paths, options = list(self.chosen), ReadOptions(diver=self._diver())
        self.step = READING
        App.get_running_app().run_long(
            lambda logbook, report, cancelled: _import(logbook, paths, options, report, cancelled),
            words="Bringing in recordings",
            then=self._read,
            failed=self._failed,
        )

    def choose_whose(self, whose: str) -> None:
        """Take whose recordings they are."""
        self.whose = whose

    # The report

    def open_dive(self, dive_id: str) -> None:
        """Show the page of a dive."""
        App.get_running_app().open_dive(dive_id)

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
        """Set out the report from its beginning."""
        self.dives_shown = self.notes_shown = SHOWN_AT_ONCE
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
            self.ids.files.chosen = list(dict.fromkeys([*self.chosen, *result.value]))
        elif result.reason:
            self.has_chooser = False
            App.get_running_app().say(result.reason)

    def _read(self, answer: tuple[ImportReport, ReportWords]) -> None:
        report, self.report = answer
        self.ids.files.chosen = []
        self.step = REPORT
        app = App.get_running_app()
        app.changed(report.changes)
        if not self.present:
            app.say(f"The recordings are read. {self.report.heading}")

    def _failed(self, error: Exception) -> None:
        self.step = CHOOSING
        App.get_running_app().say_trouble(error)

    def _set_out(self) -> None:
        words = self.report or ReportWords("", (), (), ())
        self.ids.dives.clear_widgets()
        for line in words.dives[: int(self.dives_shown)]:
            self.ids.dives.add_widget(
                DiveButton(line=line, on_release=lambda row: self.open_dive(row.line.dive_id))
            )
        self.ids.notes.clear_widgets()
        for sentence in words.notes[: int(self.notes_shown)]:
            self.ids.notes.add_widget(NoteLine(text=sentence))


def _import(
    logbook: Any,
    paths: list[Path],
    options: ReadOptions,
    report: Callable[[int, int, str], None],
    cancelled: Callable[[], bool],
) -> tuple[ImportReport, ReportWords]:
    done: ImportReport = logbook.import_files(paths, options, report, cancelled)
    dives = [logbook.dive(dive_id) for dive_id in (*done.added, *done.joined)]
    return done, report_words(done, dives, SpokenUnits(logbook.settings().units))


def _on_drawing_thread(callback: Callable[[Result], None]) -> Callable[[Result], None]:
    """Return a callable that brings a result from any thread to the drawing thread."""
    return lambda result: Clock.schedule_once(lambda _dt: callback(result)) and None

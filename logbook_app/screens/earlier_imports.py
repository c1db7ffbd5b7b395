"""Earlier imports, joins and shifts of clocks: what each did, its report, and the way to take it back."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, NumericProperty

from logbook_app.dive.changes import Changes
from logbook_app.screens.import_words import PastLine, past_line
from logbook_app.screens.rooms import Room
from logbook_app.screens.widgets.report_rows import PastRow

SHOWN_AT_ONCE = 20


class EarlierImports(Room):
    """The list, the latest first."""

    lines_shown = NumericProperty(SHOWN_AT_ONCE)
    """How many show so far."""

    count = NumericProperty(0)
    """How many there are."""

    empty = BooleanProperty(False)
    """True where nothing was brought in yet."""

    def __init__(self, **kwargs: Any) -> None:
        self._lines: list[PastLine] = []
        super().__init__(**kwargs)

    def entered(self) -> None:
        """Ask for the list."""
        self._ask()

    def refresh(self, changes: Changes) -> None:
        """Ask again where the list is shown."""
        if self.present and (changes.dives or changes.totals):
            self._ask()

    def read_report(self, change_id: int) -> None:
        """Show the report of an import on its page."""
        app = App.get_running_app()
        app.shell.rooms.room("import").show_report(change_id)
        app.go("import")

    def undo(self, line: PastLine) -> None:
        """Take back an import, a join or a shift."""
        app = App.get_running_app()

        def undone(changes: Changes) -> None:
            app.changed(changes)
            app.say(line.taken_back)

        app.ask(lambda logbook: logbook.undo_import(line.change_id), then=undone)

    def show_more(self) -> None:
        """Show the next ones."""
        self.lines_shown += SHOWN_AT_ONCE

    def on_lines_shown(self, *_args: Any) -> None:
        """Set out more of them."""
        self._set_out()

    def _ask(self) -> None:
        now = App.get_running_app().now()
        App.get_running_app().ask(
            lambda logbook: [past_line(change, now) for change in logbook.imports()], then=self._show
        )

    def _show(self, lines: list[PastLine]) -> None:
        self._lines, self.count, self.empty = lines, len(lines), not lines
        self._set_out()

    def _set_out(self) -> None:
        self.ids.lines.clear_widgets()
        for line in self._lines[: int(self.lines_shown)]:
            row = PastRow(line=line)
            row.bind(
                on_read=lambda row: self.read_report(row.line.change_id),
                on_undo=lambda row: self.undo(row.line),
            )
            self.ids.lines.add_widget(row)

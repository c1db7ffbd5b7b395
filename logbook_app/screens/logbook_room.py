"""All dives, the newest first, and those that were deleted."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, NumericProperty, StringProperty

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.screens.logbook_lines import binned_words, counts, row_words
from logbook_app.screens.rooms import Room


class LogbookRoom(Room):
    """The list of dives. It asks the logbook when it is entered and something changed since."""

    counts = StringProperty("")
    """How many dives, how many hours."""

    deleted_count = NumericProperty(0)
    """How many dives are in the bin."""

    showing_bin = BooleanProperty(False)
    """True while the deleted dives are listed."""

    empty = BooleanProperty(False)
    """True where the logbook has no dive."""

    def __init__(self, **kwargs: Any) -> None:
        self._stale = True
        self._rows: list[Any] = []
        self._binned: list[Any] = []
        self._units = SpokenUnits()
        super().__init__(**kwargs)
        App.get_running_app().look.bind(narrow=lambda *_: self._list_rows())

    def entered(self) -> None:
        """Ask for the dives where any may have changed."""
        if self._stale:
            self._ask()

    def refresh(self, changes: Any) -> None:
        """Other dives or other units: ask again, now or at the next visit."""
        if changes.dives or changes.totals or changes.settings:
            self._stale = True
            if self.present:
                self._ask()

    def back(self) -> bool:
        """Leave the list of deleted dives where it is shown."""
        was_showing, self.showing_bin = self.showing_bin, False
        return was_showing

    def choose(self, dive_id: str) -> None:
        """Open the page of a dive, or take it out of the bin."""
        if not self.showing_bin:
            App.get_running_app().open_dive(dive_id)
            return
        restored = next(dive for dive, _at in self._binned if dive.id == dive_id)
        name = "The dive" if restored.number is None else f"Dive {restored.number}"
        app = App.get_running_app()
        app.ask(
            lambda logbook: logbook.restore_dive(dive_id),
            then=lambda changes: (app.changed(changes), app.say(f"{name} is back in the logbook.")),
        )

    def on_showing_bin(self, *_args: Any) -> None:
        """Show the other list."""
        self._list_rows()
        self.ids.dives.scroll_y = 1

    def _ask(self) -> None:
        self._stale = False
        App.get_running_app().ask(
            lambda logbook: (logbook.rows(), logbook.binned(), logbook.settings().units), then=self._show
        )

    def _show(self, answer: tuple[list[Any], list[Any], str]) -> None:
        self._rows, self._binned, system = answer
        self._units = SpokenUnits(system)
        self.counts = counts(self._rows)
        self.deleted_count = len(self._binned)
        self.empty = not self._rows
        if not self._binned:
            self.showing_bin = False
        self._list_rows()

    def _list_rows(self) -> None:
        narrow = App.get_running_app().look.narrow
        if self.showing_bin:
            self.ids.dives.data = [binned_words(dive, at, self._units) for dive, at in self._binned]
        else:
            self.ids.dives.data = [row_words(row, self._units, narrow) for row in self._rows]

"""What became of a dive: every change in words, the newest first, and the way back from each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.card import Card

SHOWN_AT_ONCE = 6


class HistoryRow(KvBeside, BoxLayout):
    """One line of the history. Event: `on_put_back`."""

    __events__ = ("on_put_back",)

    line = ObjectProperty(None, rebind=True)
    """What it says (`HistoryLine`)."""

    def on_put_back(self) -> None:
        """The diver wants this back."""


class HistoryCard(Card):
    """Event: `on_put_back(ids)` with the lines of the history that are to be put back."""

    __events__ = ("on_put_back",)

    lines = ObjectProperty(())
    """What to list (`HistoryLine`)."""

    shown = NumericProperty(SHOWN_AT_ONCE)
    """How many show so far."""

    more = BooleanProperty(False)
    """True where there are more."""

    def on_lines(self, *_args: Any) -> None:
        """List the history anew."""
        self._set_out(self.lines)

    def on_shown(self, *_args: Any) -> None:
        """List more of it."""
        self._set_out(self.lines)

    def show_more(self) -> None:
        """Show the lines before."""
        self.shown += 4 * SHOWN_AT_ONCE

    def on_put_back(self, ids: tuple[int, ...]) -> None:
        """The diver wants something back."""

    def _set_out(self, lines: Sequence[Any]) -> None:
        self.more = len(lines) > self.shown
        self.ids.rows.clear_widgets()
        for line in lines[: int(self.shown)]:
            row = HistoryRow(line=line)
            row.bind(on_put_back=lambda row: self.dispatch("on_put_back", row.line.ids))
            self.ids.rows.add_widget(row)

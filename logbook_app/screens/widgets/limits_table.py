"""The next dive's no-stop times by depth, in a table with hairlines."""

from __future__ import annotations

from typing import Any

from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class LimitsRow(KvBeside, BoxLayout):
    """One depth."""

    depth = StringProperty("")
    """The depth with its unit."""

    now = StringProperty("")
    """No-stop time of a dive begun now."""

    later = StringProperty("")
    """No-stop time of a dive begun an hour later."""


class LimitsTable(KvBeside, BoxLayout):
    """Rows of depth, no-stop time now, and after one hour more."""

    rows = ObjectProperty(())
    """Tuples of three texts."""

    shown_rows = NumericProperty(0)
    """How many rows there are."""

    when = StringProperty("now")
    """What the instant of the first times is called."""

    test_id = StringProperty("limits-table")
    """How tests find it."""

    def on_rows(self, _table: Any, rows: tuple[tuple[str, str, str], ...]) -> None:
        """Set the texts, keeping the widgets where there are as many rows as before."""
        body = self.ids.body
        while len(body.children) < len(rows):
            body.add_widget(LimitsRow())
        while len(body.children) > len(rows):
            body.remove_widget(body.children[0])
        for row, (depth, now, later) in zip(reversed(body.children), rows, strict=True):
            row.depth, row.now, row.later = depth, now, later
        self.shown_rows = len(rows)

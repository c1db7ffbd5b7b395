"""A table with a column for each diver; where there is no room for columns, a line for each."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.words import Quiet, Words

COLUMN_DP = 118  # the least that a figure with its time needs


class SideRow(KvBeside, BoxLayout):
    """One heading with what each side has."""

    heading = StringProperty("")
    """What it is."""

    stacked = BooleanProperty(False)
    """True where the sides stand under one another."""


class SideTable(KvBeside, BoxLayout):
    """Rows of a heading and a cell for each side; the first row names the sides."""

    rows = ObjectProperty(())
    """Pairs of a heading and its cells."""

    test_id = StringProperty("table")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        self._stacked: bool | None = None
        self._set_out_soon = Clock.create_trigger(lambda _dt: self._set_out_anew(), -1)
        super().__init__(**kwargs)
        self.fbind("width", self._set_out_soon)
        App.get_running_app().look.tell(self, lambda table: table._set_out_soon(), "text_scale")

    def on_rows(self, *_args: Any) -> None:
        """Show other rows."""
        self._stacked = None
        self._set_out_soon()

    def _set_out_anew(self) -> None:
        columns = 1 + max((len(cells) for _heading, cells in self.rows), default=0)
        needed = columns * dp(COLUMN_DP) * App.get_running_app().look.text_scale
        stacked = self.width < needed
        if stacked == self._stacked:
            return
        self._stacked = stacked
        self.clear_widgets()
        if stacked:
            self._stack()
        else:
            for place, (heading, cells) in enumerate(self.rows):
                self._row(heading, [Words(text=cell, bold=not place) for cell in cells])

    def _stack(self) -> None:
        """Name the side in each of its lines, because no column does."""
        names = self.rows[0][1] if self.rows else ()
        for heading, cells in self.rows[1:]:
            self._row(heading, [_beside(name, cell) for name, cell in zip(names, cells, strict=True)])

    def _row(self, heading: str, cells: list[Any]) -> None:
        row = SideRow(heading=heading, stacked=bool(self._stacked))
        for cell in cells:
            row.add_widget(cell)
        self.add_widget(row)


def _beside(name: str, cell: str) -> BoxLayout:
    line = BoxLayout(size_hint_y=None, spacing=dp(8))
    line.bind(minimum_height=line.setter("height"))
    line.add_widget(Quiet(text=name, pos_hint={"top": 1}))
    line.add_widget(Words(text=cell, pos_hint={"top": 1}))
    return line

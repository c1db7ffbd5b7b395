"""The next dive by depth: columns on a wide page, two lines a depth on a narrow one."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside

WIDE_FROM_DP = 1000


class DepthCells(KvBeside, BoxLayout):
    """One depth in columns, or the words over them."""

    line = ObjectProperty(None, allownone=True, rebind=True)
    """The DepthLine."""

    has_air = BooleanProperty(False)
    """True where a column tells the depth on air."""


class DepthPair(KvBeside, BoxLayout):
    """One depth in two lines."""

    line = ObjectProperty(None, allownone=True, rebind=True)
    """The DepthLine."""


class DepthTable(KvBeside, BoxLayout):
    """All depths."""

    rows = ObjectProperty(())
    """The DepthLines."""

    has_air = BooleanProperty(False)
    """True where a column tells the depth on air."""

    wide = BooleanProperty(False)
    """True while it stands in columns."""

    test_id = StringProperty("depth-table")
    """How tests find it."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Follow the width of the window and the size of its text."""
        App.get_running_app().look.tell(self, lambda table: table._measure(), "width_dp", "text_scale")
        self._measure()

    def on_rows(self, *_args: Any) -> None:
        """Say other figures, keeping the widgets where there are as many rows as before."""
        if "body" not in self.ids:
            return
        kind, body = DepthCells if self.wide else DepthPair, self.ids.body
        if any(type(child) is not kind for child in body.children):
            body.clear_widgets()
        while len(body.children) < len(self.rows):
            body.add_widget(kind())
        while len(body.children) > len(self.rows):
            body.remove_widget(body.children[0])
        for child, line in zip(reversed(body.children), self.rows, strict=True):
            child.line = line
        self.on_has_air()

    def on_has_air(self, *_args: Any) -> None:
        """Show the column, or take it away."""
        for child in self.ids.body.children if "body" in self.ids else ():
            if isinstance(child, DepthCells):
                child.has_air = self.has_air

    def _measure(self, *_args: Any) -> None:
        look = App.get_running_app().look
        wide = look.width_dp >= WIDE_FROM_DP * look.text_scale
        if wide != self.wide:
            self.wide = wide
            self.on_rows()

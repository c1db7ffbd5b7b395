"""What the club refused of one record, and what the diver can do with it."""

from __future__ import annotations

from typing import Any

from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.words import Words


class RefusedRow(KvBeside, BoxLayout):
    """Whose it is, why it was refused, and all that it holds. Events: `on_keep` and `on_let_go`."""

    __events__ = ("on_keep", "on_let_go")

    line = ObjectProperty(None, allownone=True)
    """The RefusedLine."""

    heading = StringProperty("")
    """Which record."""

    why = StringProperty("")
    """Why it was refused."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Set out what was written, a value a line."""
        self.heading, self.why = self.line.heading, self.line.why
        for value in self.line.values:
            self.ids.written.add_widget(Words(text=value, test_id="refused-value"))

    def on_keep(self) -> None:
        """The diver keeps it as a new record."""

    def on_let_go(self) -> None:
        """The diver lets it go."""

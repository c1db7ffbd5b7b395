"""One field that two devices wrote apart from each other, and a button for each side."""

from __future__ import annotations

from functools import partial
from typing import Any

from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.language import _
from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.buttons import OutlinedButton
from logbook_app.screens.widgets.words import Words


class SideChoice(KvBeside, BoxLayout):
    """A heading and its sides. Event: `on_choose` with the line and the change that was chosen."""

    __events__ = ("on_choose",)

    line = ObjectProperty(None)
    """The ConflictLine."""

    heading = StringProperty("")
    """Which field of which dive."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Set out what each side says, however long, with a button under it."""
        self.heading = self.line.heading
        for place, side in enumerate(self.line.sides):
            self.ids.sides.add_widget(Words(text=side.words, test_id=f"says-{place}"))
            button = OutlinedButton(text=_("Keep this one"), icon="check", test_id=f"side-{place}")
            button.bind(on_release=partial(self._chosen, side.change))
            self.ids.sides.add_widget(button)

    def _chosen(self, change: str, _button: Any) -> None:
        self.dispatch("on_choose", self.line, change)

    def on_choose(self, line: Any, change: str) -> None:
        """A side was touched."""

"""Words in the diver's own hand: a field as wide as the page, for names and notes."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class TextEntry(KvBeside, BoxLayout):
    """A label above a field. `text` follows what is written, and may be set.

    Event: `on_accept` when enter is pressed in a field of one line.
    """

    __events__ = ("on_accept",)

    label = StringProperty("")
    """What is asked."""

    text = StringProperty("")
    """What is written."""

    hint = StringProperty("")
    """What may be written, while nothing is."""

    several_lines = BooleanProperty(False)
    """True for notes."""

    focus = BooleanProperty(False)
    """True while the diver writes in it."""

    field = ObjectProperty(None)
    """The field itself."""

    field_id = StringProperty("")
    """How tests find the field."""

    def on_text(self, *_args: Any) -> None:
        """Show a text that was set from outside."""
        if self.field is not None and self.field.text != self.text:
            self.field.text = self.text

    def on_field(self, *_args: Any) -> None:
        """Show a text that was set before the field was there."""
        self.on_text()

    def on_accept(self) -> None:
        """The diver pressed enter."""

"""A field to look for words in: what is written is looked for with every key, and one touch empties it."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior

from logbook_app.screens.widgets.edged_box import EdgedBox


class EmptyKey(ButtonBehavior, EdgedBox):
    """The key that empties the field."""

    test_id = StringProperty("")
    """How tests find it."""


class SearchField(EdgedBox):
    """One line with a lens before it. `text` follows what is written, and may be set."""

    text = StringProperty("")
    """What is looked for."""

    hint = StringProperty("")
    """What may be looked for, while nothing is."""

    short_hint = StringProperty("")
    """The same where the field is too narrow for that."""

    focus = BooleanProperty(False)
    """True while the diver writes in it."""

    field_id = StringProperty("")
    """How tests find the field."""

    def on_text(self, *_args: Any) -> None:
        """Show a text that was set from outside."""
        if self.ids and self.ids.field.text != self.text:
            self.ids.field.text = self.text

    def empty(self) -> None:
        """Look for nothing, and be ready for other words."""
        self.text = ""
        self.ids.field.focus = True

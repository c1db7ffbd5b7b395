"""One thing to check: a row as wide as the page, with a box that holds a tick once it is done."""

from __future__ import annotations

from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior

from logbook_app.screens.widgets.edged_box import EdgedBox


class CheckRow(ButtonBehavior, EdgedBox):
    """A row to touch; its owner sets `checked`."""

    words = StringProperty("")
    """What is checked."""

    checked = BooleanProperty(False)
    """True once it is."""

    test_id = StringProperty("")
    """How tests find it."""

"""One field of the record: its label, what it says, to be touched and changed."""

from __future__ import annotations

from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.edged_box import EdgedBox


class FieldWords(EdgedBox):
    """A field that cannot be changed here: a label with what it says."""

    label = StringProperty("")
    """What the field is called."""

    value = StringProperty("")
    """What it says, empty for nothing."""

    detail = StringProperty("")
    """What there is to know of it."""

    test_id = StringProperty("")
    """How tests find it."""


class FieldBox(ButtonBehavior, FieldWords, KvBeside):
    """A field to be touched. Tests find it as `edit-` and its name."""

    active = BooleanProperty(False)
    """True while it is being changed."""

"""Text that wraps to its width and is as high as it needs: titles, labels, sentences."""

from __future__ import annotations

from kivy.properties import OptionProperty, StringProperty
from kivy.uix.label import Label

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.theme import TYPE_SP


class Words(KvBeside, Label):
    """A run of text of one kind and role. Give it a width; it takes the height it needs."""

    kind = OptionProperty("body", options=list(TYPE_SP))
    """Which step of the type scale."""

    role = StringProperty("ink")
    """Which colour of the theme."""

    test_id = StringProperty("")
    """How tests find it."""


class Title(Words):
    """What a room is called, at its top."""


class Heading(Words):
    """What a card is about."""


class Quiet(Words):
    """A second line: what a figure rests on, a label."""


class Icon(KvBeside, Label):
    """One icon by its name in `icons.py`. It never stands alone: words say what it means."""

    icon = StringProperty("")
    """Name of the icon."""

    role = StringProperty("ink")
    """Which colour of the theme."""

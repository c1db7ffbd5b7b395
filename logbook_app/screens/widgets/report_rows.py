"""The lines of an import's report: a dive to open, a sentence to read."""

from __future__ import annotations

from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class DiveButton(KvBeside, ButtonBehavior, BoxLayout):
    """A dive; touching it opens its page."""

    line = ObjectProperty(None, allownone=True)
    """What it says (`DiveLine`)."""

    test_id = StringProperty("report-dive")
    """How tests find it."""


class NoteLine(KvBeside, BoxLayout):
    """One sentence on something odd."""

    text = StringProperty("")
    """The sentence: which file, where, what."""

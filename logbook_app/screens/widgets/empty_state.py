"""What a room says while there is nothing in it: why, and what to do."""

from __future__ import annotations

from kivy.properties import StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class EmptyState(KvBeside, BoxLayout):
    """An icon, one heading, one sentence; buttons put inside it come under them."""

    icon = StringProperty("waves")
    """Name of its icon."""

    heading = StringProperty("")
    """What is."""

    sentence = StringProperty("")
    """What to do."""

    test_id = StringProperty("empty")
    """How tests find it."""

"""One of the recordings of a dive: what it says, and a button that lets it lead."""

from __future__ import annotations

from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class RecordingRow(KvBeside, BoxLayout):
    """Event: `on_lead` when the diver wants this recording to lead."""

    __events__ = ("on_lead",)

    line = ObjectProperty(None, allownone=True)
    """What it says (`RecordingLine`)."""

    test_id = StringProperty("recording")
    """How tests find it."""

    def on_lead(self) -> None:
        """The diver wants it to lead."""

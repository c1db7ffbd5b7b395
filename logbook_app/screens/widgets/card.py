"""A card on the chart: a hairline border, a heading, what belongs together."""

from __future__ import annotations

from kivy.properties import StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class Card(KvBeside, BoxLayout):
    """A vertical box with a ground and a border. It takes the height of what is in it."""

    test_id = StringProperty("")
    """How tests find it."""

"""The lines of the Kit room: a piece to open, what is due of it, what was done for it, a set."""

from __future__ import annotations

from kivy.properties import BooleanProperty, NumericProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

from logbook_app.analysis.kit_due import Urgency
from logbook_app.screens.kv_files import KvBeside


class PieceRow(KvBeside, ButtonBehavior, BoxLayout):
    """A piece; touching it opens its page."""

    piece_id = StringProperty("")
    """Which piece."""

    urgency = NumericProperty(int(Urgency.LATER))
    """The most urgent of what is due, below zero where nothing is."""

    heading = StringProperty("")
    """Its name."""

    due = StringProperty("")
    """What is due, empty where nothing is."""

    line = StringProperty("")
    """What it is and how much it was dived."""

    test_id = StringProperty("")
    """How tests find it: `piece-` and its name."""


class DueRow(KvBeside, BoxLayout):
    """One check of a piece and how it stands."""

    urgency = NumericProperty(int(Urgency.LATER))
    """How urgent it is."""

    heading = StringProperty("")
    """The check and how it stands."""

    line = StringProperty("")
    """When it was last done, and how often it is due."""


class ActRow(KvBeside, BoxLayout):
    """A line with one button at its end. Event: `on_accept` when it is touched."""

    __events__ = ("on_accept",)

    heading = StringProperty("")
    """What it is."""

    line = StringProperty("")
    """More of it; empty for no second line."""

    act = StringProperty("")
    """What the button does."""

    icon = StringProperty("")
    """Icon of the button."""

    act_id = StringProperty("")
    """How tests find the button."""

    first = BooleanProperty(False)
    """True where nothing stands above it."""

    def on_accept(self) -> None:
        """The diver touched the button."""

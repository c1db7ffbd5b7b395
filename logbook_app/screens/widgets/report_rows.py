"""The lines of an import's report: a dive to open, a sentence, an offer; a line of earlier ones."""

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


class OfferRow(KvBeside, BoxLayout):
    """Something the diver may want done, with the button that does it.

    Event: `on_accept` when the button is touched.
    """

    __events__ = ("on_accept",)

    line = ObjectProperty(None, allownone=True)
    """What it says (`OfferLine`)."""

    test_id = StringProperty("offer")
    """How tests find it."""

    def on_accept(self) -> None:
        """The diver wants it done."""


class PastRow(KvBeside, BoxLayout):
    """An earlier import, join or shift of clocks.

    Events: `on_read` for its report, `on_undo` to take it back.
    """

    __events__ = ("on_read", "on_undo")

    line = ObjectProperty(None, allownone=True)
    """What it says (`PastLine`)."""

    test_id = StringProperty("past-import")
    """How tests find it."""

    def on_read(self) -> None:
        """The diver wants to read its report."""

    def on_undo(self) -> None:
        """The diver wants it taken back."""

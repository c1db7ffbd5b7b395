"""One quantity and the two units it can be read in."""

from __future__ import annotations

from kivy.properties import ListProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class UnitRow(KvBeside, BoxLayout):
    """A quantity with its units side by side. Events: `on_unit(unit)`."""

    __events__ = ("on_unit",)

    quantity = StringProperty("")
    """Which one, as `unit_choice` names it."""

    words = StringProperty("")
    """What it is called."""

    options = ListProperty([])
    """Pairs of unit and words."""

    value = StringProperty("")
    """The unit that holds."""

    def on_unit(self, _unit: str) -> None:
        """A unit was touched; the owner decides whether it comes to hold."""

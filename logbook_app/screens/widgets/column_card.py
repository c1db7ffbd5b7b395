"""One column of a table: its name, its first values, and chips for what it is and in which unit."""

from __future__ import annotations

from typing import Any

from kivy.properties import ListProperty, NumericProperty, StringProperty

from logbook_app.screens.widgets.card import Card


class ColumnCard(Card):
    """Tests find its chips as `column-3-depth` and `unit-3-ft`, the column counted from 1.

    Events: `on_quantity(place, answer)` and `on_unit(place, unit)` after a touch.
    """

    __events__ = ("on_quantity", "on_unit")

    place = NumericProperty(0)
    """Which column, from 0."""

    heading = StringProperty("")
    """What it is called."""

    values = StringProperty("")
    """Its first values."""

    quantities = ListProperty([])
    """What it can be: pairs of answer and words."""

    quantity = StringProperty("")
    """What it is."""

    units = ListProperty([])
    """The units to choose from, empty where it needs none."""

    unit = StringProperty("")
    """The unit that holds, empty while it is open."""

    def on_quantity(self, place: int, answer: str) -> None:
        """The diver said what the column is."""

    def on_unit(self, place: int, unit: str) -> None:
        """The diver said in which unit it is."""

    def chose(self, event: str, chosen: list[Any]) -> None:
        """Pass a touched chip on."""
        self.dispatch(event, int(self.place), chosen[0])

"""Chips that open something each, in as many lines as they need; those that hold are filled."""

from __future__ import annotations

from typing import Any

from kivy.properties import ListProperty
from kivy.uix.stacklayout import StackLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.choice_chips import Chip


class ChipBar(KvBeside, StackLayout):
    """A chip for each of `chips` (`ChipWords`). Tests find one as `chip-` and its sheet.

    Event: `on_open(sheet)` when one is touched.
    """

    __events__ = ("on_open",)

    chips = ListProperty([])
    """What they say, in their order."""

    def on_chips(self, *_args: Any) -> None:
        """Say something else; the chips themselves stay while their number does."""
        if len(self.children) != len(self.chips):
            self.clear_widgets()
            for _each in self.chips:
                chip = Chip()
                chip.bind(on_release=lambda touched: self.dispatch("on_open", touched.answer))
                self.add_widget(chip)
        for chip, words in zip(reversed(self.children), self.chips, strict=True):
            chip.answer, chip.text, chip.chosen = words.sheet, words.words, words.holds
            chip.test_id = f"chip-{words.sheet}"

    def on_open(self, sheet: str) -> None:
        """A chip was touched."""

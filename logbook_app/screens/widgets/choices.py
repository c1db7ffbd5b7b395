"""A row of choices of which one holds; the one that holds is filled and says so by its tick."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, ListProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.stacklayout import StackLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.edged_box import EdgedBox


class Choice(ButtonBehavior, EdgedBox):
    """One of several."""

    text = StringProperty("")
    """What it is."""

    value = StringProperty("")
    """What choosing it means."""

    chosen = BooleanProperty(False)
    """True for the one that holds."""

    test_id = StringProperty("")
    """How tests find it: the row's name, a hyphen and the value."""


class Choices(KvBeside, StackLayout):
    """Choices side by side, in as many lines as they need."""

    options = ListProperty([])
    """Pairs of value and words."""

    value = StringProperty("")
    """Value of the one that holds."""

    name = StringProperty("")
    """First part of the test_id of each."""

    def __init__(self, **kwargs: Any) -> None:
        self.register_event_type("on_choose")
        super().__init__(**kwargs)

    def on_choose(self, _value: str) -> None:
        """Somebody chose; the owner decides whether it comes to hold."""

    def on_options(self, *_args: Any) -> None:
        """Set out the choices."""
        self.clear_widgets()
        for value, words in self.options:
            choice = Choice(text=words, value=value, test_id=f"{self.name}-{value}")
            choice.bind(on_release=lambda chosen: self.dispatch("on_choose", chosen.value))
            self.add_widget(choice)
        self.on_value()

    def on_value(self, *_args: Any) -> None:
        """Fill the one that holds."""
        for choice in self.children:
            choice.chosen = choice.value == self.value

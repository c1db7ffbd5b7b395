"""One of a few answers: a touch keeps it."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, ListProperty

from logbook_app.analysis.field_words import WATER
from logbook_app.dive.record import Water
from logbook_app.language import _
from logbook_app.screens.widgets.field_panel import Editor


class ChoiceEditor(Editor):
    """The rating, or the water that depth is reckoned in."""

    answers = ListProperty([])
    """What there is to choose from."""

    chosen = ListProperty([])
    """What holds."""

    may_be_none = BooleanProperty(False)
    """True where touching the answer that holds lets go of it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        value = getattr(self.editing.dive, self.name)
        self.may_be_none = self.name == "rating"
        if self.name == "rating":
            self.answers = [str(rating) for rating in range(1, 11)]
            self.chosen = [] if value is None else [str(value)]
        else:
            self.answers = [(water.value, _(words)) for water, words in WATER.items()]
            self.chosen = [value.value]

    def choose(self, chosen: list[str]) -> None:
        """Keep the answer."""
        if self.name == "rating":
            self.dispatch("on_save", {"rating": int(chosen[0]) if chosen else None})
        else:
            self.dispatch("on_save", {"water": Water(chosen[0])})

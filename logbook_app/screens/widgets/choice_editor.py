"""One of a few answers: a touch keeps it. Several of a few: touches gather them, a button keeps them."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, ListProperty, StringProperty

from logbook_app.analysis.field_words import ENVIRONMENTS, ROLES, WATER, water_words
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.record import Environment, Role, Water
from logbook_app.language import _, later
from logbook_app.screens.widgets.field_panel import Editor

_MAY_BE_NONE = ("rating", "role")
_HINTS = {
    "rating": later("1 to 10, as you would tell a friend."),
    "water": later("It decides what a metre of depth weighs: pressures and loads follow it."),
    "role": later("For what certificates ask. Nothing chosen: you came to dive."),
    "environments": later("For what certificates ask. A dive is in open water unless it was confined."),
}


class ChoiceEditor(Editor):
    """The rating, the water that depth is reckoned in, what the diver was there for."""

    answers = ListProperty([])
    """What there is to choose from."""

    chosen = ListProperty([])
    """What holds."""

    may_be_none = BooleanProperty(False)
    """True where touching the answer that holds lets go of it."""

    hint = StringProperty("")
    """What it is for."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.may_be_none, self.hint = self.name in _MAY_BE_NONE, _(_HINTS[self.name])
        value = getattr(self.editing.dive, self.name)
        self.chosen = [] if value is None else [str(value)]
        self.answers = _answers(self.name, SpokenUnits(self.editing.units))

    def choose(self, chosen: list[str]) -> None:
        """Keep the answer."""
        self.dispatch("on_save", {self.name: _value(self.name, chosen[0]) if chosen else None})


class SeveralEditor(Editor):
    """What a dive had of its own, as many as hold."""

    answers = ListProperty([])
    """What there is to choose from."""

    chosen = ListProperty([])
    """What holds."""

    hint = StringProperty("")
    """What it is for."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.hint = _(_HINTS[self.name])
        self.chosen = [each.value for each in getattr(self.editing.dive, self.name)]
        self.answers = [(each.value, _(words)) for each, words in ENVIRONMENTS.items()]

    def save(self) -> None:
        """Keep what holds, in the order of the list."""
        self.dispatch(
            "on_save", {self.name: tuple(each for each in Environment if each.value in self.chosen)}
        )


def _answers(name: str, units: SpokenUnits) -> list[Any]:
    if name == "rating":
        return [str(rating) for rating in range(1, 11)]
    if name == "role":
        return [(each.value, _(said)) for each, said in ROLES.items()]
    return [(each.value, water_words(each, units)) for each in WATER]


def _value(name: str, answer: str) -> Any:
    return {"rating": int, "role": Role, "water": Water}[name](answer)

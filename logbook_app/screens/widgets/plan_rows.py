"""What a plan is entered with and read from: its legs, and its steps."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class LegRow(KvBeside, BoxLayout):
    """A leg: how deep, how long, from which cylinder. Events: `on_remove`, and `on_breathe(place)`."""

    __events__ = ("on_remove", "on_breathe")

    place = NumericProperty(0)
    """Which leg, from 0."""

    cylinders = ListProperty([])
    """Pairs of place and words; one alone is not asked for."""

    cylinder = NumericProperty(0)
    """The one that is breathed."""

    removable = BooleanProperty(False)
    """True where the plan has other legs."""

    def on_remove(self) -> None:
        """The diver takes the leg away."""

    def on_breathe(self, place: int) -> None:
        """The diver breathes another cylinder in it."""

    def choose(self, chosen: list[str]) -> None:
        """Take a chip."""
        if chosen:
            self.dispatch("on_breathe", int(chosen[0]))


class StepLine(KvBeside, BoxLayout):
    """One step of the plan."""

    until = StringProperty("")
    """Run time at its end."""

    words = StringProperty("")
    """What is done."""

    gas = StringProperty("")
    """What is breathed, and how much of it."""


def set_out_steps(box: Any, steps: tuple[Any, ...]) -> None:
    """Show the steps of a plan in a box, keeping the widgets that are there."""
    while len(box.children) < len(steps):
        box.add_widget(StepLine())
    while len(box.children) > len(steps):
        box.remove_widget(box.children[0])
    for line, step in zip(reversed(box.children), steps, strict=True):
        line.until, line.words, line.gas = step.until, step.words, step.gas

"""A number on a form: touch it and the pad asks for it; a stepper has minus and plus beside it.

Neither holds the value. The form writes `text` and `trouble`, and answers `on_ask` (the diver
wants to type) and `on_step` (one step down or up).
"""

from __future__ import annotations

from typing import Any

from kivy.properties import AliasProperty, BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.edged_box import EdgedBox


class ValueButton(ButtonBehavior, EdgedBox):
    """The value in its box, to be touched."""

    words = StringProperty("")
    """The value with its unit, empty for none."""

    hint = StringProperty("")
    """What holds while there is no value."""

    active = BooleanProperty(False)
    """True while the pad asks for it."""

    test_id = StringProperty("")
    """How tests find it."""


class StepKey(ButtonBehavior, EdgedBox):
    """Minus or plus."""

    icon = StringProperty("")
    """`minus` or `plus`."""

    test_id = StringProperty("")
    """How tests find it."""


class NumberField(KvBeside, BoxLayout):
    """A label, the value in a box, and a sentence below where something is wrong with it.

    Tests find its box as `field-` and its name, its keys with `-less` and `-more` after that.
    Events: `on_ask` when the value is touched, `on_step(steps)` with -1 or 1.
    """

    __events__ = ("on_ask", "on_step")

    field = StringProperty("")
    """Name of what it asks for, in the form."""

    asked = ObjectProperty(None, allownone=True)
    """What it asks for (`NumberAsked` or `ClockAsked`)."""

    text = StringProperty("")
    """The value as typed, empty for none."""

    hint = StringProperty("")
    """What holds while there is no value."""

    trouble = StringProperty("")
    """One sentence where the value cannot be."""

    active = BooleanProperty(False)
    """True while the pad asks for it."""

    def _words(self) -> str:
        return f"{self.asked.shown(self.text)} {self.asked.unit}".strip() if self.asked and self.text else ""

    words = AliasProperty(_words, None, bind=["asked", "text"])
    """The value as it is read, with its unit."""

    def on_ask(self) -> None:
        """The diver wants to type the value."""

    def on_step(self, steps: Any) -> None:
        """The diver wants one step less or more."""


class Stepper(NumberField):
    """A NumberField with minus and plus beside the box."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Put the keys beside the box."""
        for icon, steps, ending in (("minus", -1, "less"), ("plus", 1, "more")):
            key = StepKey(icon=icon, test_id=f"field-{self.field}-{ending}")
            key.bind(on_release=lambda _key, steps=steps: self.dispatch("on_step", steps))
            self.ids.line.add_widget(key)

"""One cylinder of a dive: gas with what it allows, volume, pressures; taken away, or another added."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty

from logbook_app.dive.cylinder import Cylinder
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.screens.entry_units import HELIUM_PERCENT, OXYGEN_PERCENT
from logbook_app.screens.record_groups import CYLINDER, NEW
from logbook_app.screens.record_questions import record_questions
from logbook_app.screens.widgets.field_panel import Editor
from logbook_app.screens.widgets.numbers_of import NumbersOf

_NUMBERS = ("volume_l", "start_bar", "end_bar")
_SHARES = {"oxygen": OXYGEN_PERCENT, "helium": HELIUM_PERCENT}


class CylinderEditor(Editor):
    """Holds a cylinder until it is saved, so that one correction is one change."""

    gas = ObjectProperty(None, allownone=True)
    """The gas, None where nobody wrote it down."""

    max_depth_m = NumericProperty(0)
    """Greatest depth of the dive, for what is said of the gas."""

    is_new = BooleanProperty(False)
    """True for a cylinder that the dive has not yet."""

    unit_system = StringProperty("metric")
    """The diver's units."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        dive, place = self.editing.dive, self.name.removeprefix(CYLINDER)
        self.is_new = place == NEW
        self._place = len(dive.cylinders) if self.is_new else int(place)
        self._cylinder = self._first() if self.is_new else dive.cylinders[self._place]
        self.unit_system, self.max_depth_m = self.editing.units, dive.max_depth_m
        self.gas = self._cylinder.gas
        self.ids.name.text = self._cylinder.name
        asked = record_questions(self.editing.units)
        self._numbers = NumbersOf(
            self,
            {name: asked[name] for name in _NUMBERS},
            {name: getattr(self._cylinder, name) for name in _NUMBERS},
        )
        for share, question in _SHARES.items():
            self._bind_share(share, question)

    def take_gas(self, gas: BreathingGas) -> None:
        """Take the gas."""
        self.gas = gas

    def save(self) -> None:
        """Keep the cylinder in its place."""
        if self._numbers.in_trouble:
            return
        values: dict[str, Any] = self._numbers.values
        one = Cylinder(self.gas, **values, name=self.ids.name.text.strip())
        self._give((one,))

    def remove(self) -> None:
        """Take the cylinder away."""
        self._give(())

    def _give(self, instead: tuple[Cylinder, ...]) -> None:
        cylinders = self.editing.dive.cylinders
        several = (*cylinders[: self._place], *instead, *cylinders[self._place + 1 :])
        self.dispatch("on_save", {"cylinders": several})

    def _first(self) -> Cylinder:
        known = self.editing.known
        gas = known.gases[0] if known.gases else None
        return Cylinder(gas, known.volumes_l[0] if known.volumes_l else None)

    def _bind_share(self, share: str, question: Any) -> None:
        entry = self.ids.gas
        field = entry.ids[share]

        def take(text: str) -> None:
            if text and not question.trouble(text):
                entry.set_share(share, question.value(text))

        def step(_field: Any, steps: int) -> None:
            entry.set_share(share, question.stepped(question.value(field.text), steps))

        field.bind(
            on_ask=lambda asked: self.dispatch("on_ask", question, asked.text, take, None),
            on_step=step,
        )

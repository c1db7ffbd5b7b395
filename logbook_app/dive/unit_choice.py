"""The unit that the diver reads each quantity in.

A choice is kept, and handed on, as one text: `metric` or `imperial` where all five go together, else
the five units in their order, as in `ft bar °C L lb`. Many divers mix them: feet on the gauge, bar in
the cylinder.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass, fields
from typing import Final

from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _

UNITS_OF: Final = {
    "depth": ("m", "ft"),
    "pressure": ("bar", "psi"),
    "temperature": ("°C", "°F"),
    "volume": ("L", "cu_ft"),
    "weight": ("kg", "lb"),
}
"""Quantity -> its metric and its imperial unit. A space would part two units, hence `cu_ft`."""


@dataclass(frozen=True, slots=True)
class UnitChoice:
    """One unit for each quantity; elevations and rates go with depth, gas breathed with volume.

    Raises RefusedRecord where a unit is none of the two that its quantity has.
    """

    depth: str = "m"
    pressure: str = "bar"
    temperature: str = "°C"
    volume: str = "L"
    weight: str = "kg"

    def __post_init__(self) -> None:
        for field in fields(self):
            unit = getattr(self, field.name)
            if unit not in UNITS_OF[field.name]:
                raise RefusedRecord(
                    _("{unit} is no unit that this quantity is read in; choose {units}.").format(
                        unit=unit, units=", ".join(UNITS_OF[field.name])
                    )
                )

    def __str__(self) -> str:
        """Return the text that `unit_choice` reads."""
        return _NAMES.get(self) or " ".join(astuple(self))


METRIC: Final = UnitChoice()
IMPERIAL: Final = UnitChoice("ft", "psi", "°F", "cu_ft", "lb")
_SYSTEMS: Final = {"metric": METRIC, "imperial": IMPERIAL}
_NAMES: Final = {choice: name for name, choice in _SYSTEMS.items()}


def unit_choice(text: str) -> UnitChoice:
    """Return the choice that a text names: `metric`, `imperial` or the five units.

    Raises RefusedRecord where it names none.

    >>> unit_choice("ft bar °C L lb").depth
    'ft'
    >>> str(unit_choice("ft psi °F cu_ft lb"))
    'imperial'
    """
    units = text.split()
    if text in _SYSTEMS:
        return _SYSTEMS[text]
    if len(units) != len(UNITS_OF):
        raise RefusedRecord(
            _("Units are metric, imperial or five units such as ft bar °C L kg, not {text}.").format(
                text=text
            )
        )
    return UnitChoice(*units)

"""What a hand entry asks for, in the diver's own units.

The record keeps metres, bar and degrees; a diver who thinks in feet types feet. Each question is
a `NumberAsked` with the two conversions beside it. Ranges are what the record takes or less, in
round figures of the diver's unit; they catch a slip of the finger, not an unusual dive.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from logbook_app.dive.unit_choice import UNITS_OF, unit_choice
from logbook_app.language import later
from logbook_app.physics import units as convert
from logbook_app.screens.asked_number import NumberAsked


def _as_it_is(value: float) -> float:
    return value


@dataclass(frozen=True, slots=True)
class Question:
    """One number of a hand entry: how it is asked, and the way to the record's unit and back."""

    asked: NumberAsked
    to_record: Callable[[float], float] = _as_it_is
    from_record: Callable[[float], float] = _as_it_is

    def text(self, recorded: float | None) -> str:
        """Return a recorded value as it would have been typed."""
        return self.asked.text(None if recorded is None else self.from_record(recorded))

    def recorded(self, text: str) -> float | None:
        """Return what was typed in the record's unit, None where nothing is."""
        value = self.asked.value(text)
        return None if value is None else self.to_record(value)

    def stepped(self, recorded: float | None, steps: int) -> float:
        """Return a recorded value some of the diver's steps on."""
        shown = self.asked.value(self.text(recorded))
        return self.to_record(self.asked.stepped(shown, steps))

    def words(self, recorded: float) -> str:
        """Return a recorded value with its unit."""
        return f"{self.asked.shown(self.text(recorded))} {self.asked.unit}"


_SAME_IN_BOTH = {
    "duration_min": Question(NumberAsked(later("Dive time"), "min", least=1, most=600)),
    # Imperial divers name a cylinder by the gas it holds at its rated pressure; the record keeps
    # the water volume, so that is what is asked, and the chips name the common cylinders.
    "volume_l": Question(
        NumberAsked(later("Cylinder, water volume"), "L", least=0.5, most=60, decimals=1, step=0.5, first=12)
    ),
}

_METRIC = {
    "max_depth_m": Question(NumberAsked(later("Greatest depth"), "m", least=1, most=350, decimals=1)),
    "start_bar": Question(
        NumberAsked(later("Pressure at the start"), "bar", least=1, most=450, step=10, first=200)
    ),
    "end_bar": Question(
        NumberAsked(later("Pressure at the end"), "bar", least=0, most=450, step=10, first=50)
    ),
    "weights_kg": Question(NumberAsked(later("Weights"), "kg", least=0, most=50, decimals=1, first=4)),
    "water_temperature_c": Question(
        NumberAsked(later("Coldest water"), "°C", least=-3, most=45, decimals=1, first=12)
    ),
}

_FEET = (convert.metres_from_feet, convert.feet_from_metres)
_PSI = (convert.bar_from_psi, convert.psi_from_bar)
_POUNDS = (convert.kilograms_from_pounds, convert.pounds_from_kilograms)
_FAHRENHEIT = (convert.celsius_from_fahrenheit, convert.fahrenheit_from_celsius)

_IMPERIAL = {
    "max_depth_m": Question(NumberAsked(later("Greatest depth"), "ft", least=3, most=1148), *_FEET),
    "start_bar": Question(
        NumberAsked(later("Pressure at the start"), "psi", least=1, most=6500, step=100, first=3000), *_PSI
    ),
    "end_bar": Question(
        NumberAsked(later("Pressure at the end"), "psi", least=0, most=6500, step=100, first=700), *_PSI
    ),
    "weights_kg": Question(NumberAsked(later("Weights"), "lb", least=0, most=110, first=8), *_POUNDS),
    "water_temperature_c": Question(
        NumberAsked(later("Coldest water"), "°F", least=26, most=113, first=54), *_FAHRENHEIT
    ),
}

OXYGEN_PERCENT = NumberAsked(later("Oxygen"), "%", least=4, most=100, decimals=1, first=32)
HELIUM_PERCENT = NumberAsked(later("Helium"), "%", least=0, most=96, decimals=1, first=35)


# Which quantity decides between the two.
_QUANTITY = {
    "max_depth_m": "depth",
    "start_bar": "pressure",
    "end_bar": "pressure",
    "weights_kg": "weight",
    "water_temperature_c": "temperature",
}


def questions(units: str) -> dict[str, Question]:
    """Return the numbers a hand entry asks for, by the field of the record that each becomes.

    units   the diver's: `metric`, `imperial` or a unit for each quantity

    >>> questions("imperial")["max_depth_m"].recorded("100")
    30.48
    """
    chosen = unit_choice(units)
    metric = {name: getattr(chosen, of) == UNITS_OF[of][0] for name, of in _QUANTITY.items()}
    return _SAME_IN_BOTH | {name: (_METRIC if metric[name] else _IMPERIAL)[name] for name in _QUANTITY}

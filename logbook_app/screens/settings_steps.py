"""What one touch of minus or plus does to the diver's choices, and how each is said."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.diver_settings import DiverSettings
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.unit_choice import UNITS_OF
from logbook_app.language import _, later, number
from logbook_app.physics.gradient_factors import GradientFactors

TEXT_SIZES = (
    *(("1.0", later("Usual")), ("1.15", later("Larger"))),
    *(("1.3", later("Large")), ("1.5", later("Largest"))),
)
_QUANTITIES = {
    "depth": later("Depth"),
    "pressure": later("Pressure"),
    "temperature": later("Temperature"),
    "volume": later("Gas volume"),
    "weight": later("Weight"),
}


@dataclass(frozen=True, slots=True)
class Steppable:
    """A number that minus and plus change.

    step    how much one touch changes it, in its own unit
    read    the number of some settings
    write   settings with another number; raises ValueError or RefusedRecord
    say     the number in words
    """

    step: float
    read: Callable[[DiverSettings], float]
    write: Callable[[DiverSettings, float], DiverSettings]
    say: Callable[[DiverSettings], str]


def _with_low(settings: DiverSettings, low: float) -> DiverSettings:
    return replace(settings, factors=GradientFactors(low, settings.factors.high))


def _with_high(settings: DiverSettings, high: float) -> DiverSettings:
    return replace(settings, factors=GradientFactors(settings.factors.low, high))


STEPPABLE = {
    "gf_low": Steppable(0.05, lambda s: s.factors.low, _with_low, lambda s: f"{s.factors.low * 100:.0f} %"),
    "gf_high": Steppable(
        0.05, lambda s: s.factors.high, _with_high, lambda s: f"{s.factors.high * 100:.0f} %"
    ),
    "ascent": Steppable(
        1.0,
        lambda s: s.ascent_limit_m_min,
        lambda s, value: replace(s, ascent_limit_m_min=value),
        lambda s: SpokenUnits(s.units).rate(s.ascent_limit_m_min),
    ),
    "ppo2": Steppable(
        0.1,
        lambda s: s.ppo2_limit_bar,
        lambda s, value: replace(s, ppo2_limit_bar=value),
        lambda s: number(s.ppo2_limit_bar, ".1f") + " bar",
    ),
}


def quantities() -> list[tuple[str, str, list[tuple[str, str]]]]:
    """Return each quantity with its words and its units, a pair of unit and words each."""
    return [
        (quantity, _(words), [(unit, unit.replace("_", " ")) for unit in UNITS_OF[quantity]])
        for quantity, words in _QUANTITIES.items()
    ]


def stepped(settings: DiverSettings, name: str, steps: int) -> DiverSettings:
    """Return the settings after `steps` touches of plus (or minus, where negative).

    Raises RefusedRecord with a sentence for the diver where that cannot be.
    """
    number = STEPPABLE[name]
    value = round(number.read(settings) + steps * number.step, 6)
    try:
        return number.write(settings, value)
    except ValueError as refusal:  # gradient factors know no records
        raise RefusedRecord(str(refusal)) from refusal


def said(settings: DiverSettings) -> dict[str, str]:
    """Return every steppable number in words."""
    return {name: number.say(settings) for name, number in STEPPABLE.items()}

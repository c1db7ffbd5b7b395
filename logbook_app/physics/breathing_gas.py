"""What the diver breathes: oxygen, helium, and nitrogen for the rest.

Argon and the other traces of air count as nitrogen, here and everywhere. Source of the names and of air as
21 % oxygen: common practice.
"""

import math
import re
from dataclasses import dataclass

from logbook_app.physics.constants import AIR_OXYGEN


@dataclass(frozen=True)
class BreathingGas:
    """A breathing gas by its dry fractions; what is neither oxygen nor helium is nitrogen.

    oxygen  share of oxygen, above 0 and up to 1 [fraction]
    helium  share of helium, 0 to 1 [fraction]

    Raises ValueError with a sentence for the diver when the shares cannot be a breathing gas.

    >>> BreathingGas(0.18, 0.45).name
    'trimix 18/45'
    """

    oxygen: float
    helium: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.oxygen) and 0.0 < self.oxygen <= 1.0):
            raise ValueError(
                f"The oxygen share {self.oxygen:g} is not between 0 and 1; give it as a fraction, as in 0.32."
            )
        if not (math.isfinite(self.helium) and 0.0 <= self.helium < 1.0):
            raise ValueError(
                f"The helium share {self.helium:g} is not between 0 and 1; give it as a fraction, as in 0.45."
            )
        if self.oxygen + self.helium > 1.0 + 1e-9:
            raise ValueError(
                f"Oxygen {self.oxygen:g} and helium {self.helium:g} together are more than the whole gas; "
                "check the two shares."
            )

    @property
    def nitrogen(self) -> float:
        """Share of everything that is neither oxygen nor helium. [fraction]"""
        return max(0.0, 1.0 - self.oxygen - self.helium)

    @property
    def name(self) -> str:
        """The gas as a diver says it: air, nitrox 32, oxygen, trimix 18/45, heliox 20."""
        oxygen = _percent(self.oxygen)
        if self.helium > 0.0005:
            return (
                f"heliox {oxygen}" if self.nitrogen < 0.0005 else f"trimix {oxygen}/{_percent(self.helium)}"
            )
        if abs(self.oxygen - AIR_OXYGEN) < 0.0025:
            return "air"
        return "oxygen" if self.oxygen > 0.9995 else f"nitrox {oxygen}"


AIR = BreathingGas(AIR_OXYGEN)
OXYGEN = BreathingGas(1.0)

_NUMBER = r"(\d+(?:[.,]\d+)?\s*%?)"
_TWO_SHARES = re.compile(rf"(?:trimix|tmx|tx)?\s*{_NUMBER}\s*/\s*{_NUMBER}")
_HELIOX = re.compile(rf"heliox\s*{_NUMBER}(?:\s*/\s*{_NUMBER})?")
_ONE_SHARE = re.compile(rf"(?:nitrox|ean|eanx|oxygen|o2)?\s*{_NUMBER}")


def parse_gas(text: str) -> BreathingGas:
    """Return the gas that a diver wrote, in percent or as a fraction.

    text  "air", "oxygen", "32", "32%", "0.32", "nitrox 32", "18/45", "heliox 20"; a number with a decimal
    point
          and not above 1 is a fraction, unless a percent sign follows, any other is percent

    Raises ValueError with a sentence when it is none of these.

    >>> parse_gas("nitrox 32").oxygen, parse_gas("18/45").helium
    (0.32, 0.45)
    """
    said = text.strip().lower()
    if said == "air":
        return AIR
    if said in {"oxygen", "o2"}:
        return OXYGEN
    if match := _HELIOX.fullmatch(said):
        oxygen = _share(match[1])
        helium = 1.0 - oxygen if match[2] is None else _share(match[2])
        return BreathingGas(oxygen, helium)
    if match := _TWO_SHARES.fullmatch(said):
        return BreathingGas(_share(match[1]), _share(match[2]))
    if match := _ONE_SHARE.fullmatch(said):
        return BreathingGas(_share(match[1]))
    raise ValueError(
        f'"{text.strip()}" is not a gas; write air, oxygen, the oxygen percentage as in 32, '
        "or oxygen and helium as in 18/45."
    )


def _share(number: str) -> float:
    digits = number.replace(",", ".").rstrip("% ")
    value = float(digits)
    is_fraction = "." in digits and value <= 1.0 and "%" not in number
    return value if is_fraction else round(value / 100.0, 12)


def _percent(share: float) -> str:
    return f"{round(share * 100.0, 1):g}"

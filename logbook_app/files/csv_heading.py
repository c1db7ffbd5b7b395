"""The lines before a table of samples that begin with "#": what the table cannot say.

depth_csv.py documents them.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from logbook_app.dive.cylinder import LARGEST_CYLINDER_L
from logbook_app.dive.record import HIGHEST_SURFACE_BAR, LOWEST_SURFACE_BAR
from logbook_app.language import _
from logbook_app.physics.ambient_pressure import HIGHEST_ELEVATION_M, LOWEST_ELEVATION_M
from logbook_app.physics.breathing_gas import BreathingGas, parse_gas
from logbook_app.physics.units import kilograms_from_pounds, metres_from_feet

Odd = Callable[[str], None]

_ID: Final = re.compile("[0-9a-f]{32}")
_QUANTITY: Final = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*([a-z]*)", re.ASCII)


@dataclass(frozen=True, slots=True)
class Heading:
    """What the lines before the table say; empty or None where they say nothing."""

    known_as: str = ""
    began: str = ""
    number: int | None = None
    site: str = ""
    elevation_m: float | None = None
    surface_bar: float | None = None
    gases: tuple[BreathingGas | None, ...] = ()
    volumes_l: tuple[float | None, ...] = ()
    buddies: tuple[str, ...] = ()
    weights_kg: float | None = None
    notes: str = ""

    def with_line(self, line: str, odd: Odd) -> Heading:
        """Return the heading with one more line taken in; a line without a colon is a comment."""
        name, colon, told = line.lstrip("#").partition(":")
        name, told = " ".join(name.casefold().split()), told.strip()
        if not colon or not told:
            return self
        if name == "id":
            return replace(self, known_as=told if _ID.fullmatch(told) else "")
        if name == "began":
            return replace(self, began=told)
        if name == "site":
            return replace(self, site=told)
        if name == "notes":
            return replace(self, notes=f"{self.notes}\n{told}".strip())
        if name == "buddies":
            return replace(self, buddies=tuple(filter(None, (part.strip() for part in told.split(",")))))
        return self._with_number(name, told, odd)

    def _with_number(self, name: str, told: str, odd: Odd) -> Heading:
        if name == "number":
            number = _quantity(name, told, {"": 1.0}, 1, 1e6, odd)
            return replace(self, number=None if number is None else int(number))
        if name == "elevation":
            return replace(
                self, elevation_m=_quantity(name, told, _METRES, LOWEST_ELEVATION_M, HIGHEST_ELEVATION_M, odd)
            )
        if name == "surface pressure":
            return replace(
                self, surface_bar=_quantity(name, told, _BARS, LOWEST_SURFACE_BAR, HIGHEST_SURFACE_BAR, odd)
            )
        if name == "weights":
            return replace(self, weights_kg=_quantity(name, told, _KILOGRAMS, 0, 60, odd))
        if name == "gas":
            return replace(self, gases=tuple(_gas(part.strip(), odd) for part in told.split(",")))
        if name == "cylinder":
            volumes = (
                _quantity(name, part, _LITRES, 0.1, LARGEST_CYLINDER_L, odd) if part.strip() else None
                for part in told.split(",")
            )
            return replace(self, volumes_l=tuple(volumes))
        odd(
            _('the line "# {name}" before the table names nothing known and was not read').format(
                name=name[:40]
            )
        )
        return self


_METRES: Final = {"": 1.0, "m": 1.0, "ft": metres_from_feet(1.0)}
_KILOGRAMS: Final = {"": 1.0, "kg": 1.0, "lb": kilograms_from_pounds(1.0)}
_BARS: Final = {"": 1.0, "bar": 1.0, "hpa": 0.001, "mbar": 0.001}
_LITRES: Final = {"": 1.0, "l": 1.0}


def _quantity(
    name: str, told: str, units: dict[str, float], least: float, most: float, odd: Odd
) -> float | None:
    match = _QUANTITY.fullmatch(told.strip().casefold())
    if match is None or match[2] not in units:
        odd(
            _('{name} "{strip}" is not a number with a unit that is read here; it was left out').format(
                name=name, strip=told.strip()[:40]
            )
        )
        return None
    value = float(match[1].replace(",", ".")) * units[match[2]]
    if not least <= value <= most:
        odd(_('{name} "{strip}" cannot be and was left out').format(name=name, strip=told.strip()[:40]))
        return None
    return round(value, 9)


def _gas(told: str, odd: Odd) -> BreathingGas | None:
    if not told:
        return None
    try:
        return parse_gas(told)
    except ValueError as error:
        odd(_("{error} That gas counts as unknown").format(error=error))
        return None

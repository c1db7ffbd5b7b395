"""One value of a record becomes the text of an element, in the unit that UDDF asks for.

Each conversion is the reader's turned round. A text is chosen that the reader turns into exactly
the value that was written, as it can for every value with nine decimals or fewer; where none
does, the nearest is written, and the value itself stands in Leadline's own part (own_part.py).
A value that no reader would believe is not written at all: that it stands there alone is enough.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element, SubElement  # for building only

from logbook_app.files.uddf.fields import KELVIN, Span, parse_number, tidy
from logbook_app.files.uddf.xml_text import fit
from logbook_app.physics.units import (
    bar_from_pascals,
    celsius_from_kelvin,
    kelvin_from_celsius,
    pascals_from_bar,
)


@dataclass(frozen=True, slots=True)
class Unit:
    """How a quantity goes into a file and how the reader takes it out again."""

    to_file: Callable[[float], float]
    from_file: Callable[[float], float]

    def written(self, value: float) -> float:
        """Return the value in the file's unit that reads back as exactly this, else the nearest."""
        exact = self.to_file(value)
        near = (exact, math.nextafter(exact, math.inf), math.nextafter(exact, -math.inf))
        for candidate in (round(exact, 6), round(exact, 9), *near):
            if self.from_file(candidate) == value:
                return candidate
        return exact


SAME: Final = Unit(lambda value: value, lambda value: value)
PASCALS: Final = Unit(pascals_from_bar, lambda pascals: tidy(bar_from_pascals(pascals)))
KELVINS: Final = Unit(kelvin_from_celsius, lambda kelvin: tidy(celsius_from_kelvin(kelvin)))
CUBIC_METRES: Final = Unit(lambda litres: litres / 1000.0, lambda cubic_metres: tidy(cubic_metres * 1000.0))
DIVE_SECONDS: Final = Unit(lambda minutes: minutes * 60.0, lambda seconds: seconds / 60.0)
SECONDS: Final = Unit(lambda minutes: minutes * 60.0, lambda seconds: tidy(seconds / 60.0))
PERCENT: Final = Unit(lambda fraction: fraction * 100.0, lambda percent: percent / 100.0)


def number_text(value: float) -> str:
    """Return the shortest text of a number that gives it back, without a point where it is whole.

    >>> number_text(1740.0), number_text(0.1), number_text(287.15)
    ('1740', '0.1', '287.15')
    """
    return f"{value:.0f}" if value.is_integer() and abs(value) < 1e15 else repr(value)


def put(parent: Element, name: str, text: str = "", **attributes: str) -> Element:
    """Add an element with a text that XML can hold."""
    child = SubElement(parent, name, attributes)
    child.text = fit(text)
    return child


def put_number(parent: Element, name: str, value: float | None, span: Span, unit: Unit = SAME) -> None:
    """Add a number where there is one that a reader would believe."""
    if value is None:
        return
    written = unit.written(float(value))
    if span.holds(written):
        put(parent, name, number_text(written))


def put_celsius(parent: Element, name: str, value: float | None) -> None:
    """Add a temperature, in kelvin."""
    put_number(parent, name, value, KELVIN, KELVINS)


def put_words(parent: Element, name: str, text: str) -> None:
    """Add a `notes` element, a paragraph for each part of the text that an empty line ends."""
    if text.strip():
        notes = put(parent, name)
        for paragraph in filter(str.strip, text.split("\n\n")):
            put(notes, "para", paragraph)


def is_amount(text: str) -> bool:
    """Tell whether a text is a number that XML Schema would take for one."""
    number = parse_number(text)
    return number is not None and text.strip() == text and not text.startswith("+")


def is_count(text: str) -> bool:
    """Tell whether a text is a whole number from 1 on."""
    return text.isascii() and text.isdigit() and int(text) > 0 if len(text) < 10 else False

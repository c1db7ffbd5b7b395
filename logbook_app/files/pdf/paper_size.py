"""The sizes of paper that pages are made for; apart from the drawing, so that choosing one loads nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from logbook_app.dive.unit_choice import unit_choice

_PT_PER_MM: Final = 72 / 25.4


@dataclass(frozen=True, slots=True)
class PaperSize:
    """A size of paper, upright [pt]."""

    name: str
    width: float
    height: float


A4: Final = PaperSize("A4", 210 * _PT_PER_MM, 297 * _PT_PER_MM)  # ISO 216
LETTER: Final = PaperSize("Letter", 8.5 * 72, 11 * 72)  # ANSI/ASME Y14.1, size A
A6: Final = PaperSize("A6", 105 * _PT_PER_MM, 148 * _PT_PER_MM)  # ISO 216; a card, whatever the units
PAPER_SIZES: Final = {size.name.lower(): size for size in (A4, LETTER)}


def paper_for(units: str) -> PaperSize:
    """Return the paper that goes with a diver's units: Letter where depths are in feet, else A4."""
    return LETTER if unit_choice(units).depth == "ft" else A4

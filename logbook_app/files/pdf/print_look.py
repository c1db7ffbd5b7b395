"""The look of a printed page: ink on white paper, the water in the tints of the day theme.

Nothing is said by colour alone: the ceiling is hatched, a remark stands on a dashed leader, what
to look at again is set in bold. A page from a black-and-white printer says the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from logbook_app.files.pdf.paper import BLACK, GREY, WHITE, Colour, Type


def _colour(hex_code: str) -> Colour:
    red, green, blue = (int(hex_code[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


INK: Final = _colour("#13212C")
QUIET: Final = _colour("#4A473A")
HAIRLINE: Final = _colour("#B9AE90")
ACCENT: Final = _colour("#8F1460")
STEP: Final = _colour("#9DBECB")  # where a tint steps to the next
LAND: Final = _colour("#F3E8C6")
WATER: Final = tuple(_colour(c) for c in ("#E9F1F0", "#D8E9EE", "#C3DFEA", "#AFD3E3", "#9ECADC", "#8FC0D6"))
PLAIN_LAND: Final = _colour("#E4E4E4")


@dataclass(frozen=True, slots=True)
class ChartLook:
    """The colours of a chart section and the size of its words.

    words    size of the words in the water [pt]
    accent   of a remark and its leader
    """

    land: Colour
    water: tuple[Colour, ...]
    steps: Colour
    ink: Colour
    quiet: Colour
    accent: Colour
    words: float


ON_A_PAGE: Final = ChartLook(LAND, WATER, STEP, INK, QUIET, ACCENT, 7.0)
BLACK_AND_WHITE: Final = ChartLook(PLAIN_LAND, (WHITE,) * len(WATER), GREY, BLACK, BLACK, BLACK, 5.6)

TITLE: Final = Type(15, "SemiBold", INK)
HEADING: Final = Type(10.5, "SemiBold", INK)
BODY: Final = Type(7.8, colour=INK)
STRONG: Final = Type(7.8, "SemiBold", INK)
VALUE: Final = Type(10.5, "SemiBold", INK)
LABEL: Final = Type(6.8, colour=QUIET)
FOOT: Final = Type(6.2, colour=QUIET)

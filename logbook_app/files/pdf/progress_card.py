"""The card of one diver's progress toward one certificate: what is asked, what there is, who signed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from logbook_app.files.pdf.paper import BLACK, Paper, Type
from logbook_app.files.pdf.paper_size import A4, PaperSize
from logbook_app.files.pdf.rows import Place, Row, drawn, height_of, in_pages, line, paragraph, rule, space

MARGIN_PT: Final = 48.0
_TITLE, _STRONG, _PLAIN, _SMALL = Type(20, "SemiBold"), Type(11, "SemiBold"), Type(11), Type(9)


@dataclass(frozen=True, slots=True)
class CardLine:
    """One requirement: its name, whether it is met, and sentences on what there is, lacks and was signed."""

    name: str
    verdict: str
    words: tuple[str, ...]


def progress_card(
    title: str, under_it: str, lines: Sequence[CardLine], foot: Sequence[str], size: PaperSize = A4
) -> bytes:
    """Return the card as a PDF document.

    title, under_it  whose progress toward what; as on which day
    foot             sentences at the end: where the rules come from, who decides
    """
    paper = Paper(size, title)
    width, room = size.width - 2 * MARGIN_PT, size.height - 2 * MARGIN_PT
    heading = [*paragraph(paper, title, _TITLE, width), line(under_it, _SMALL), space(8)]
    rows = [row for each in lines for row in _requirement(paper, each, width)]
    rows += [
        rule(BLACK, 1.0, 10.0),
        *(row for words in foot for row in paragraph(paper, words, _SMALL, width)),
    ]
    for page in in_pages([*heading, *rows], room, heading):
        drawn(paper, page, Place(MARGIN_PT, size.height - MARGIN_PT, width))
        paper.next_page()
    return paper.finished()


def _requirement(paper: Paper, told: CardLine, width: float) -> list[Row]:
    """Return a requirement as one row, so that no page parts it."""
    inner = [
        rule(BLACK, 0.4, 8.0),
        *paragraph(paper, told.name, _STRONG, width),
        line(told.verdict, _PLAIN),
        *(row for words in told.words for row in paragraph(paper, words, _SMALL, width)),
        space(4),
    ]

    def draw(paper: Paper, place: Place) -> None:
        drawn(paper, inner, place)

    return [Row(height_of(inner), draw)]

"""What a page is made of: rows, one under the other, that know their height and draw themselves."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from logbook_app.files.pdf.paper import ASCENT, GREY, Colour, Paper, Type

ROUNDING_PT = 0.01  # rows that were measured to fill a page fill it


@dataclass(frozen=True, slots=True)
class Place:
    """Where a row is drawn [pt]; it hangs from `top`."""

    left: float
    top: float
    width: float

    @property
    def right(self) -> float:
        """Right edge [pt]."""
        return self.left + self.width


@dataclass(frozen=True, slots=True)
class Row:
    """A strip of a page [pt]; `draw` keeps to its height."""

    height: float
    draw: Callable[[Paper, Place], None]


def drawn(paper: Paper, rows: Iterable[Row], place: Place) -> float:
    """Draw rows one under the other and return where the next would hang [pt]."""
    top = place.top
    for row in rows:
        row.draw(paper, Place(place.left, top, place.width))
        top -= row.height
    return top


def height_of(rows: Iterable[Row]) -> float:
    """Return how high rows are together [pt]."""
    return sum(row.height for row in rows)


def space(height: float) -> Row:
    """Return a row with nothing in it."""
    return Row(height, lambda _paper, _place: None)


def rule(colour: Colour = GREY, width: float = 0.5, height: float = 6.0) -> Row:
    """Return a row with a line across its middle."""

    def draw(paper: Paper, place: Place) -> None:
        y = place.top - height / 2
        paper.rule((place.left, y), (place.right, y), colour, width)

    return Row(height, draw)


def line(words: str, look: Type, *, share: float = 0.0) -> Row:
    """Return one line, shortened where it is too long; `share` 1 sets it to the right."""

    def draw(paper: Paper, place: Place) -> None:
        shown = paper.shortened(words, look, place.width)
        paper.text(place.left + share * place.width, foot(place.top, look), shown, look, share=share)

    return Row(look.leading, draw)


def paragraph(paper: Paper, words: str, look: Type, width: float) -> list[Row]:
    """Return words as rows, one a line, so that a page may end between any two."""
    return [line(each, look) for each in paper.lines(words, look, width)]


def lead_and_words(
    paper: Paper, lead: str, words: str, looks: tuple[Type, Type], width: float, most: int | None = None
) -> Row:
    """Return a row of words that begin with a few that stand out, in `most` lines where that is given."""
    strong, plain = looks
    lead = paper.shortened(lead, strong, width * 0.75)
    indent = paper.width(f"{lead} ", strong) if lead else 0.0
    first, *rest = paper.lines(words, plain, width - indent)
    more = paper.lines(" ".join(rest), plain, width) if rest else []
    if most is not None and len(more) >= most:
        more[most - 2 :] = [paper.shortened(" ".join(more[most - 2 :]), plain, width)]

    def draw(paper: Paper, place: Place) -> None:
        y = foot(place.top, plain)
        paper.text(place.left, y, lead, strong)
        paper.text(place.left + indent, y, first, plain)
        for number, each in enumerate(more, 1):
            paper.text(place.left, y - number * plain.leading, each, plain)

    return Row(plain.leading * (1 + len(more)), draw)


def side_by_side(rows: Sequence[Sequence[Row]], apart: float) -> Row:
    """Return columns of equal width as one row."""

    def draw(paper: Paper, place: Place) -> None:
        width = (place.width - apart * (len(rows) - 1)) / len(rows)
        for number, column in enumerate(rows):
            drawn(paper, column, Place(place.left + number * (width + apart), place.top, width))

    return Row(max((height_of(column) for column in rows), default=0.0), draw)


def in_pages(rows: Sequence[Row], room: float, heading: Sequence[Row]) -> Iterator[list[Row]]:
    """Yield rows page by page; every page after the first begins with the heading."""
    page: list[Row] = []
    left = room
    for row in rows:
        if row.height > left + ROUNDING_PT and page:
            yield page
            page, left = list(heading), room - height_of(heading)
        page.append(row)
        left -= row.height
    yield page


def foot(top: float, look: Type) -> float:
    """Return where letters stand in a line that hangs from `top` [pt]."""
    return top - (look.leading - look.size) / 2 - ASCENT * look.size

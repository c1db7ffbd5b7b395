"""A sheet of paper to draw on: the only module that knows the PDF library.

Places and lengths are points (1/72 inch) from the lower left corner, upward. Everything a person
wrote goes through `letters.printable` before it is measured or drawn. The library is loaded with
this module, so import it only when something is to be printed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from typing import Final, Literal

from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from logbook_app.analysis.unparted import NO_BREAK_SPACE, unparted
from logbook_app.files.pdf.letters import STAND_IN, printable
from logbook_app.files.pdf.paper_size import PaperSize
from logbook_app.shipped_files import font_file

Colour = tuple[float, float, float]
Points = Sequence[tuple[float, float]]

BLACK: Final[Colour] = (0.0, 0.0, 0.0)
WHITE: Final[Colour] = (1.0, 1.0, 1.0)
GREY: Final[Colour] = (0.32, 0.32, 0.32)

ASCENT: Final = 0.78  # of a line of figures and letters, above the foot of the letters [em]
DESCENT: Final = 0.22
LONGEST_WORD: Final = 1000  # letters; a longer one is cut unmeasured, for no page is as wide


@dataclass(frozen=True, slots=True)
class Type:
    """How words look: size [pt], style and colour."""

    size: float
    style: Literal["Regular", "SemiBold", "Italic"] = "Regular"
    colour: Colour = BLACK

    @property
    def leading(self) -> float:
        """From the foot of one line to the foot of the next [pt]."""
        return self.size * 1.3


class Paper:
    """Pages of one size, drawn one after the other.

    size    of every page
    title   of the document, as a reader shows it
    """

    def __init__(self, size: PaperSize, title: str) -> None:
        self.size = size
        self.lacked_letters = False
        self.letters = _letters()
        self._bytes = BytesIO()
        # Invariant: the library writes no clock and no random name, so the same dives give the same bytes.
        self._canvas = Canvas(self._bytes, pagesize=(size.width, size.height), invariant=1, pageCompression=1)
        self._canvas.setTitle(self._shown(title))
        self._canvas.setCreator("Leadline")
        self._canvas.setLineJoin(1)
        self._canvas.setLineCap(0)

    # Words

    def width(self, words: str, look: Type) -> float:
        """Return how wide the words are in one line [pt]."""
        return self._width(printable(words, self.letters), look)

    def text(self, x: float, y: float, words: str, look: Type, *, share: float = 0.0) -> None:
        """Put one line with its foot at y; `share` of its width stands left of x (1: it ends there)."""
        shown = self._shown(words)
        self._canvas.setFont(_name(look), look.size)
        self._canvas.setFillColorRGB(*look.colour)
        self._canvas.drawString(x - share * self._width(shown, look), y, shown)

    def lines(self, words: str, look: Type, width: float) -> list[str]:
        """Return the words in lines no wider than `width`; a word that is too long is cut.

        A figure and its unit stay in one line.
        """
        found: list[str] = []
        for paragraph in words.splitlines():
            words_of_it = printable(unparted(paragraph), self.letters).split(" ")
            found += self._lines_of(words_of_it, look, width)
        return [line.replace(NO_BREAK_SPACE, " ") for line in found if line] or [""]

    def shortened(self, words: str, look: Type, width: float) -> str:
        """Return the words as they are where they fit, else their beginning and an ellipsis."""
        shown = printable(words, self.letters)
        if self._width(shown, look) <= width:
            return shown
        return shown[: self._fitting(shown, look, width - self._width("…", look))].rstrip() + "…"

    def _shown(self, words: str) -> str:
        shown = printable(words, self.letters)
        self.lacked_letters = self.lacked_letters or STAND_IN in shown
        return shown

    def _width(self, shown: str, look: Type) -> float:
        return float(self._canvas.stringWidth(shown, _name(look), look.size))

    def _lines_of(self, words: Sequence[str], look: Type, width: float) -> list[str]:
        done, line = [], ""
        for word in words:
            longer = f"{line} {word}" if line else word
            if len(word) <= LONGEST_WORD and self._width(longer, look) <= width:
                line = longer
                continue
            done.append(line)
            *cut, line = self._cut(word, look, width)
            done += cut
        return [*done, line]

    def _cut(self, word: str, look: Type, width: float) -> Iterator[str]:
        """Yield a word in pieces that fit, the last of them as short as it comes."""
        while len(word) > LONGEST_WORD or self._width(word, look) > width:
            end = max(1, self._fitting(word, look, width))
            yield word[:end]
            word = word[end:]
        yield word

    def _fitting(self, words: str, look: Type, width: float) -> int:
        """Return how many of the first letters fit, found by halving."""
        least, most = 0, min(len(words), LONGEST_WORD)
        while least < most:
            middle = (least + most + 1) // 2
            if self._width(words[:middle], look) <= width:
                least = middle
            else:
                most = middle - 1
        return least

    # Lines and areas

    def rule(
        self,
        begin: tuple[float, float],
        end: tuple[float, float],
        colour: Colour = GREY,
        width: float = 0.5,
        dash: Sequence[float] = (),
    ) -> None:
        """Draw a straight line, dashed where `dash` says how long its dashes and gaps are."""
        self._pen(colour, width, dash)
        self._canvas.line(*begin, *end)

    def curve(self, points: Points, colour: Colour, width: float) -> None:
        """Draw a line through points."""
        if len(points) < 2:
            return
        self._pen(colour, width)
        self._canvas.drawPath(self._path(points))

    def area(self, points: Points, colour: Colour) -> None:
        """Fill what the points go round."""
        self._canvas.setFillColorRGB(*colour)
        self._canvas.drawPath(self._path(points), stroke=0, fill=1)

    def box(
        self,
        left: float,
        bottom: float,
        width: float,
        height: float,
        *,
        fill: Colour | None = None,
        edge: Colour | None = None,
        pen: float = 0.5,
    ) -> None:
        """Draw a rectangle."""
        self._pen(edge or BLACK, pen)
        self._canvas.setFillColorRGB(*(fill or WHITE))
        self._canvas.rect(
            left, bottom, width, height, stroke=int(edge is not None), fill=int(fill is not None)
        )

    def hatch(self, points: Points, colour: Colour, apart: float = 4.0, width: float = 0.5) -> None:
        """Hatch what the points go round with slanting lines."""
        self._canvas.saveState()
        self._canvas.clipPath(self._path(points), stroke=0, fill=0)
        left, right = min(x for x, _ in points), max(x for x, _ in points)
        bottom, top = min(y for _, y in points), max(y for _, y in points)
        self._pen(colour, width)
        height = top - bottom
        for step in range(int((right - left + height) / apart) + 2):
            x = left - height + step * apart
            self._canvas.line(x, bottom, x + height, top)
        self._canvas.restoreState()

    def _pen(self, colour: Colour, width: float, dash: Sequence[float] = ()) -> None:
        self._canvas.setStrokeColorRGB(*colour)
        self._canvas.setLineWidth(width)
        self._canvas.setDash(list(dash))

    def _path(self, points: Points) -> PDFPathObject:
        path = self._canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        return path

    # Pages

    def mark(self, name: str, words: str) -> None:
        """Make this page a place that `link` can lead to, and a line in the reader's list of contents."""
        self._canvas.bookmarkPage(name)
        self._canvas.addOutlineEntry(self._shown(words), name, level=0)

    def link(self, left: float, bottom: float, right: float, top: float, to: str) -> None:
        """Make a rectangle lead to a marked page."""
        self._canvas.linkRect("", to, (left, bottom, right, top), relative=0)

    def next_page(self) -> None:
        """End this page."""
        self._canvas.showPage()
        self.lacked_letters = False

    def finished(self) -> bytes:
        """End the document and return it."""
        self._canvas.save()
        return self._bytes.getvalue()


def _name(look: Type) -> str:
    return f"Plex-{look.style}"


@cache
def _letters() -> frozenset[int]:
    """Load the typeface and return the code points that all its styles have."""
    fonts = [
        TTFont(f"Plex-{style}", str(font_file(f"IBMPlexSans-{style}.ttf")))
        for style in ("Regular", "SemiBold", "Italic")
    ]
    for font in fonts:
        registerFont(font)
    return frozenset.intersection(*(frozenset(font.face.charToGlyph) for font in fonts))

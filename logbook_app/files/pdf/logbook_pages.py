"""The logbook in print: one or two dives a page, an index of the dives at the end.

The pages are made as the dives come, so that a logbook of thousands needs no more room than two
of them; that is why the index stands at the end. Same dives, same settings and same instant give
the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.physics_sentences import gases_of
from logbook_app.analysis.spoken_times import clock_time, moment
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives, spoken_duration
from logbook_app.dive.record import Dive
from logbook_app.files.pdf.dive_block import LARGEST_CHART_PT, SMALLEST_CHART_PT, DiveBlock
from logbook_app.files.pdf.letters import stand_in_words
from logbook_app.files.pdf.paper import Paper, Type
from logbook_app.files.pdf.paper_size import PaperSize
from logbook_app.files.pdf.print_look import BODY, FOOT, HAIRLINE, LABEL, TITLE
from logbook_app.files.pdf.rows import Place, Row, drawn, foot, height_of, in_pages, line, rule, space
from logbook_app.language import _, later

MARGIN_PT: Final = 38.0
BINDING_PT: Final = 54.0  # at the left, wide enough for a punched hole
FOOT_PT: Final = 56.0
BETWEEN_DIVES_PT: Final = 20.0

# The index: heading, share of the width.
_COLUMNS: Final = (
    (later("Dive"), 0.06),
    (later("Date"), 0.115),
    (later("Began"), 0.07),
    (later("Site"), 0.265),
    (later("Depth"), 0.085),
    (later("Time"), 0.105),
    (later("Gas"), 0.10),
    (later("With"), 0.15),
    (later("Page"), 0.05),
)


@dataclass(frozen=True, slots=True)
class _Listed:
    """A dive in the index."""

    dive: Dive
    max_depth_m: float
    page: int
    mark: str


def logbook_pages(
    views: Iterable[DiveView],
    units: SpokenUnits,
    size: PaperSize,
    written_at: datetime,
    *,
    with_contacts: bool = False,
) -> bytes:
    """Return dives as a PDF document.

    views        in the order of the pages; each is let go when it is drawn
    units        the diver's
    written_at   the instant that the foot of each page names, local
    with_contacts   whether the emergency contacts on pre-dive cards are printed as well
    """
    pages = _Pages(Paper(size, _("Logbook")), units, written_at, with_contacts)
    for view in views:
        pages.add(view)
    return pages.finished()


class _Pages:
    """Takes one dive after the other, and ends a page when the next finds no room on it."""

    def __init__(
        self, paper: Paper, units: SpokenUnits, written_at: datetime, with_contacts: bool = False
    ) -> None:
        self._paper = paper
        self._units = units
        self._with_contacts = with_contacts
        self._written = moment(written_at)
        self._width = paper.size.width - BINDING_PT - MARGIN_PT
        self._room = paper.size.height - MARGIN_PT - FOOT_PT
        self._waiting: list[DiveBlock] = []
        self._listed: list[_Listed] = []
        self._page = 1
        self._caution = ""

    def add(self, view: DiveView) -> None:
        block = DiveBlock.of(view, self._units, with_contacts=self._with_contacts)
        if self._waiting and self._spare([*self._waiting, block]) < 0:
            self._draw_waiting()
        self._waiting.append(block)
        mark = _("dive {count}").format(count=len(self._listed))
        self._listed.append(_Listed(view.dive, view.analysis.max_depth_m, self._page, mark))
        self._caution = block.words.caution

    def finished(self) -> bytes:
        self._draw_waiting()
        self._draw_index()
        return self._paper.finished()

    def _draw_waiting(self) -> None:
        """Draw the dives of one page, their charts as high as there is room for."""
        if not self._waiting:
            return
        blocks, self._waiting = self._waiting, []
        more_pt = max(0.0, self._spare(blocks)) / len(blocks)
        chart_pt = min(LARGEST_CHART_PT, SMALLEST_CHART_PT + more_pt)
        rows: list[Row] = []
        for block, listed in zip(blocks, self._listed[-len(blocks) :], strict=True):
            self._paper.mark(listed.mark, block.name)
            rows += [space(BETWEEN_DIVES_PT)] if rows else []
            rows += block.rows(self._paper, self._width, chart_pt)
        self._draw_pages(rows, blocks[-1].continued())

    def _spare(self, blocks: Sequence[DiveBlock]) -> float:
        """Return the height that is left over when blocks with small charts stand on one page [pt]."""
        heights = [height_of(block.rows(self._paper, self._width, SMALLEST_CHART_PT)) for block in blocks]
        return self._room - sum(heights) - BETWEEN_DIVES_PT * (len(blocks) - 1)

    def _draw_pages(self, rows: Sequence[Row], heading: Sequence[Row]) -> None:
        for page in in_pages(rows, self._room, heading):
            drawn(self._paper, page, self._place())
            self._end_page()

    def _place(self) -> Place:
        return Place(BINDING_PT, self._paper.size.height - MARGIN_PT, self._width)

    def _end_page(self) -> None:
        caution = self._paper.lines(self._caution, FOOT, self._width)
        rows = [rule(HAIRLINE, 0.5, 4), *(line(words, FOOT) for words in caution)]
        y = foot(drawn(self._paper, rows, Place(BINDING_PT, FOOT_PT - 8, self._width)), FOOT)
        lacking = f" · {stand_in_words()}" if self._paper.lacked_letters else ""
        self._paper.text(
            BINDING_PT,
            y,
            _("Leadline · printed {written}{lacking}").format(written=self._written, lacking=lacking),
            FOOT,
        )
        right = BINDING_PT + self._width
        self._paper.text(
            right, y, _("Page {page}").format(page=self._page), replace(FOOT, style="SemiBold"), share=1.0
        )
        self._paper.next_page()
        self._page += 1

    # The index

    def _draw_index(self) -> None:
        self._paper.mark("index", _("Index of dives"))
        self._draw_pages(list(self._index()), [_headings(), rule(HAIRLINE)])

    def _index(self) -> Iterator[Row]:
        yield line(_("Index of dives"), TITLE)
        yield line(self._sum_words(), BODY)
        yield space(8)
        yield _headings()
        yield rule(HAIRLINE)
        for listed in self._listed:
            yield self._index_row(listed)

    def _sum_words(self) -> str:
        own = [listed for listed in self._listed if listed.dive.own]
        others = len(self._listed) - len(own)
        of_others = " " + _("{dives} of other divers.").format(dives=spoken_dives(others)) if others else ""
        if not own:
            return of_others.strip() or _("No dives.")
        minutes = int(sum(listed.dive.duration_min for listed in own))
        deepest = self._units.depth(max(listed.max_depth_m for listed in own))
        hours = f"{minutes // 60} h {minutes % 60:02d} min"
        return _("{dives}, {hours} under water, greatest depth {deepest}.{of_others}").format(
            dives=spoken_dives(len(own)), hours=hours, deepest=deepest, of_others=of_others
        )

    def _index_row(self, listed: _Listed) -> Row:
        dive, local = listed.dive, listed.dive.began_local
        cells = (
            str(dive.number) if dive.number is not None else "",
            f"{local:%Y-%m-%d}",
            clock_time(local),
            _site_words(dive),
            self._units.depth(listed.max_depth_m),
            spoken_duration(dive.duration_min) + (" " + _("est.") if dive.estimate else ""),
            gases_of(dive),
            ", ".join(dive.buddies),
            str(listed.page),
        )

        def draw(paper: Paper, place: Place) -> None:
            _draw_cells(paper, place, cells, BODY)
            paper.link(place.left, place.top - BODY.leading, place.right, place.top, listed.mark)

        return Row(BODY.leading * 1.15, draw)


def _site_words(dive: Dive) -> str:
    site = dive.site.name if dive.site else ""
    return site if dive.own else _("{site} (dive of {diver})").format(site=site, diver=dive.diver).strip()


def _headings() -> Row:
    def draw(paper: Paper, place: Place) -> None:
        _draw_cells(paper, place, [_(heading) for heading, _share in _COLUMNS], LABEL)

    return Row(LABEL.leading, draw)


def _draw_cells(paper: Paper, place: Place, cells: Sequence[str], look: Type) -> None:
    left = place.left
    for cell, (_heading, share) in zip(cells, _COLUMNS, strict=True):
        width = share * place.width
        paper.text(left, foot(place.top, look), paper.shortened(cell, look, width - 4), look)
        left += width

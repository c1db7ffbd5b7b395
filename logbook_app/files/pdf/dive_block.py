"""One dive as it is printed: name, chart section, figures, what it shows, the record, signatures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from logbook_app.analysis.chart_places import Box
from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.dive_words import DiveSheet, Line, dive_sheet
from logbook_app.analysis.pre_dive_words import card_lines
from logbook_app.analysis.section_of_dive import Section, section_of_dive
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.files.pdf.paper import Paper
from logbook_app.files.pdf.print_look import (
    BODY,
    HAIRLINE,
    HEADING,
    INK,
    LABEL,
    ON_A_PAGE,
    STRONG,
    TITLE,
    VALUE,
)
from logbook_app.files.pdf.printed_chart import PrintedChart
from logbook_app.files.pdf.rows import (
    Place,
    Row,
    foot,
    height_of,
    lead_and_words,
    line,
    paragraph,
    rule,
    side_by_side,
    space,
)
from logbook_app.language import _

SMALLEST_CHART_PT, LARGEST_CHART_PT = 112.0, 340.0
COLUMNS_APART_PT = 14.0
RECORD_COLUMNS = 3
LABELS_PT = 53.0
LONG_VALUE_PT = 3.5 * BODY.leading
SIGNATURE_PT = 32.0


@dataclass(frozen=True, slots=True)
class DiveBlock:
    """A dive ready to be printed; everything but the height of its chart is settled."""

    name: str
    words: DiveSheet
    section: Section
    buddies: tuple[str, ...]
    card: tuple[tuple[str, str], ...] = ()

    @classmethod
    def of(cls, view: DiveView, units: SpokenUnits, *, with_contacts: bool = False) -> DiveBlock:
        """Return a dive in the diver's units.

        with_contacts   whether the emergency contacts on its pre-dive card are printed as well
        """
        section = section_of_dive(view.dive, view.profile, view.analysis, units)
        words, card, limit_bar = dive_sheet(view, units), view.dive.pre_dive, view.rules.ppo2_limit_bar
        lines = card_lines(card, limit_bar, units, with_contacts=with_contacts) if card else ()
        return cls(words.title, words, section, view.dive.buddies, tuple(lines))

    def rows(self, paper: Paper, width: float, chart_pt: float) -> list[Row]:
        """Return the dive in rows of this width, with a chart of this height."""
        return [
            line(self.name, TITLE),
            *paragraph(paper, self.words.about, LABEL, width),
            *(paragraph(paper, self.words.estimate, STRONG, width) if self.words.estimate else ()),
            space(4),
            self._chart(chart_pt),
            space(5),
            *_figures(paper, self.words.figures, width),
            space(4),
            *(
                lead_and_words(paper, said.lead, said.words, (STRONG, BODY), width)
                for said in self.words.findings
            ),
            rule(HAIRLINE, 0.5, 9),
            *_record(paper, self.words.record, width),
            *self._notes(paper, width),
            *self._card(paper, width),
            self._signatures(),
        ]

    def continued(self) -> list[Row]:
        """Return what stands over the rest of a dive that does not fit one page."""
        return [line(f"{self.name}, continued", HEADING), space(6)]

    def _chart(self, chart_pt: float) -> Row:
        def draw(paper: Paper, place: Place) -> None:
            box = Box(place.left, place.top - chart_pt, place.right, place.top)
            PrintedChart(paper, ON_A_PAGE).draw(self.section, box)

        return Row(chart_pt, draw)

    def _notes(self, paper: Paper, width: float) -> list[Row]:
        if not self.words.notes.strip():
            return []
        return [space(4), line(_("Notes"), LABEL), *paragraph(paper, self.words.notes, BODY, width)]

    def _card(self, paper: Paper, width: float) -> list[Row]:
        """Return what was written before the dive, a line or more for each part."""
        if not self.card:
            return []
        told = [
            row
            for name, words in self.card
            for row in paragraph(paper, f"{name}: {'; '.join(words.splitlines())}", LABEL, width)
        ]
        return [space(4), line(_("Before the dive"), LABEL), *told]

    def _signatures(self) -> Row:
        """Return lines to sign on: for the buddy, and for whoever led the dive."""
        buddy = _("Buddy ({buddies})").format(buddies=", ".join(self.buddies)) if self.buddies else _("Buddy")
        captions = [_("{who}: name, signature, date").format(who=who) for who in (buddy, _("Dive leader"))]
        return side_by_side([_signature(caption) for caption in captions], COLUMNS_APART_PT)


def _signature(caption: str) -> list[Row]:
    return [space(SIGNATURE_PT - LABEL.leading - 3), rule(INK, 0.5, 3), line(caption, LABEL)]


def _figures(paper: Paper, figures: Sequence[Line], width: float) -> Iterator[Row]:
    """Yield the figures in one row, or in two where they are too wide for one."""
    widths = [max(paper.width(each.label, LABEL), paper.width(each.value, VALUE)) + 14 for each in figures]
    if sum(widths) > width and len(figures) > 1:
        half = (len(figures) + 1) // 2
        yield from _figures(paper, figures[:half], width)
        yield space(3)
        yield from _figures(paper, figures[half:], width)
        return

    def draw(paper: Paper, place: Place) -> None:
        left, spare = place.left, max(0.0, place.width - sum(widths)) / max(1, len(widths))
        for each, wide in zip(figures, widths, strict=True):
            paper.rule((left, place.top), (left, place.top - height), HAIRLINE, 0.7)
            paper.text(left + 5, foot(place.top, LABEL), each.label, LABEL)
            paper.text(left + 5, foot(place.top - LABEL.leading, VALUE), each.value, VALUE)
            left += wide + spare

    height = LABEL.leading + VALUE.leading
    yield Row(height, draw)


def _record(paper: Paper, lines: Sequence[Line], width: float) -> Iterator[Row]:
    """Yield the record in columns; what needs many lines takes the whole width, after the rest."""
    column = (width - COLUMNS_APART_PT * (RECORD_COLUMNS - 1)) / RECORD_COLUMNS
    entries = [_entry(paper, each, column) for each in lines]
    short = [row for row in entries if row.height < LONG_VALUE_PT]
    yield side_by_side(_balanced(short, RECORD_COLUMNS), COLUMNS_APART_PT)
    for each, row in zip(lines, entries, strict=True):
        if row.height >= LONG_VALUE_PT:
            yield space(2)
            yield from paragraph(paper, f"{each.label}: {each.value}", LABEL, width)


def _balanced(rows: Sequence[Row], columns: int) -> list[list[Row]]:
    """Return rows in columns of about the same height, read down one column after the other."""
    full = height_of(rows) / columns
    found: list[list[Row]] = [[] for _ in range(columns)]
    begun = 0.0
    for row in rows:
        found[min(columns - 1, int((begun + row.height / 2) / max(full, 1.0)))].append(row)
        begun += row.height
    return found


def _entry(paper: Paper, entry: Line, width: float) -> Row:
    """Return a label with its value beside it."""
    lines = paper.lines(entry.value, BODY, width - LABELS_PT)

    def draw(paper: Paper, place: Place) -> None:
        y = foot(place.top, BODY)
        paper.text(place.left, y, paper.shortened(entry.label, LABEL, LABELS_PT - 3), LABEL)
        for number, each in enumerate(lines):
            paper.text(place.left + LABELS_PT, y - number * BODY.leading, each, BODY)

    return Row(len(lines) * BODY.leading, draw)

"""The sheet for an accident: one page, black on white, whatever the last three days held.

The hand-written part keeps its place. What is left goes to the dives, the last first: each with its
profile and facts while there is room, the earlier ones in a line each, and where even those are too
many, the earliest are counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from logbook_app.analysis.accident_record import WINDOW, AccidentRecord, RecentDive
from logbook_app.analysis.accident_words import (
    dive_facts,
    dive_heading,
    dive_in_a_line,
    state_facts,
)
from logbook_app.analysis.chart_places import Box
from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.section_of_dive import Section, section_of_dive
from logbook_app.analysis.spoken_times import moment
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives
from logbook_app.files.pdf.letters import stand_in_words
from logbook_app.files.pdf.paper import BLACK, Paper, Type
from logbook_app.files.pdf.paper_size import PaperSize
from logbook_app.files.pdf.print_look import BLACK_AND_WHITE
from logbook_app.files.pdf.printed_chart import PrintedChart
from logbook_app.files.pdf.rows import (
    Place,
    Row,
    drawn,
    foot,
    height_of,
    lead_and_words,
    line,
    space,
)
from logbook_app.files.pdf.sheet_form import (
    COLUMNS_APART_PT,
    HEADING,
    LARGEST_WRITING_PT,
    SMALLEST_WRITING_PT,
    by_hand,
)
from logbook_app.language import _, later

MARGIN_PT: Final = 28.0
CHART_SHARE: Final = 0.36  # of the width; the facts stand beside it
SMALLEST_CHART_PT, LARGEST_CHART_PT = 50.0, 170.0
BETWEEN_DIVES_PT: Final = 4.0
WRITING_SHARE: Final = 0.6  # of the room that is left over
FACT_LINES: Final = 3  # of one fact at most; the page must hold the last dive whatever was written
FOOT_LINES: Final = 3

TITLE: Final = Type(14, "SemiBold")
LEAD: Final = Type(6.6, "SemiBold")
WORDS: Final = Type(6.6)
SHORT: Final = Type(5.8)  # a dive in one line: thirty of them fit beside the last dive, on Letter too
FOOT: Final = Type(5.8)
FIRST_AID: Final = Type(8.2)
FIRST_AID_LEAD: Final = Type(8.2, "SemiBold")

FIRST_AID_WORDS: Final = (
    (later("Call"), later("the local emergency services.")),
    (
        later("Oxygen:"),
        later("let somebody trained give it to the diver to breathe; write down when it began."),
    ),
    (
        later("Call"),
        later("a diving medicine centre and read this sheet to them. Take it along, with the recorder."),
    ),
)
CAUTION: Final = later(
    "Made by Leadline from what was recorded; nobody has judged it. Loads, ceilings and "
    "groups are figures of models and tables: they cannot know this diver, and a low "
    "figure rules nothing out. Symptoms count, and the physician decides."
)


def accident_sheet(record: AccidentRecord, units: SpokenUnits, factors: str, size: PaperSize) -> bytes:
    """Return the sheet as a PDF document of one page.

    record    what was recorded
    units     for the figures on the charts; the words say both
    factors   the diver's gradient factors, as in 40/85
    """
    paper = Paper(size, _("Information for a diving accident"))
    width = size.width - 2 * MARGIN_PT
    above = [*_heading(record), *_state(paper, record, factors, width)]
    foot_pt = FOOT_LINES * FOOT.leading
    room = size.height - 2 * MARGIN_PT - height_of(above) - foot_pt
    shared = _Shared(paper, units, width).between(record.dives, room)
    drawn(paper, [*above, *shared.dives], Place(MARGIN_PT, size.height - MARGIN_PT, width))
    drawn(paper, shared.by_hand, Place(MARGIN_PT, MARGIN_PT + foot_pt + height_of(shared.by_hand), width))
    _foot(paper, Place(MARGIN_PT, MARGIN_PT + foot_pt, width))
    paper.next_page()
    return paper.finished()


def _heading(record: AccidentRecord) -> list[Row]:
    return [
        line(_("Information for a diving accident"), TITLE),
        _first_aid(),
        space(3),
        line(f"Now: {moment(record.at)}", HEADING),
    ]


def _first_aid() -> Row:
    """Return the reminder in a frame, with room for the two numbers."""
    step = FIRST_AID.leading
    height = step * len(FIRST_AID_WORDS) + 8

    def draw(paper: Paper, place: Place) -> None:
        paper.box(place.left, place.top - height, place.width, height, edge=BLACK, pen=1.2)
        for number, (lead, words) in enumerate(FIRST_AID_WORDS):
            y = foot(place.top - 4 - number * step, FIRST_AID)
            numbered = f"{number + 1}  {_(lead)} "
            paper.text(place.left + 6, y, numbered, FIRST_AID_LEAD)
            paper.text(place.left + 6 + paper.width(numbered, FIRST_AID_LEAD), y, _(words), FIRST_AID)
            if lead == "Call":
                begin = place.right - 118
                paper.text(begin, y, _("number"), WORDS)
                paper.rule((begin + 24, y - 1), (place.right - 6, y - 1), BLACK, 0.4)

    return Row(height, draw)


def _state(paper: Paper, record: AccidentRecord, factors: str, width: float) -> list[Row]:
    hours = f"{WINDOW.total_seconds() / 3600:.0f} h"
    facts = " · ".join(f"{label}: {words}" for label, words in state_facts(record, factors))
    count = len(record.dives)
    dives = spoken_dives(count) if count else _("No dive")
    return [
        *([lead_and_words(paper, "", facts, (LEAD, WORDS), width)] if facts else []),
        space(3),
        line(
            _("Recorded dives: {dives} in the {hours} before now").format(dives=dives, hours=hours), HEADING
        ),
    ]


def _foot(paper: Paper, place: Place) -> None:
    words = f"{_(CAUTION)} {stand_in_words()}" if paper.lacked_letters else _(CAUTION)
    lines = paper.lines(words, FOOT, place.width)
    drawn(paper, [line(each, FOOT) for each in lines], place)


@dataclass(frozen=True, slots=True)
class _Parts:
    """The two parts of the page that share what the rest leaves."""

    dives: list[Row]
    by_hand: list[Row]


class _Shared:
    """Shares the room between the dives and the lines to write on.

    First every dive gets a line, then the last ones their profile and facts, then there is more room
    to write, and what still is left makes the profiles higher.
    """

    def __init__(self, paper: Paper, units: SpokenUnits, width: float) -> None:
        self._paper = paper
        self._units = units
        self._width = width
        self._facts_width = width * (1 - CHART_SHARE) - COLUMNS_APART_PT / 2

    def between(self, dives: Sequence[RecentDive], room: float) -> _Parts:
        """Return both parts, together no higher than the room."""
        least, most = (height_of(by_hand(pt)) for pt in (SMALLEST_WRITING_PT, LARGEST_WRITING_PT))
        latest = list(reversed(dives))
        whole = self._how_many_whole(latest, room - least)
        facts = [self._facts(dive) for dive in latest[:whole]]
        short = self._in_lines(latest[whole:], room - least - sum(map(_strip_pt, facts)))
        spare = room - least - sum(map(_strip_pt, facts)) - height_of(short)
        more = min(1.0, max(0.0, spare) * WRITING_SHARE / (most - least))
        chart_pt = max(0.0, spare - more * (most - least)) / max(1, whole)
        strips = [
            self._strip(dive, fact, _strip_pt(fact) + chart_pt)
            for dive, fact in zip(latest[:whole], facts, strict=True)
        ]
        writing_pt = SMALLEST_WRITING_PT + more * (LARGEST_WRITING_PT - SMALLEST_WRITING_PT)
        return _Parts([*strips, *short], by_hand(writing_pt))

    def _how_many_whole(self, latest: Sequence[RecentDive], room: float) -> int:
        """Return how many of the last dives get their profile, so that the others still get a line."""
        taken = 0.0
        for count, dive in enumerate(latest):
            taken += _strip_pt(self._facts(dive))
            if count and taken + (len(latest) - count - 1) * SHORT.leading > room:
                return count
        return len(latest)

    def _in_lines(self, earlier: Sequence[RecentDive], room: float) -> list[Row]:
        fitting = max(1, int(room / SHORT.leading))
        if len(earlier) <= fitting:
            return [line(dive_in_a_line(dive), SHORT) for dive in earlier]
        left_out = len(earlier) - fitting + 1
        words = _("and {left_out} earlier dives in the window, for which this page has no room").format(
            left_out=left_out
        )
        return [
            *(line(dive_in_a_line(dive), SHORT) for dive in earlier[: fitting - 1]),
            line(words, replace(SHORT, style="SemiBold")),
        ]

    def _facts(self, dive: RecentDive) -> list[Row]:
        looks = (LEAD, WORDS)
        return [
            line(dive_heading(dive.view.dive), LEAD),
            *(
                lead_and_words(self._paper, label, words, looks, self._facts_width, most=FACT_LINES)
                for label, words in dive_facts(dive)
            ),
        ]

    def _strip(self, dive: RecentDive, facts: Sequence[Row], height: float) -> Row:
        """Return a dive with its profile at the left and its facts beside it."""
        section = _as_recorded(dive.view, self._units)

        def draw(paper: Paper, place: Place) -> None:
            right = place.left + CHART_SHARE * place.width
            bottom = place.top - min(height - BETWEEN_DIVES_PT, LARGEST_CHART_PT)
            PrintedChart(paper, BLACK_AND_WHITE).draw(section, Box(place.left, bottom, right, place.top - 2))
            drawn(paper, facts, Place(right + COLUMNS_APART_PT / 2, place.top, self._facts_width))

        return Row(height, draw)


def _as_recorded(view: DiveView, units: SpokenUnits) -> Section:
    """Return the section with the line that the recorder wrote, whatever the analysis mended in it."""
    section = section_of_dive(view.dive, view.profile, view.analysis, units)
    if view.profile is None or len(view.profile) < 2:
        return section
    return replace(section, time_s=view.profile.time_s, depth_m=view.profile.depth_m)


def _strip_pt(facts: Sequence[Row]) -> float:
    """Return how much room a dive needs at least: its profile, or its facts where they are higher [pt]."""
    return max(SMALLEST_CHART_PT, height_of(facts)) + BETWEEN_DIVES_PT

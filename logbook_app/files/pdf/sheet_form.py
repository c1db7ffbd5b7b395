"""What a sheet for an accident leaves to be written by hand, because no logbook records it.

What emergency services and diving medicine centres ask for, from their published pages: caller and
place, call-back number, casualty, symptoms and events, insurer or membership, the dives. The medical
history, the neurological check and the transport are common to diving medicine manuals and named
here from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from logbook_app.files.pdf.paper import BLACK, Paper, Type
from logbook_app.files.pdf.rows import Place, Row, foot, line, side_by_side, space

NOT_RECORDED_WORDS: Final = "Not recorded: write by hand what is known, with clock times"

HEADING: Final = Type(8.2, "SemiBold")
GROUP: Final = Type(7.0, "SemiBold")
PROMPT: Final = Type(6.2)
SMALLEST_WRITING_PT, LARGEST_WRITING_PT = 13.0, 17.0  # from one line to write on to the next
COLUMNS_APART_PT: Final = 14.0


class Blank(NamedTuple):
    """Something to fill in, and its share of the line."""

    prompt: str
    share: float = 1.0


Line = tuple[Blank, ...]

WHO: Final[dict[str, tuple[Line, ...]]] = {
    "Caller": (
        (Blank("Name, role"),),
        (Blank("Call-back number"), Blank("Second number", 0.8)),
        (Blank("Exact place now, vessel"),),
    ),
    "Casualty": (
        (Blank("Name", 1.6), Blank("Birth date"), Blank("Sex", 0.5)),
        (Blank("Contact of kin"),),
        (Blank("Insurer, member number"),),
    ),
    "Medical": (
        (Blank("Allergies"), Blank("Medicines")),
        (Blank("Conditions, past decompression illness"),),
        (Blank("Fitness date"), Blank("Blood group", 0.7)),
        (Blank("Last food, drink, alcohol"),),
    ),
    "The last dive and after it": (
        (Blank("Free of symptoms before?"), Blank("Exertion, cold")),
        (Blank("Equipment problem, out of gas"),),
        (Blank("After: exertion, heat, bath"),),
        (Blank("Altitude change or flight: time, height"),),
    ),
}

CARE: Final[dict[str, tuple[Line, ...]]] = {
    "First aid given": (
        (Blank("Oxygen began at"), Blank("Flow or fraction")),
        (Blank("Device"), Blank("Oxygen ended at")),
        (Blank("Fluids in"), Blank("Position")),
        (Blank("Drugs"), Blank("CPR")),
    ),
    "Recorder and tanks (leave valves as found, note turns)": (
        (Blank("Kept by"), Blank("Gas analysis", 0.8)),
    ),
    "Dives that are not recorded": ((Blank("In, out, depth, gas"),),),
    "Transport": (
        (Blank("By"), Blank("Highest cabin height")),
        (Blank("Planned arrival"), Blank("Chamber, told by")),
    ),
}

SYMPTOMS: Final = (
    ("Symptom", 0.26),
    ("Clock time", 0.14),
    ("Min after surfacing", 0.23),
    ("Dive or stop", 0.15),
    ("Better, same, worse", 0.22),
)
SYMPTOM_LINES: Final = 5

STATE: Final = (
    ("Clock time", "Conscious", "Breathing", "Pulse", "Skin"),
    ("Orientation", "Eyes", "Face", "Hearing", "Swallow", "Tongue", "Strength", "Feeling", "Balance"),
)
STATE_LINES: Final = 3


def by_hand(writing_pt: float) -> list[Row]:
    """Return everything that is left to be written; `writing_pt` from one line to the next."""
    return [
        space(4),
        line(NOT_RECORDED_WORDS, HEADING),
        side_by_side(
            [_blanks(WHO, writing_pt), [*_symptoms(writing_pt), *_blanks(CARE, writing_pt)]], COLUMNS_APART_PT
        ),
        *_state(writing_pt),
    ]


def _blanks(groups: dict[str, tuple[Line, ...]], writing_pt: float) -> list[Row]:
    rows: list[Row] = []
    for name, lines in groups.items():
        rows += [space(2.5), line(name, GROUP)]
        rows += [_blank_line(each, writing_pt) for each in lines]
    return rows


def _symptoms(writing_pt: float) -> list[Row]:
    names, shares = [name for name, _ in SYMPTOMS], [share for _, share in SYMPTOMS]
    heading = line("Symptoms, first to last", GROUP)
    return [space(2.5), heading, _cells(names, shares, SYMPTOM_LINES, writing_pt)]


def _state(writing_pt: float) -> list[Row]:
    """Return the grid for the state of the casualty and the neurological check, a line for each time."""
    names = [name for part in STATE for name in part]
    heading = line("State and five-minute neurological check, a line each time", GROUP)
    return [space(2.5), heading, _cells(names, [1 / len(names)] * len(names), STATE_LINES, writing_pt)]


def _blank_line(blanks: Line, writing_pt: float) -> Row:
    def draw(paper: Paper, place: Place) -> None:
        whole, left, y = sum(blank.share for blank in blanks), place.left, place.top - writing_pt + 2.5
        for blank in blanks:
            right = left + place.width * blank.share / whole
            paper.text(left, y, blank.prompt, PROMPT)
            begin = left + paper.width(blank.prompt, PROMPT) + 2
            paper.rule((begin, y - 1), (right - 4, y - 1), BLACK, 0.4)
            left = right

    return Row(writing_pt, draw)


def _cells(names: Sequence[str], shares: Sequence[float], lines: int, writing_pt: float) -> Row:
    """Return an empty table with these headings."""
    head = PROMPT.leading + 1

    def draw(paper: Paper, place: Place) -> None:
        bottom, left = place.top - head - lines * writing_pt, place.left
        for name, share in zip(names, shares, strict=True):
            width = share * place.width
            paper.text(left + 1.5, foot(place.top, PROMPT), paper.shortened(name, PROMPT, width), PROMPT)
            paper.rule((left, place.top - head), (left, bottom), BLACK, 0.4)
            left += width
        paper.rule((place.right, place.top - head), (place.right, bottom), BLACK, 0.4)
        for number in range(lines + 1):
            y = place.top - head - number * writing_pt
            paper.rule((place.left, y), (place.right, y), BLACK, 0.4)

    return Row(head + lines * writing_pt + 2, draw)

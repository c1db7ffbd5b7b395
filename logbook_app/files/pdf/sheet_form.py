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
from logbook_app.language import _, later

NOT_RECORDED_WORDS: Final = later("Not recorded: write by hand what is known, with clock times")

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
    later("Caller"): (
        (Blank(later("Name, role")),),
        (Blank(later("Call-back number")), Blank(later("Second number"), 0.8)),
        (Blank(later("Exact place now, vessel")),),
    ),
    later("Casualty"): (
        (Blank(later("Name"), 1.6), Blank(later("Birth date")), Blank(later("Sex"), 0.5)),
        (Blank(later("Contact of kin")),),
        (Blank(later("Insurer, member number")),),
    ),
    later("Medical"): (
        (Blank(later("Allergies")), Blank(later("Medicines"))),
        (Blank(later("Conditions, past decompression illness")),),
        (Blank(later("Fitness date")), Blank(later("Blood group"), 0.7)),
        (Blank(later("Last food, drink, alcohol")),),
    ),
    later("The last dive and after it"): (
        (Blank(later("Free of symptoms before?")), Blank(later("Exertion, cold"))),
        (Blank(later("Equipment problem, out of gas")),),
        (Blank(later("After: exertion, heat, bath")),),
        (Blank(later("Altitude change or flight: time, height")),),
    ),
}

CARE: Final[dict[str, tuple[Line, ...]]] = {
    later("First aid given"): (
        (Blank(later("Oxygen began at")), Blank(later("Flow or fraction"))),
        (Blank(later("Device")), Blank(later("Oxygen ended at"))),
        (Blank(later("Fluids in")), Blank(later("Position"))),
        (Blank(later("Drugs")), Blank(later("CPR"))),
    ),
    later("Recorder and tanks (leave valves as found, note turns)"): (
        (Blank(later("Kept by")), Blank(later("Gas analysis"), 0.8)),
    ),
    later("Dives that are not recorded"): ((Blank(later("In, out, depth, gas")),),),
    later("Transport"): (
        (Blank(later("By")), Blank(later("Highest cabin height"))),
        (Blank(later("Planned arrival")), Blank(later("Chamber, told by"))),
    ),
}

SYMPTOMS: Final = (
    (later("Symptom"), 0.26),
    (later("Clock time"), 0.14),
    (later("Min after surfacing"), 0.23),
    (later("Dive or stop"), 0.15),
    (later("Better, same, worse"), 0.22),
)
SYMPTOM_LINES: Final = 5

STATE: Final = (
    (later("Clock time"), later("Conscious"), later("Breathing"), later("Pulse"), later("Skin")),
    (
        later("Orientation"),
        later("Eyes"),
        later("Face"),
        later("Hearing"),
        later("Swallow"),
        later("Tongue"),
        later("Strength"),
        later("Feeling"),
        later("Balance"),
    ),
)
STATE_LINES: Final = 3


def by_hand(writing_pt: float) -> list[Row]:
    """Return everything that is left to be written; `writing_pt` from one line to the next."""
    return [
        space(4),
        line(_(NOT_RECORDED_WORDS), HEADING),
        side_by_side(
            [_blanks(WHO, writing_pt), [*_symptoms(writing_pt), *_blanks(CARE, writing_pt)]], COLUMNS_APART_PT
        ),
        *_state(writing_pt),
    ]


def _blanks(groups: dict[str, tuple[Line, ...]], writing_pt: float) -> list[Row]:
    rows: list[Row] = []
    for name, lines in groups.items():
        rows += [space(2.5), line(_(name), GROUP)]
        rows += [_blank_line(each, writing_pt) for each in lines]
    return rows


def _symptoms(writing_pt: float) -> list[Row]:
    names, shares = [name for name, _share in SYMPTOMS], [share for _name, share in SYMPTOMS]
    heading = line(_("Symptoms, first to last"), GROUP)
    return [space(2.5), heading, _cells(names, shares, SYMPTOM_LINES, writing_pt)]


def _state(writing_pt: float) -> list[Row]:
    """Return the grid for the state of the casualty and the neurological check, a line for each time."""
    names = [name for part in STATE for name in part]
    heading = line(_("State and five-minute neurological check, a line each time"), GROUP)
    return [space(2.5), heading, _cells(names, [1 / len(names)] * len(names), STATE_LINES, writing_pt)]


def _blank_line(blanks: Line, writing_pt: float) -> Row:
    def draw(paper: Paper, place: Place) -> None:
        whole, left, y = sum(blank.share for blank in blanks), place.left, place.top - writing_pt + 2.5
        for blank in blanks:
            right = left + place.width * blank.share / whole
            paper.text(left, y, _(blank.prompt), PROMPT)
            begin = left + paper.width(_(blank.prompt), PROMPT) + 2
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
            paper.text(left + 1.5, foot(place.top, PROMPT), paper.shortened(_(name), PROMPT, width), PROMPT)
            paper.rule((left, place.top - head), (left, bottom), BLACK, 0.4)
            left += width
        paper.rule((place.right, place.top - head), (place.right, bottom), BLACK, 0.4)
        for number in range(lines + 1):
            y = place.top - head - number * writing_pt
            paper.rule((place.left, y), (place.right, y), BLACK, 0.4)

    return Row(head + lines * writing_pt + 2, draw)

"""The card of a plan: small, black on white, made to be copied onto a slate or put into a pocket.

It is one page, in the largest type in which everything fits. What has no room even in the smallest goes
on, on further pages with the same heading: no line of a plan is ever left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from logbook_app.analysis.dive_plan import DivePlan
from logbook_app.analysis.plan_words import CAUTION, beyond_training, cylinder_words
from logbook_app.analysis.slate_words import SlateLine, slate_lines, slate_model, slate_start
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_duration
from logbook_app.files.pdf.paper import BLACK, Paper, Type
from logbook_app.files.pdf.paper_size import A6, PaperSize
from logbook_app.files.pdf.rows import (
    Place,
    Row,
    drawn,
    foot,
    height_of,
    in_pages,
    line,
    paragraph,
    rule,
    space,
)
from logbook_app.language import _

MARGIN_PT: Final = 17.0
TYPE_SIZES_PT: Final = (11.5, 10.0, 9.0, 8.2, 7.4, 6.6, 6.0)
WORDS_SHARE: Final = 0.82  # of the size of the lines
# Where the columns begin, as a share of the width: depth, minutes, run time, gas.
MINUTES_AT, UNTIL_AT, GAS_AT = 0.55, 0.70, 0.73
DEPTH_SHARE: Final = 0.43


def plan_slate(plan: DivePlan, units: SpokenUnits, size: PaperSize = A6) -> bytes:
    """Return the card as a PDF document."""
    paper = Paper(size, _("Plan of a dive"))
    width, room = size.width - 2 * MARGIN_PT, size.height - 2 * MARGIN_PT
    for size_pt in TYPE_SIZES_PT:
        heading, rows = _rows(paper, plan, units, size_pt, width)
        if height_of([*heading, *rows]) <= room and _fit(paper, plan, units, size_pt, width):
            break
    for page in in_pages([*heading, *rows], room, heading):
        drawn(paper, page, Place(MARGIN_PT, size.height - MARGIN_PT, width))
        paper.next_page()
    return paper.finished()


def _rows(
    paper: Paper, plan: DivePlan, units: SpokenUnits, size_pt: float, width: float
) -> tuple[list[Row], list[Row]]:
    """Return the heading of each page, and what the card says, in one size of type."""
    small = Type(size_pt * WORDS_SHARE)
    title = _("Plan: {depth}, run time {run_time}").format(
        depth=units.depth(plan.dive.max_depth_m), run_time=spoken_duration(round(plan.run_time_min, 6))
    )
    heading = [
        line(title, Type(size_pt * 1.3, "SemiBold")),
        *paragraph(paper, slate_start(plan), small, width),
        space(3),
    ]
    lines = list(slate_lines(plan, units))
    rows = [
        _columns(SlateLine(_("depth"), _("time"), _("until"), _("gas")), small),
        *(row for each in lines for row in (rule(BLACK, 0.4, 2.0), _columns(each, Type(size_pt)))),
        rule(BLACK, 1.0, 6.0),
        *_gas(paper, plan, units, small, width),
        space(3),
        *_cautions(paper, plan, small, width),
    ]
    return heading, rows


def _fit(paper: Paper, plan: DivePlan, units: SpokenUnits, size_pt: float, width: float) -> bool:
    """Return whether no line has to be shortened in this size."""
    look = Type(size_pt, "SemiBold")
    return all(
        paper.width(each.place, look) <= DEPTH_SHARE * width
        and paper.width(each.gas, look) <= (1 - GAS_AT) * width
        for each in slate_lines(plan, units)
    )


def _columns(each: SlateLine, look: Type) -> Row:
    strong = Type(look.size, "SemiBold")

    def draw(paper: Paper, place: Place) -> None:
        y = foot(place.top, look)
        gas_left = place.left + GAS_AT * place.width
        paper.text(place.left, y, paper.shortened(each.place, look, DEPTH_SHARE * place.width), look)
        paper.text(place.left + MINUTES_AT * place.width, y, each.minutes, look, share=1.0)
        paper.text(place.left + UNTIL_AT * place.width, y, each.until, strong, share=1.0)
        shown = paper.shortened(each.gas, strong, place.right - gas_left)
        paper.text(gas_left, y, shown, strong if each.changes else look)

    return Row(look.leading, draw)


def _gas(paper: Paper, plan: DivePlan, units: SpokenUnits, look: Type, width: float) -> Iterator[Row]:
    if not plan.cylinders:
        yield from paragraph(
            paper, _("How much gas it takes is not known: no minute volume was given."), look, width
        )
    for cylinder in plan.cylinders:
        words = "; ".join(cylinder_words(cylinder, units)) + "."
        yield from paragraph(paper, words, look, width)


def _cautions(paper: Paper, plan: DivePlan, look: Type, width: float) -> Sequence[Row]:
    strong = Type(look.size, "SemiBold")
    beyond = " ".join(beyond_training(plan))
    return [
        *(paragraph(paper, beyond, strong, width) if beyond else ()),
        *paragraph(paper, slate_model(plan), look, width),
        *paragraph(paper, _(CAUTION), strong, width),
    ]

"""What the Buddies room says: dives to choose from, and a comparison of those chosen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from logbook_app.analysis.clock_alignment import Likeness
from logbook_app.analysis.compared_dives import Comparison, Limits, compared
from logbook_app.analysis.comparison_words import (
    ascent_words,
    gap_words,
    gaps_to_leader,
    lasting,
    laying_words,
    named,
    side_by_side,
    stop_words,
)
from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.divers_together import lag_words, lines_of_divers
from logbook_app.analysis.likely_partners import LikelyPair
from logbook_app.analysis.other_recording import OtherRecording
from logbook_app.analysis.section_of_dive import Section, section_of_dive
from logbook_app.analysis.spoken_times import clock_time, full_date
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_duration
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.screens.import_words import DiveLine

LIMITS_M = (2.0, 3.0, 5.0, 10.0)
LIMITS_S = (30.0, 60.0, 120.0)

Table = Sequence[tuple[str, tuple[str, ...]]]


@dataclass(frozen=True, slots=True, eq=False)
class Said:
    """A paragraph about one diver beside the leader."""

    name: str
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Together:
    """Dives laid over each other, with everything the room shows of them.

    section  of the leader
    lines    of the others, on the leader's clock
    said     one for each of the others
    gaps     a table of the gaps to the leader; empty for a pair
    table    what each diver has, side by side
    """

    views: tuple[DiveView, ...]
    units: SpokenUnits
    comparison: Comparison
    title: str
    about: str
    section: Section
    lines: tuple[OtherRecording, ...]
    said: tuple[Said, ...]
    gaps: Table
    table: Table

    def lag_words(self, dive_id: str, by_s: float = 0.0) -> str:
        """Say where the line of a dive lies, were it moved by so much more."""
        beside = next(each for each in self.comparison.others if each.side.dive_id == dive_id)
        return lag_words(beside.lag_s + by_s, beside.lag_s + beside.clock_offset_s)


def together(
    views: Sequence[DiveView], units: SpokenUnits, limits: Limits, lags_s: Mapping[str, float]
) -> Together:
    """Return dives laid over each other, the leader's first. Raises RefusedRecord, see `compared`."""
    leader, *others = views
    comparison = compared(leader, others, limits, lags_s)
    names = names_told_apart(
        [named(side) for side in (comparison.leader, *(each.side for each in comparison.others))]
    )
    lines = lines_of_divers(views, comparison)
    section = section_of_dive(leader.dive, leader.profile, leader.analysis, units)
    return Together(
        views=tuple(views),
        units=units,
        comparison=comparison,
        title=_first_large(_("{names} and {last}").format(names=", ".join(names[:-1]), last=names[-1])),
        about=_about(leader.dive),
        section=replace(section, diver=names[0]),
        lines=tuple(replace(line, words=name) for line, name in zip(lines, names[1:], strict=True)),
        said=tuple(_said(comparison, place, names[1 + place], units) for place in range(len(others))),
        gaps=_headed(gaps_to_leader(comparison, units), names[1:]) if len(others) > 1 else (),
        table=_headed(side_by_side(comparison, units), names),
    )


def views_of(logbook: Any, dive_ids: Sequence[str]) -> tuple[tuple[DiveView, ...], SpokenUnits]:
    """Return the dives with all that is worked out of each. Run in the worker. Raises UnknownDive."""
    views = tuple(logbook.dive_view(dive_id) for dive_id in dive_ids)
    return views, SpokenUnits(logbook.settings().units)


def pair_line(pair: LikelyPair) -> DiveLine:
    """Return a pair as the list of likely ones names it."""
    sure = (
        _("the shapes are those of one dive")
        if pair.likeness is Likeness.SAME
        else _("the shapes could be those of one dive")
    )
    return DiveLine(
        pair.own.id,
        _("{dive} with {name}").format(dive=_short(pair.own), name=pair.other.diver or _("a second record")),
        f"{_about(pair.own)} · {sure}",
    )


def choice_words(dive: Dive, units: SpokenUnits) -> str:
    """Return a dive as the list to choose from names it, in one line."""
    site = dive.site.name if dive.site else ""
    parts = (
        _short(dive) if not dive.diver else dive.diver,
        f"{full_date(dive.began_local)}, {clock_time(dive.began_local)}",
        site,
        units.depth(dive.max_depth_m),
        spoken_duration(dive.duration_min),
    )
    return " · ".join(part for part in parts if part)


def picked_words(dives: Sequence[Dive]) -> str:
    """Say who leads and who is along, as far as it is chosen."""
    if not dives:
        return _("First the dive that leads, then up to seven that were along.")
    leads = _("{who} leads.").format(who=_first_large(_whose(dives[0])))
    along = ", ".join(_whose(dive) for dive in dives[1:])
    return f"{leads} " + (_("Along: {who}.").format(who=along) if along else _("Now those who were along."))


def names_told_apart(names: Sequence[str]) -> list[str]:
    """Return names with a number where one comes again: a diver may have worn two recorders.

    >>> names_told_apart(["Ada", "Tom", "Ada"])
    ['Ada (1)', 'Tom', 'Ada (2)']
    """
    return [
        name if names.count(name) == 1 else f"{name} ({names[: place + 1].count(name)})"
        for place, name in enumerate(names)
    ]


def _headed(table: Table, names: Sequence[str]) -> Table:
    """Return a table with these names in its first row."""
    (heading, _names), *rows = table
    return [(heading, tuple(names)), *rows]


def _said(comparison: Comparison, place: int, name: str, units: SpokenUnits) -> Said:
    beside = comparison.others[place]
    sentences = (
        laying_words(beside),
        *gap_words(beside, comparison, units),
        ascent_words(beside, comparison.leader, units),
        stop_words(beside, comparison.leader),
    )
    return Said(name, tuple(_first_large(each) for each in sentences))


def _whose(dive: Dive) -> str:
    return dive.diver or _short(dive)


def _short(dive: Dive) -> str:
    if dive.number is not None:
        return _("Dive {number}").format(number=dive.number)
    return _("Dive of {date}").format(date=full_date(dive.began_local))


def _about(dive: Dive) -> str:
    began = f"{full_date(dive.began_local)}, {clock_time(dive.began_local)}"
    return f"{began} · {dive.site.name}" if dive.site else began


def _first_large(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def limit_answers(shown: Together | None) -> list[tuple[str, str]]:
    """Return the gaps from which two divers may count as apart, as answers and words."""
    units = shown.units if shown else SpokenUnits()
    return [(f"{gap_m:g}", units.round_depth(gap_m)) for gap_m in LIMITS_M]


def lasting_answers() -> list[tuple[str, str]]:
    """Return how long such a gap may last, as answers and words."""
    return [(f"{lasts_s:g}", lasting(lasts_s)) for lasts_s in LIMITS_S]

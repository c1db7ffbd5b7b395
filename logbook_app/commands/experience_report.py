"""Answers to requirements as JSON, and as a plain table with the evidence under it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from logbook_app.analysis.experience import RequirementAnswer, SetAnswer, Verdict
from logbook_app.analysis.experience_rules import SomeOf, said
from logbook_app.analysis.experience_words import (
    VERDICTS,
    Names,
    asked_words,
    confirmed_words,
    have_words,
    missing_words,
    name_words,
    nearly_words,
    reading_words,
    source_words,
    summary_words,
)
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives, spoken_duration
from logbook_app.dive.credentials import DiverFacts, facts_to_plain
from logbook_app.dive.record import Dive
from logbook_app.language import _, ngettext, number

_MOST_COUNTING = 10  # dives named under a requirement; the JSON has all of them


def answers_report(answers: Sequence[SetAnswer], dives: int, hours: float) -> Iterator[str]:
    """Yield one line for each set, under what its program is called."""
    yield _("{dives}, {hours} h").format(dives=spoken_dives(dives), hours=number(hours, ".1f"))
    width = max(len(answer.rules.id) for answer in answers) + 2
    program = None
    for answer in answers:
        if (now := said(answer.rules.program)) != program:
            program = now
            yield program
        yield f"  {answer.rules.id:<{width}}{said(answer.rules.name)}: {summary_words(answer)}"


def evidence_report(
    answer: SetAnswer, names: Names, dives: Mapping[str, Dive], units: SpokenUnits
) -> Iterator[str]:
    """Yield a set with every requirement, the dives that count and those that nearly do."""
    rules = answer.rules
    yield f"{said(rules.program)}: {said(rules.name)}"
    yield summary_words(answer)
    yield _("Source: {source}").format(source=source_words(rules))
    if rules.note:
        yield said(rules.note)
    for each in answer.answers:
        yield ""
        yield from _requirement(each, names, dives, units, "")


def _requirement(
    answer: RequirementAnswer, names: Names, dives: Mapping[str, Dive], units: SpokenUnits, indent: str
) -> Iterator[str]:
    have = have_words(answer)
    yield f"{indent}{name_words(answer.requirement, names)}: {_(VERDICTS[answer.verdict])}" + (
        f", {have}" if have else ""
    )
    told = (asked_words(answer, names), missing_words(answer, names), confirmed_words(answer))
    yield from (f"{indent}  {words}" for words in told if words)
    yield f"{indent}  {reading_words(answer.requirement)}"
    if answer.requirement.note:
        yield f"{indent}  {said(answer.requirement.note)}"
    if isinstance(answer.requirement, SomeOf):
        for part in answer.parts:
            yield from _requirement(part, names, dives, units, f"{indent}  ")
        return
    yield from _evidence(answer, names, dives, units, f"{indent}  ")


def _evidence(
    answer: RequirementAnswer, names: Names, dives: Mapping[str, Dive], units: SpokenUnits, indent: str
) -> Iterator[str]:
    if answer.counting:
        yield f"{indent}{_('Counting:')}"
        for dive_id in answer.counting[-_MOST_COUNTING:]:
            yield f"{indent}  {_dive_words(dives[dive_id], units)}"
        if (more := len(answer.counting) - _MOST_COUNTING) > 0:
            earlier = ngettext("and {count} earlier dive", "and {count} earlier dives", more)
            yield f"{indent}  {earlier.format(count=more)}"
    if answer.nearly and answer.verdict is not Verdict.MET:
        yield f"{indent}{_('Nearly counting:')}"
        for each in answer.nearly:
            why = nearly_words(each, answer, names)
            yield f"{indent}  {_dive_words(dives[each.dive_id], units)}: {why}"


def _dive_words(dive: Dive, units: SpokenUnits) -> str:
    """Return what tells one dive from another: `#214  2026-11-14  28.4 m  47 min  Heron Ledge`."""
    number_words = "" if dive.number is None else f"#{dive.number}"
    parts = (number_words, f"{dive.began_local:%Y-%m-%d}", units.depth(dive.max_depth_m))
    site = dive.site.name if dive.site else ""
    return "  ".join(part for part in (*parts, spoken_duration(dive.duration_min), site) if part)


def sets_to_json(answers: Sequence[SetAnswer]) -> list[dict[str, Any]]:
    """Return each set with how much of it is met."""
    return [
        {
            "id": answer.rules.id,
            "name": said(answer.rules.name),
            "program": said(answer.rules.program),
            "source": answer.rules.source,
            "edition": answer.rules.edition,
            "reading": answer.rules.reading.value,
            "logged_part_met": answer.logged_part_met,
            "met": answer.counted(Verdict.MET),
            "not_met": answer.counted(Verdict.NOT_MET),
            "to_confirm": answer.counted(Verdict.TO_CONFIRM),
        }
        for answer in answers
    ]


def answer_to_json(answer: SetAnswer, names: Names) -> dict[str, Any]:
    """Return a set with every requirement and its evidence."""
    return {
        "on": answer.on_day.isoformat(),
        **sets_to_json([answer])[0],
        "words": summary_words(answer),
        "requirements": [_requirement_to_json(each, names) for each in answer.answers],
    }


def _requirement_to_json(answer: RequirementAnswer, names: Names) -> dict[str, Any]:
    return {
        "id": answer.requirement.id,
        "name": name_words(answer.requirement, names),
        "reading": answer.requirement.reading.value,
        "source": answer.requirement.source,
        "asked": asked_words(answer, names),
        "verdict": answer.verdict.value,
        "met": answer.verdict is Verdict.MET,
        "have": answer.have,
        "need": answer.need,
        "have_min": answer.have_min,
        "need_min": answer.need_min,
        "counting": list(answer.counting),
        "nearly": [
            {
                "dive_id": each.dive_id,
                "why_not": each.why.value,
                "told": each.told,
                "words": nearly_words(each, answer, names),
            }
            for each in answer.nearly
        ],
        "nearly_in_all": answer.nearly_in_all,
        "missing": missing_words(answer, names),
        "until": _day(answer.until),
        "since": _day(answer.since),
        "breaks": [{"due": _day(due), "came": _day(came)} for due, came in answer.breaks],
        "unknown": None if answer.unknown is None else answer.unknown.value,
        "confirmed": None
        if answer.confirmed is None
        else asdict(answer.confirmed) | {"on": _day(answer.confirmed.on)},
        "parts": [_requirement_to_json(part, names) for part in answer.parts],
    }


def _day(on: date | None) -> str | None:
    return None if on is None else on.isoformat()


def facts_to_json(facts: DiverFacts) -> dict[str, Any]:
    """Return what a diver holds."""
    return facts_to_plain(facts)

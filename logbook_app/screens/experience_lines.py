"""Progress toward certificates in words: what there is to choose, each requirement, the dives behind one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from logbook_app.analysis.experience import RequirementAnswer, SetAnswer, Verdict
from logbook_app.analysis.experience_rules import CertificateAsked, Reading, RequirementSet, SomeOf, said
from logbook_app.analysis.experience_words import (
    READINGS,
    VERDICTS,
    Names,
    asked_words,
    confirmed_words,
    have_words,
    missing_words,
    name_words,
    names_of,
    nearly_words,
    source_words,
    summary_words,
)
from logbook_app.analysis.spoken_times import date_alone
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives
from logbook_app.dive.credentials import DiverFacts
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.screens.import_words import DiveLine, dive_line

Answered = tuple[str, str]
"""What choosing a chip means, and what it says."""


@dataclass(frozen=True, slots=True)
class RequirementLine:
    """One requirement.

    state    met or not, and what there is of what is asked
    missing  what is missing, empty where nothing is
    quiet    which dives count, and how the figure came here
    answer   where its evidence is; None where there is none to look at
    """

    name: str
    heading: str
    verdict: Verdict
    state: str
    missing: str
    quiet: str
    answer: RequirementAnswer | None


@dataclass(frozen=True, slots=True)
class SetWords:
    """A set of requirements as the page shows it."""

    name: str
    heading: str
    summary: str
    about: str
    lines: tuple[RequirementLine, ...]


@dataclass(frozen=True, slots=True)
class Evidence:
    """Dives behind a requirement, under what they are."""

    heading: str
    dives: tuple[DiveLine, ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """All that the page asks the worker for."""

    programs: tuple[Answered, ...]
    program: str
    sets: tuple[Answered, ...]
    words: SetWords
    names: Names


def shown(logbook: Any, wanted: str) -> Shown:
    """Return what the page shows of a set; runs in the worker.

    wanted   id of a set, or what a program is called; empty for what was looked at last, and where nothing
             was, for what comes after a certificate that is held. The first one stands for what is not there
    """
    sets: tuple[RequirementSet, ...] = logbook.experience.sets()
    wanted = wanted or logbook.experience.looked_at() or _next_after_held(sets, logbook.experience.facts())
    program = next(
        (_program(each) for each in sets if wanted in (each.id, _program(each))), _program(sets[0])
    )
    there = [each for each in sets if _program(each) == program]
    rules = next((each for each in there if each.id == wanted), there[0])
    (answer,) = logbook.experience.toward((rules,))
    names = names_of(sets)
    logbook.experience.look_at(rules.id)
    return Shown(
        tuple((each, each) for each in dict.fromkeys(map(_program, sets))),
        program,
        tuple((each.id, said(each.name)) for each in there),
        set_words(answer, names),
        names,
    )


def _next_after_held(sets: Sequence[RequirementSet], facts: DiverFacts) -> str:
    """Return the first set that asks for a certificate that is held, and is none that is held itself."""
    for rules in sets:
        asked = [each for each in rules.requirements if isinstance(each, CertificateAsked)]
        if not facts.holds(rules.id) and any(facts.holds(grade) for each in asked for grade in each.grades):
            return rules.id
    return ""


def _program(rules: RequirementSet) -> str:
    return said(rules.program)


def set_words(answer: SetAnswer, names: Names) -> SetWords:
    """Return a set with each requirement in words."""
    rules = answer.rules
    about = [
        _("Source: {source}").format(source=source_words(rules)),
        _(READINGS[rules.reading]),
        said(rules.note),
    ]
    lines = tuple(_lines(answer, names))
    return SetWords(
        rules.id,
        said(rules.name),
        summary_words(answer),
        " ".join(f"{each.rstrip('.')}." for each in about if each),
        lines,
    )


def _lines(answer: SetAnswer, names: Names) -> Iterator[RequirementLine]:
    usual = answer.rules.reading
    for each in answer.answers:
        yield _line(each, names, usual)
        if isinstance(each.requirement, SomeOf):
            for part in each.parts:
                line = _line(part, names, usual)
                heading = _("or: {name}").format(name=line.heading)
                yield replace(line, name=f"{each.requirement.id}-{line.name}", heading=heading)


def _line(answer: RequirementAnswer, names: Names, usual: Reading) -> RequirementLine:
    asked = answer.requirement
    told = (_(VERDICTS[answer.verdict]), have_words(answer), confirmed_words(answer))
    reading = _(READINGS[asked.reading]) if asked.reading is not usual else ""
    some = isinstance(asked, SomeOf)
    missing = "" if some else missing_words(answer, names)
    which = asked_words(answer, names)
    quiet = ("" if which in missing else which, asked.source, reading, said(asked.note))
    evident = bool(answer.counting or answer.nearly) and not some
    return RequirementLine(
        name=asked.id,
        heading=name_words(asked, names),
        verdict=answer.verdict,
        state=", ".join(each for each in told if each),
        missing=missing,
        quiet=" · ".join(each for each in quiet if each),
        answer=answer if evident else None,
    )


def evidence(
    answer: RequirementAnswer, names: Names, dives: Iterable[Dive], units: SpokenUnits
) -> tuple[Evidence, ...]:
    """Return the dives that count, the latest first, and those that nearly do with the reason."""
    by_id = {dive.id: dive for dive in dives}
    return tuple(_evidence(answer, names, by_id, units))


def _evidence(
    answer: RequirementAnswer, names: Names, by_id: Mapping[str, Dive], units: SpokenUnits
) -> Iterator[Evidence]:
    if counting := _there(answer.counting, by_id):
        heading = _("Counting: {dives}").format(dives=spoken_dives(len(counting)))
        yield Evidence(heading, tuple(dive_line(dive, units) for dive in reversed(counting)))
    nearly = [each for each in answer.nearly if each.dive_id in by_id]
    if nearly:
        lines = [
            _why_not_line(by_id[each.dive_id], nearly_words(each, answer, names), units) for each in nearly
        ]
        yield Evidence(_nearly_heading(len(nearly), answer.nearly_in_all), tuple(lines))
    for part in answer.parts:
        for each in _evidence(part, names, by_id, units):
            which = asked_words(part, names)
            yield replace(each, heading=_("{which}: {heading}").format(which=which, heading=each.heading))


def _nearly_heading(shown_here: int, in_all: int) -> str:
    if in_all > shown_here:
        return _("Nearly counting, the nearest {count} of {all}").format(count=shown_here, all=in_all)
    return _("Nearly counting: {dives}").format(dives=spoken_dives(in_all))


def _why_not_line(dive: Dive, why: str, units: SpokenUnits) -> DiveLine:
    line = dive_line(dive, units)
    day = date_alone(dive.began_local)
    return replace(line, heading=f"{line.heading} · {day}", line=why)


def _there(ids: Sequence[str], by_id: Mapping[str, Dive]) -> list[Dive]:
    return [by_id[each] for each in ids if each in by_id]

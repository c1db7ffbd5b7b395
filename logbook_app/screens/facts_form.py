"""What is known of a diver as a form: days as text while they are written, and what is the matter with them.

No Kivy here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from logbook_app.analysis.experience_rules import RequirementSet, said
from logbook_app.analysis.experience_words import EXAMINATIONS, Names, grade_words, names_of
from logbook_app.analysis.spoken_times import date_alone
from logbook_app.dive.credentials import Certificate, DiverFacts, Examination
from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _

BORN = "born"


@dataclass(frozen=True, slots=True)
class HeldLine:
    """A certificate that is held, or a club's own file that is kept."""

    key: str
    heading: str
    line: str


@dataclass(frozen=True, slots=True)
class FactsShown:
    """All that the page asks the worker for.

    grades   pairs of id and words of every set that a certificate can be of, program by program
    texts    what stands in the fields of the days
    """

    held: tuple[HeldLine, ...]
    rules: tuple[HeldLine, ...]
    programs: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    texts: Mapping[str, str]


def facts_shown(logbook: Any) -> FactsShown:
    """Return what the page shows; runs in the worker."""
    experience = logbook.experience
    sets, facts = experience.sets(), experience.facts()
    names, troubles = names_of(sets), experience.kept_troubles()
    return FactsShown(
        tuple(_held(each, names) for each in facts.certificates),
        tuple(
            HeldLine(kept.file_name, kept.file_name, troubles.get(kept.file_name, ""))
            for kept in experience.kept_rules()
        ),
        _programs(sets),
        texts_of(facts),
    )


def _programs(sets: Iterable[RequirementSet]) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    found: dict[str, list[tuple[str, str]]] = {}
    for rules in sets:
        found.setdefault(said(rules.program), []).append((rules.id, said(rules.name)))
    return tuple((program, tuple(grades)) for program, grades in found.items())


def _held(certificate: Certificate, names: Names) -> HeldLine:
    issued = certificate.issued_on
    parts = (date_alone(issued) if issued else _("day not written down"), certificate.number)
    heading = certificate.name or grade_words(certificate.grade, names)
    return HeldLine(certificate.id, heading, " · ".join(part for part in parts if part))


def texts_of(facts: DiverFacts) -> dict[str, str]:
    """Return what stands in the fields: a day as 2026-11-14, empty where none is known."""
    days = {each.value: facts.examined.get(each) for each in EXAMINATIONS} | {BORN: facts.born_on}
    return {name: on.isoformat() if on else "" for name, on in days.items()}


def with_texts(facts: DiverFacts, texts: Mapping[str, str], today: date) -> tuple[DiverFacts, dict[str, str]]:
    """Return the facts with the days that were written, and a sentence for each that is none."""
    days: dict[str, date | None] = {}
    troubles: dict[str, str] = {}
    for name, text in texts.items():
        try:
            days[name] = day_in(text, today)
        except RefusedRecord as refusal:
            troubles[name] = str(refusal)
    kept = {each: days.get(each.value, facts.examined.get(each)) for each in Examination}
    examined = {each: on for each, on in kept.items() if on is not None}
    return replace(facts, examined=examined, born_on=days.get(BORN, facts.born_on)), troubles


def day_in(text: str, today: date) -> date | None:
    """Return the day that was written, None for nothing.

    Raises RefusedRecord, in one sentence, for what is no day or has not come yet.
    """
    if not text.strip():
        return None
    try:
        on = date.fromisoformat(text.strip())
    except ValueError as error:
        raise RefusedRecord(_("Write the day as 2026-11-14.")) from error
    if on > today:
        raise RefusedRecord(_("This day has not come yet; check the date."))
    return on

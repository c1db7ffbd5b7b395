"""`leadline experience` and `leadline certificates`: what dives say of a certificate, and what is held."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import click

from logbook_app.analysis.experience_reader import parse_requirements
from logbook_app.analysis.experience_rules import RequirementSet
from logbook_app.analysis.experience_words import EXAMINATIONS, Names, grade_words, names_of
from logbook_app.analysis.spoken_times import date_alone
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.commands.experience_report import (
    answer_to_json,
    answers_report,
    evidence_report,
    facts_to_json,
    sets_to_json,
)
from logbook_app.commands.opened import as_json, opened, print_json, print_lines
from logbook_app.dive.credentials import Certificate, DiverFacts, Examination
from logbook_app.divers_experience import rules_text
from logbook_app.language import _
from logbook_app.logbook import Logbook

_DAY = click.DateTime(["%Y-%m-%d"])


@click.command()
@click.option("--toward", metavar="SET", help="One set of requirements by its id, with the dives that count.")
@click.option("--on", type=_DAY, help="As on another day than today, as in 2026-11-14.")
@click.option(
    "--rules",
    "files",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A file of your club with its own requirements, for this once.",
)
@click.option(
    "--keep", type=click.Path(path_type=Path), help="Keep a file of your club with its requirements."
)
@click.option("--drop", metavar="NAME", help="Take a kept file of your club away again.")
@as_json
@click.pass_context
def show_experience(
    context: click.Context,
    toward: str | None,
    on: datetime | None,
    files: tuple[Path, ...],
    keep: Path | None,
    drop: str | None,
    as_json: bool,
) -> None:
    """Show what your dives say toward certificates: what is met, what is missing, and which dives count.

    Without --toward every set is listed. Only the logged part is judged; an instructor or board decides.
    """
    logbook = opened(context)
    if keep is not None:
        logbook.experience.keep_rules(keep.name, rules_text(keep))
    if drop is not None:
        logbook.experience.drop_rules(drop)
    sets = logbook.experience.sets()
    for path in files:
        sets += parse_requirements(rules_text(path), path.name, sets)
    day = on.date() if on else None
    if toward is None:
        _list_all(logbook, sets, day, as_json)
    else:
        _show_one(logbook, sets, toward, day, as_json)


def _list_all(logbook: Logbook, sets: tuple[RequirementSet, ...], day: date | None, as_json: bool) -> None:
    answers = logbook.experience.toward(sets, day)
    dives = logbook.experience.dives()
    hours = float(dives.duration_min.sum()) / 60
    if as_json:
        print_json({"dives": len(dives), "hours": hours, "sets": sets_to_json(answers)})
    else:
        print_lines(answers_report(answers, len(dives), hours))


def _show_one(
    logbook: Logbook, sets: tuple[RequirementSet, ...], wanted: str, day: date | None, as_json: bool
) -> None:
    rules = next((each for each in sets if each.id == wanted), None)
    if rules is None:
        raise click.UsageError(
            _("There is no set {id}; there are: {ids}.").format(
                id=wanted, ids=", ".join(each.id for each in sets)
            )
        )
    (answer,) = logbook.experience.toward((rules,), day)
    dives, names = logbook.experience.dives(), names_of(sets)
    if as_json:
        hours = float(dives.duration_min.sum()) / 60
        print_json({"dives": len(dives), "hours": hours} | answer_to_json(answer, names))
        return
    by_id = {dive.id: dive for dive in logbook.own_dives()}
    print_lines(evidence_report(answer, names, by_id, SpokenUnits(logbook.settings().units)))


@click.command()
@click.option("--add", metavar="GRADE", help="A certificate: the id of its set, or any name.")
@click.option("--issued", type=_DAY, help="The day of the certificate that is added, as in 2026-11-14.")
@click.option("--number", default="", help="What number stands on the certificate that is added.")
@click.option("--remove", metavar="ID", help="Take a certificate away.")
@click.option(
    "--examined",
    multiple=True,
    metavar="WHAT=DAY",
    help="When something was last examined: medical, first aid, resuscitation, oxygen, kit; no day: never.",
)
@click.option("--born", metavar="DAY", help="Your date of birth; empty takes it away.")
@as_json
@click.pass_context
def show_certificates(
    context: click.Context,
    add: str | None,
    issued: datetime | None,
    number: str,
    remove: str | None,
    examined: tuple[str, ...],
    born: str | None,
    as_json: bool,
) -> None:
    """Show and write down the certificates that you hold, and the days of your examinations.

    They stay in the logbook file: no sync sends them and no export has them.
    """
    logbook = opened(context)
    if add is not None:
        grade = Certificate(grade=add, issued_on=issued.date() if issued else None, number=number)
        logbook.experience.keep_certificate(grade)
    if remove is not None:
        logbook.experience.drop_certificate(remove)
    for told in examined:
        logbook.experience.keep_examined(*_examined(told))
    if born is not None:
        logbook.experience.keep_birth(_day(born))
    facts = logbook.experience.facts()
    if as_json:
        print_json(facts_to_json(facts))
    else:
        print_lines(_facts_report(facts, names_of(logbook.experience.sets())))


def _examined(told: str) -> tuple[Examination, date | None]:
    what, _sign, day = told.partition("=")
    try:
        return Examination(what.strip()), _day(day)
    except ValueError as error:
        raise click.UsageError(
            _("{told} is no examination; write WHAT=DAY, with WHAT one of {words}.").format(
                told=told, words=", ".join(Examination)
            )
        ) from error


def _day(text: str) -> date | None:
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise click.UsageError(
            _("{text} is no day; write it as 2026-11-14.").format(text=text.strip())
        ) from error


def _facts_report(facts: DiverFacts, names: Names) -> Iterator[str]:
    if not facts.certificates and not facts.examined and facts.born_on is None:
        yield _("Nothing is written down yet.")
    for each in facts.certificates:
        issued = date_alone(each.issued_on) if each.issued_on else _("day not written down")
        parts = (each.name or grade_words(each.grade, names), each.number, issued, each.id)
        yield "  ".join(part for part in parts if part)
    for examination, day in facts.examined.items():
        yield f"{_(EXAMINATIONS[examination])}  {date_alone(day)}"
    if facts.born_on:
        yield _("Born on {day}").format(day=date_alone(facts.born_on))

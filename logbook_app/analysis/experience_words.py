"""What is said of an answer to requirements, on the screen, the command line and a club's pages.

Depths are in the unit of the rule, because a rule holds as it is printed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from math import floor
from typing import Final

from logbook_app.analysis.experience import RequirementAnswer, SetAnswer, Unknown, Verdict
from logbook_app.analysis.experience_asked_words import conditions_words, why_not_words
from logbook_app.analysis.experience_filter import Nearly
from logbook_app.analysis.experience_rules import (
    AgeAsked,
    CertificateAsked,
    DivesAsked,
    NoLongBreak,
    Reading,
    Requirement,
    RequirementSet,
    SaidIn,
    SomeOf,
    ToBeConfirmed,
    said,
)
from logbook_app.analysis.spoken_times import date_alone
from logbook_app.analysis.spoken_units import spoken_duration
from logbook_app.dive.credentials import Examination
from logbook_app.language import _, later, ngettext, number

Names = Mapping[str, SaidIn]
"""What the set of each grade is called."""

VERDICTS: Final[Mapping[Verdict, str]] = {
    Verdict.MET: later("met"),
    Verdict.NOT_MET: later("not met"),
    Verdict.TO_CONFIRM: later("a person must confirm"),
}
EXAMINATIONS: Final[Mapping[Examination, str]] = {
    Examination.MEDICAL: later("Medical examination"),
    Examination.FIRST_AID: later("First aid"),
    Examination.RESUSCITATION: later("Resuscitation"),
    Examination.OXYGEN: later("First aid with oxygen"),
    Examination.KIT: later("Regulators and gauges checked"),
}
READINGS: Final[Mapping[Reading, str]] = {
    Reading.TEXT: later("Read in the source named."),
    Reading.QUOTED: later("Read where others quote it; check with your club."),
    Reading.MEMORY: later("From memory; check with your club."),
    Reading.OWN: later("Written by a club."),
}
WHO_DECIDES: Final = later("An instructor or board decides.")


def names_of(sets: Iterable[RequirementSet]) -> dict[str, SaidIn]:
    """Return what each certificate is called."""
    return {each.id: each.name for each in sets}


def grade_words(grade: str, names: Names) -> str:
    """Return what a certificate is called; one that no set is for is called as it was written."""
    return said(names[grade]) if grade in names else grade


def summary_words(answer: SetAnswer) -> str:
    """Return where a diver stands, and who decides."""
    judged = [each for each in answer.answers if each.verdict is not Verdict.TO_CONFIRM]
    open_ones = len(answer.answers) - len(judged)
    met = sum(each.verdict is Verdict.MET for each in judged)
    parts = [_logged_words(met, len(judged))]
    if open_ones:
        sentence = ngettext("{count} for a person to confirm.", "{count} for a person to confirm.", open_ones)
        parts.append(sentence.format(count=open_ones))
    return " ".join((*parts, _(WHO_DECIDES)))


def _logged_words(met: int, judged: int) -> str:
    if not judged:
        return _("Nothing here can be judged from a logbook.")
    if met == judged:
        return _("The logged part is met.")
    return _("{met} of {all} met.").format(met=met, all=judged)


def source_words(rules: RequirementSet) -> str:
    """Return where a set comes from: source, edition."""
    return ", ".join(part for part in (rules.source, rules.edition) if part)


def reading_words(requirement: Requirement) -> str:
    """Return how the figures of a requirement came here."""
    return " ".join(part for part in (requirement.source, _(READINGS[requirement.reading])) if part)


def name_words(requirement: Requirement, names: Names) -> str:
    """Return what a requirement is called."""
    if requirement.name:
        return said(requirement.name)
    if isinstance(requirement, CertificateAsked):
        grades = _(" or ").join(grade_words(grade, names) for grade in requirement.grades)
        return _("Certificate: {name}").format(name=grades)
    return requirement.id


def asked_words(answer: RequirementAnswer, names: Names) -> str:
    """Return which dives count, empty where any does."""
    return ", ".join(conditions_words(answer.asked, lambda grade: grade_words(grade, names)))


def have_words(answer: RequirementAnswer) -> str:
    """Return what there is of what is asked: `9 dives, 12 asked; 3.2 h, 4 h asked`."""
    asked = answer.requirement
    if isinstance(asked, DivesAsked):
        return "; ".join(_amounts(answer))
    if isinstance(asked, AgeAsked):
        return _("at least {years} years old").format(years=asked.years)
    if isinstance(asked, SomeOf):
        return _("{have} met, {need} asked").format(have=answer.have, need=answer.need)
    return _dated_words(answer)


def _amounts(answer: RequirementAnswer) -> Iterator[str]:
    if answer.need:
        dives = ngettext("{count} dive", "{count} dives", answer.have).format(count=answer.have)
        yield _("{have}, {need} asked").format(have=dives, need=answer.need)
    if answer.need_min:
        have, need = _hours(answer.have_min), _hours(answer.need_min)
        yield _("{have} h, {need} h asked").format(have=have, need=need)
    for part in answer.parts:
        conditions = ", ".join(conditions_words(part.asked, str))
        yield _("of these {conditions}: {amounts}").format(
            conditions=conditions, amounts=", ".join(_amounts(part))
        )


def _hours(minutes: float) -> str:
    """Return whole tenths of an hour, so that what is a minute short does not seem to be enough."""
    return number(floor(minutes / 6 + 1e-6) / 10, "g")


def _dated_words(answer: RequirementAnswer) -> str:
    """Return until when something holds, or since when no more."""
    if isinstance(answer.requirement, NoLongBreak):
        if answer.until:
            return _("the next dive is due by {day}").format(day=date_alone(answer.until))
        return _("lapsed on {day}").format(day=date_alone(answer.since)) if answer.since else ""
    if answer.until:
        return _("holds to {day}").format(day=date_alone(answer.until))
    return _("lapsed on {day}").format(day=date_alone(answer.since)) if answer.since else ""


def missing_words(answer: RequirementAnswer, names: Names) -> str:
    """Return what is missing, as a sentence; empty where nothing is."""
    if answer.confirmed is not None:
        return ""
    if answer.unknown is not None and answer.verdict is not Verdict.MET:
        return _unknown_words(answer, names)
    if isinstance(answer.requirement, ToBeConfirmed):
        return _("No logbook can judge this.")
    if answer.verdict is Verdict.MET:
        return ""
    if isinstance(answer.requirement, DivesAsked):
        return _missing_dives(answer)
    if isinstance(answer.requirement, SomeOf):
        return _missing_of_several(answer, names)
    return _missing_else(answer)


def _missing_dives(answer: RequirementAnswer) -> str:
    """Return `3 more dives, 18 to 30 m, 2 of them supervised.`"""
    short = max([answer.need - answer.have, *(part.need - part.have for part in answer.parts)])
    which = conditions_words(answer.asked, str, shortly=True)
    sentences = []
    if short > 0:
        dives = ngettext("{count} more dive", "{count} more dives", short).format(count=short)
        sentences.append(", ".join((dives, *which, *_of_them(answer, short))) + ".")
    if (minutes := answer.need_min - answer.have_min) > 1e-6:
        time = spoken_duration(-(-minutes // 1))
        sentences.append(_("{time} more under water.").format(time=time))
    return " ".join(sentences) or _missing_spread(answer)


def _of_them(answer: RequirementAnswer, short: int) -> Iterator[str]:
    for part in answer.parts:
        lacking = part.need - part.have
        if lacking > 0:
            which = ", ".join(conditions_words(part.asked, str, shortly=True))
            if lacking == short:
                yield _("all {which}").format(which=which) if short > 1 else which
            else:
                yield ngettext("{count} of them {which}", "{count} of them {which}", lacking).format(
                    count=lacking, which=which
                )


def _missing_spread(answer: RequirementAnswer) -> str:
    asked = answer.requirement
    if not isinstance(asked, DivesAsked) or asked.spread is None:
        return ""
    days = answer.spread_days or 0
    return ngettext(
        "The first and the last are only {count} day apart.",
        "The first and the last are only {count} days apart.",
        days,
    ).format(count=days)


def _missing_of_several(answer: RequirementAnswer, names: Names) -> str:
    """Return what is missing in each of several ways."""
    ways = (
        f"{name_words(part.requirement, names)}: {missing_words(part, names)}"
        for part in answer.parts
        if part.verdict is not Verdict.MET
    )
    return " ".join(ways)


def _missing_else(answer: RequirementAnswer) -> str:
    asked = answer.requirement
    if isinstance(asked, NoLongBreak):
        return _missing_break(answer)
    if isinstance(asked, AgeAsked):
        return _("{age} years old by the date of birth.").format(age=answer.have)
    return _("Do it again, then write down the day.")


def _missing_break(answer: RequirementAnswer) -> str:
    if answer.since or not answer.counting:
        which = conditions_words(answer.asked, str, shortly=True)
        return ", ".join((_("1 more dive"), *which)) + "."
    due, came = answer.breaks[-1]
    return _("A dive was due by {due}; it came on {came}.").format(due=date_alone(due), came=date_alone(came))


def _unknown_words(answer: RequirementAnswer, names: Names) -> str:
    asked = answer.requirement
    if answer.unknown is Unknown.EXAMINATION:
        return _("Its day is not written down here.")
    if answer.unknown is Unknown.BIRTH:
        return _("The date of birth is not written down here.")
    if answer.unknown is Unknown.CERTIFIED_DEPTH:
        return _("No certificate with a depth is written down here.")
    grades = asked.grades if isinstance(asked, CertificateAsked) else (answer.asked.after,)
    wanted = _(" or ").join(grade_words(grade, names) for grade in grades)
    return _("The certificate “{name}” with its day is not written down here.").format(name=wanted)


def nearly_words(nearly: Nearly, answer: RequirementAnswer, names: Names) -> str:
    """Return why a dive does not count."""
    return why_not_words(nearly, answer.asked, lambda grade: grade_words(grade, names))


def confirmed_words(answer: RequirementAnswer) -> str:
    """Return who confirmed a requirement, empty where nobody did."""
    if answer.confirmed is None:
        return ""
    return _("confirmed by {name} on {day}").format(
        name=answer.confirmed.by, day=date_alone(answer.confirmed.on)
    )

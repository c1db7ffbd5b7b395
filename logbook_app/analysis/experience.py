"""What a diver's log says toward a set of requirements: met, not met, or for a person to confirm.

    answer = progress_toward(experience_columns(dives), facts, rules, on_day)

Only the logged part is ever judged; whether somebody is certified an instructor or a board decides. Dives
after the day are left out. Two dives of one diver at once are one dive, entered twice, and count once: of all
that count as many as fit behind each other do.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

import numpy as np

from logbook_app.analysis.experience_calendar import age_on, all_later_by, later_by
from logbook_app.analysis.experience_columns import Days, ExperienceColumns, Mask, Places
from logbook_app.analysis.experience_examinations import Standing, standing_of
from logbook_app.analysis.experience_filter import (
    Condition,
    Nearly,
    WhyNot,
    all_hold,
    asked_of,
    nearly_counting,
)
from logbook_app.analysis.experience_rules import (
    ANY_DIVE,
    AgeAsked,
    CertificateAsked,
    Counting,
    DivesAsked,
    ExaminationAsked,
    NoLongBreak,
    Requirement,
    RequirementSet,
    SomeOf,
)
from logbook_app.analysis.experience_shared import shared_out
from logbook_app.dive.credentials import Confirmation, DiverFacts

MOST_NEARLY: Final = 12


class Verdict(StrEnum):
    """What can be said of a requirement."""

    MET = "met"
    NOT_MET = "not met"
    TO_CONFIRM = "to confirm"  # no logbook can judge it, or what it rests on is not written down here


class Unknown(StrEnum):
    """What is not written down, where a requirement rests on it."""

    CERTIFICATE = "certificate"
    EXAMINATION = "examination"
    BIRTH = "birth"
    CERTIFIED_DEPTH = "certified depth"


@dataclass(frozen=True, slots=True, kw_only=True)
class RequirementAnswer:
    """One requirement with its evidence.

    have, need           dives, or parts of several; certificates
    have_min, need_min   time under water [min]
    asked                which dives count, with the depth that the diver's certificates ask for
    counting             ids of the dives that count, in order of their start
    nearly, nearly_in_all   dives that lack one thing by little, the nearest ones, and how many there are
    until, since         the last day on which it is met; the first day on which it is not any more
    breaks               each break that was too long: the day a dive was due, the day one came
    spread_days          from the first to the last dive that counts
    unknown              what is not written down
    confirmed            who confirmed it, whatever the log says
    parts                of several; among the dives that count
    """

    requirement: Requirement
    verdict: Verdict
    have: int = 0
    need: int = 0
    have_min: float = 0.0
    need_min: float = 0.0
    asked: Counting = ANY_DIVE
    counting: tuple[str, ...] = ()
    nearly: tuple[Nearly, ...] = ()
    nearly_in_all: int = 0
    until: date | None = None
    since: date | None = None
    breaks: tuple[tuple[date, date], ...] = ()
    spread_days: int | None = None
    unknown: Unknown | None = None
    confirmed: Confirmation | None = None
    parts: tuple[RequirementAnswer, ...] = ()


@dataclass(frozen=True, slots=True)
class SetAnswer:
    """A set of requirements, answered as on one day."""

    rules: RequirementSet
    on_day: date
    answers: tuple[RequirementAnswer, ...]

    @property
    def logged_part_met(self) -> bool:
        """Whether nothing that can be judged is missing; a person still decides."""
        return all(answer.verdict is not Verdict.NOT_MET for answer in self.answers)

    def counted(self, verdict: Verdict) -> int:
        """Return how many requirements have this verdict."""
        return sum(answer.verdict is verdict for answer in self.answers)


def progress_toward(
    dives: ExperienceColumns, facts: DiverFacts, rules: RequirementSet, on_day: date
) -> SetAnswer:
    """Return the answer to every requirement of a set, as on a day by the clock on the dock."""
    asking = _Asking(dives.until(on_day), facts, rules, on_day)
    confirmed = {each.requirement: each for each in facts.confirmed if each.rules == rules.id}
    return SetAnswer(rules, on_day, tuple(asking.answers(confirmed)))


@dataclass(frozen=True, slots=True)
class _Asking:
    dives: ExperienceColumns
    facts: DiverFacts
    rules: RequirementSet
    on_day: date

    def answers(self, confirmed: dict[str, Confirmation]) -> Iterator[RequirementAnswer]:
        shares = self._shares()
        for requirement in self.rules.requirements:
            answer = self.answer(requirement, shares.get(requirement.id))
            yield _confirmed(answer, confirmed.get(requirement.id))

    def answer(self, asked: Requirement, share: Mask | None = None) -> RequirementAnswer:
        """Return the answer to one requirement; `share` are the dives left to it, None for all."""
        if isinstance(asked, DivesAsked):
            return self._dives(asked, share)
        if isinstance(asked, NoLongBreak):
            return self._no_long_break(asked)
        if isinstance(asked, CertificateAsked):
            return self._certificate(asked)
        if isinstance(asked, ExaminationAsked):
            return self._examination(asked)
        if isinstance(asked, AgeAsked):
            return self._age(asked)
        if isinstance(asked, SomeOf):
            return self._some_of(asked)
        return RequirementAnswer(requirement=asked, verdict=Verdict.TO_CONFIRM)

    # Dives

    def _dives(self, asked: DivesAsked, share: Mask | None) -> RequirementAnswer:
        counting = asked_of(asked.counting, self.facts, dict(self.rules.certified_to))
        if counting is None:
            return _unknown(asked, Verdict.NOT_MET, Unknown.CERTIFIED_DEPTH)
        holds, conditions = all_hold(self.dives, counting, self.facts, self.on_day)
        if share is not None:
            holds = holds & share
        places, twice = _one_at_a_time(self.dives, np.flatnonzero(holds))
        places = self._closest_together(asked, places)
        nearly, in_all = nearly_counting(self.dives, conditions, MOST_NEARLY)
        return replace(self._counted(asked, places, (nearly, in_all), twice), asked=counting)

    def _counted(
        self, asked: DivesAsked, places: Places, nearly: tuple[list[Nearly], int], twice: list[Nearly]
    ) -> RequirementAnswer:
        dives = self.dives
        parts = tuple(self._among(part, places) for part in asked.of_these)
        have_min = float(dives.duration_min[places].sum())
        spread = int((dives.day[places[-1]] - dives.day[places[0]]).astype(int)) if len(places) else None
        met = (
            len(places) >= asked.dives
            and have_min >= asked.hours * 60 - 1e-6
            and all(part.verdict is Verdict.MET for part in parts)
            and self._spread_enough(asked, places)
        )
        told = (*twice, *nearly[0])[:MOST_NEARLY]
        return RequirementAnswer(
            requirement=asked,
            verdict=Verdict.MET if met else Verdict.NOT_MET,
            have=len(places),
            need=asked.dives,
            have_min=have_min,
            need_min=asked.hours * 60,
            asked=asked.counting,
            counting=tuple(dives.ids[places].tolist()),
            nearly=told,
            nearly_in_all=nearly[1] + len(twice),
            spread_days=spread,
            unknown=self._unknown_certificate(asked.counting.after),
            parts=parts,
        )

    def _among(self, asked: DivesAsked, places: Places) -> RequirementAnswer:
        """Answer a part that is asked of the dives that count already."""
        among = np.zeros(len(self.dives), dtype=bool)
        among[places] = True
        holds, conditions = all_hold(self.dives, asked.counting, self.facts, self.on_day)
        outside = Condition(WhyNot.AT_ONCE, among, np.full(len(self.dives), np.inf))
        nearly, in_all = nearly_counting(self.dives, [*conditions, outside], MOST_NEARLY)
        return self._counted(asked, np.flatnonzero(holds & among), (nearly, in_all), [])

    def _unknown_certificate(self, grade: str) -> Unknown | None:
        held = self.facts.holds(grade) if grade else None
        return Unknown.CERTIFICATE if grade and (held is None or held.issued_on is None) else None

    def _closest_together(self, asked: DivesAsked, places: Places) -> Places:
        """Return the dives within the span that holds the most of them, the latest of such spans."""
        if asked.together is None or not len(places):
            return places
        days = self.dives.day[places]
        order = np.argsort(days, kind="stable")
        days, places = days[order], places[order]
        ends = np.searchsorted(days, all_later_by(days, asked.together), side="left")
        counts = ends - np.arange(len(days))
        first = len(counts) - 1 - int(np.argmax(counts[::-1]))
        return np.sort(places[first : int(ends[first])])

    def _spread_enough(self, asked: DivesAsked, places: Places) -> bool:
        if asked.spread is None:
            return True
        if not len(places):
            return False
        days = self.dives.day[places]
        first, last = days.min().astype(object), days.max().astype(object)
        return bool(last >= later_by(first, asked.spread))

    def _shares(self) -> dict[str, Mask]:
        """Return which dives are left to each requirement of those that share none."""
        apart = [each for each in self.rules.requirements if isinstance(each, DivesAsked) and each.once]
        found: dict[str, Mask] = {}
        for word in dict.fromkeys(each.once for each in apart):
            several = [each for each in apart if each.once == word]
            able = [all_hold(self.dives, each.counting, self.facts, self.on_day)[0] for each in several]
            needs = [each.dives for each in several]
            shared = shared_out(able, needs)
            found |= {each.id: mask for each, mask in zip(several, shared, strict=True)}
        return found

    def _no_long_break(self, asked: NoLongBreak) -> RequirementAnswer:
        counting = asked_of(asked.counting, self.facts, dict(self.rules.certified_to))
        if counting is None:
            return _unknown(asked, Verdict.NOT_MET, Unknown.CERTIFIED_DEPTH)
        holds, conditions = all_hold(self.dives, counting, self.facts, self.on_day)
        nearly, in_all = nearly_counting(self.dives, conditions, MOST_NEARLY)
        days = np.unique(self.dives.day[holds])
        ids = self.dives.ids[holds]
        common = RequirementAnswer(
            requirement=asked,
            verdict=Verdict.NOT_MET,
            have=len(days) and 1,
            need=1,
            asked=counting,
            counting=tuple(ids[-1:].tolist()),
            nearly=tuple(nearly),
            nearly_in_all=in_all,
        )
        return self._with_breaks(asked, common, days) if len(days) else common

    def _with_breaks(self, asked: NoLongBreak, common: RequirementAnswer, days: Days) -> RequirementAnswer:
        due = all_later_by(days, asked.gap)
        late = np.flatnonzero(due[:-1] < days[1:])
        breaks = tuple(zip(due[late].tolist(), days[late + 1].tolist(), strict=True))
        last_due: date = due[-1].astype(object)
        asked_back = None if asked.over is None else later_by(self.on_day, asked.over, -1)
        unbroken = asked_back is None or not any(again > asked_back for _late, again in breaks)
        in_time = self.on_day <= last_due
        return replace(
            common,
            verdict=Verdict.MET if in_time and unbroken else Verdict.NOT_MET,
            until=last_due if in_time else None,
            since=None if in_time else last_due + timedelta(days=1),
            breaks=breaks,
        )

    # The diver

    def _certificate(self, asked: CertificateAsked) -> RequirementAnswer:
        held = any(self.facts.holds(grade) for grade in asked.grades)
        if not held:
            return _unknown(asked, Verdict.NOT_MET, Unknown.CERTIFICATE)
        return RequirementAnswer(requirement=asked, verdict=Verdict.MET, have=1, need=1)

    def _examination(self, asked: ExaminationAsked) -> RequirementAnswer:
        examined_on = self.facts.examined.get(asked.examination)
        if examined_on is None or examined_on > self.on_day:
            return _unknown(asked, Verdict.TO_CONFIRM, Unknown.EXAMINATION)
        standing = standing_of(examined_on, asked.lasts, self.facts.born_on, self.on_day)
        if standing is None:
            return _unknown(asked, Verdict.TO_CONFIRM, Unknown.BIRTH)
        return _standing(asked, standing)

    def _age(self, asked: AgeAsked) -> RequirementAnswer:
        if self.facts.born_on is None:
            return _unknown(asked, Verdict.TO_CONFIRM, Unknown.BIRTH)
        age = age_on(self.facts.born_on, self.on_day)
        return RequirementAnswer(
            requirement=asked,
            verdict=Verdict.MET if age >= asked.years else Verdict.NOT_MET,
            have=age,
            need=asked.years,
        )

    def _some_of(self, asked: SomeOf) -> RequirementAnswer:
        parts = tuple(self.answer(each) for each in asked.of)
        met = sum(part.verdict is Verdict.MET for part in parts)
        open_ones = sum(part.verdict is Verdict.TO_CONFIRM for part in parts)
        verdict = Verdict.NOT_MET
        if met + open_ones >= asked.need:
            verdict = Verdict.MET if met >= asked.need else Verdict.TO_CONFIRM
        return RequirementAnswer(requirement=asked, verdict=verdict, have=met, need=asked.need, parts=parts)


def _unknown(asked: Requirement, verdict: Verdict, what: Unknown) -> RequirementAnswer:
    return RequirementAnswer(requirement=asked, verdict=verdict, need=1, unknown=what)


def _standing(asked: ExaminationAsked, standing: Standing) -> RequirementAnswer:
    return RequirementAnswer(
        requirement=asked,
        verdict=Verdict.MET if standing.holds else Verdict.NOT_MET,
        have=int(standing.holds),
        need=1,
        until=standing.until if standing.holds else None,
        since=None if standing.holds else standing.until + timedelta(days=1),
    )


def _confirmed(answer: RequirementAnswer, by: Confirmation | None) -> RequirementAnswer:
    return answer if by is None else replace(answer, verdict=Verdict.MET, confirmed=by)


def _one_at_a_time(dives: ExperienceColumns, places: Places) -> tuple[Places, list[Nearly]]:
    """Return as many dives as fit behind each other, and those that are another one entered twice.

    The one that ends first goes first: no other choice leaves more.
    """
    if not dives.overlap or len(places) < 2:
        return places, []
    began, ended = dives.began_s[places], dives.ended_s[places]
    latest = np.concatenate(([-np.inf], np.maximum.accumulate(ended)[:-1]))
    first_of_group = began >= latest
    alone = first_of_group & np.append(first_of_group[1:], True)
    kept, free_from = alone.copy(), -np.inf
    crowded = np.flatnonzero(~alone)
    for place in crowded[np.argsort(ended[crowded], kind="stable")].tolist():
        if began[place] >= free_from:
            kept[place], free_from = True, ended[place]
    twice = [Nearly(str(dives.ids[place]), WhyNot.AT_ONCE) for place in places[~kept].tolist()]
    return places[kept], twice

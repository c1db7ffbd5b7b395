"""What holds of any log and any requirement."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from experience_logs import ON_DAY
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.experience import RequirementAnswer, Verdict, progress_toward
from logbook_app.analysis.experience_calendar import all_later_by, later_by
from logbook_app.analysis.experience_columns import experience_columns
from logbook_app.analysis.experience_rules import (
    ANY_DIVE,
    Counting,
    DepthUnit,
    DivesAsked,
    Reading,
    Requirement,
    RequirementSet,
    Span,
)
from logbook_app.analysis.experience_shared import shared_out
from logbook_app.dive.credentials import Certificate, DiverFacts
from logbook_app.dive.record import Dive, Environment, Role

pytestmark = pytest.mark.law

HOLDER = DiverFacts(certificates=(Certificate(grade="before", issued_on=date(2024, 1, 15)),))


@st.composite
def logged(draw: st.DrawFn) -> Dive:
    """A dive of half a year; some overlap, as where one was entered twice."""
    began = datetime(2024, 1, 1, tzinfo=UTC) + timedelta(minutes=draw(st.integers(0, 270_000)))
    return Dive(
        began_at=began,
        duration_min=draw(st.sampled_from([9.0, 15.0, 40.0, 600.0])),
        max_depth_m=draw(st.sampled_from([8.0, 18.0, 18.3, 29.96, 30.0, 40.2])),
        supervised_by=draw(st.sampled_from(["", "Mara"])),
        role=draw(st.sampled_from([None, Role.LEADING, Role.TRAINING])),
        environments=tuple(draw(st.sets(st.sampled_from([Environment.NIGHT, Environment.CONFINED])))),
        visibility_m=draw(st.sampled_from([None, 1.0, 8.0])),
        lowest_temperature_c=draw(st.sampled_from([None, 6.0, 20.0])),
    )


logs = st.lists(logged(), max_size=14)
conditions = st.builds(
    Counting,
    depth_unit=st.just(DepthUnit.METRES),
    from_depth=st.sampled_from([None, 18.0, 30.0]),
    to_depth=st.sampled_from([None, 30.0, 40.0]),
    least_min=st.sampled_from([None, 15.0]),
    supervised=st.booleans(),
    roles=st.sampled_from([(), (Role.LEADING,)]),
    not_roles=st.sampled_from([(), (Role.TRAINING,)]),
    environments=st.sampled_from([(), (Environment.NIGHT,)]),
    open_water=st.booleans(),
    visibility_below_m=st.sampled_from([None, 2.0]),
    water_below_c=st.sampled_from([None, 10.0]),
    after=st.sampled_from(["", "before"]),
    within=st.sampled_from([None, Span(months=3), Span(days=42)]),
)
needs = st.integers(1, 5)


def answered(log: list[Dive], *asked: Requirement) -> tuple[RequirementAnswer, ...]:
    rules = RequirementSet(
        id="law",
        name={"": "law"},
        program={"": "law"},
        source="",
        edition="",
        reading=Reading.OWN,
        requirements=asked,
    )
    return progress_toward(experience_columns(log), HOLDER, rules, ON_DAY).answers


def dives_asked(need: int, counting: Counting = ANY_DIVE, name: str = "a", once: str = "") -> DivesAsked:
    return DivesAsked(id=name, name={"": name}, dives=need, counting=counting, once=once)


def meets(dive: Dive, asked: Counting) -> bool:
    """The conditions once more, one dive at a time and by other means."""
    day = dive.began_local.date()
    depth_m = round(dive.max_depth_m, 1)
    return all(
        (
            asked.from_depth is None or depth_m >= asked.from_depth,
            asked.to_depth is None or depth_m <= asked.to_depth,
            asked.least_min is None or dive.duration_min >= asked.least_min,
            not asked.supervised or dive.supervised_by != "",
            not asked.roles or dive.role in asked.roles,
            dive.role not in asked.not_roles,
            not asked.environments or bool(set(asked.environments) & set(dive.environments)),
            not asked.open_water or Environment.CONFINED not in dive.environments,
            asked.visibility_below_m is None or (dive.visibility_m or 99) < asked.visibility_below_m,
            asked.water_below_c is None or (dive.lowest_temperature_c or 99) < asked.water_below_c,
            not asked.after or day > date(2024, 1, 15),
            asked.within is None
            or day > (ON_DAY - timedelta(days=42) if asked.within.days else date(2024, 4, 1)),
            day <= ON_DAY,
        )
    )


@given(logs, conditions, needs)
def test_what_counts_meets_the_conditions_and_what_nearly_does_does_not(
    log: list[Dive], asked: Counting, need: int
) -> None:
    (answer,) = answered(log, dives_asked(need, asked))
    able = {dive.id for dive in log if meets(dive, asked)}
    assert set(answer.counting) <= able
    at_once = {each.dive_id for each in answer.nearly if each.why == "at once"}
    assert able - set(answer.counting) == at_once or answer.nearly_in_all > len(answer.nearly)
    assert not {each.dive_id for each in answer.nearly} & set(answer.counting)
    assert answer.have == len(answer.counting)
    assert (answer.verdict is Verdict.MET) is (answer.have >= need)


@given(logs, conditions)
def test_of_dives_at_once_as_many_count_as_fit_behind_each_other(log: list[Dive], asked: Counting) -> None:
    (answer,) = answered(log, dives_asked(1, asked))
    able = sorted((dive for dive in log if meets(dive, asked)), key=lambda dive: dive.ended_at)
    fitting, free_from = 0, datetime(2000, 1, 1, tzinfo=UTC)
    for dive in able:
        if dive.began_at >= free_from:
            fitting, free_from = fitting + 1, dive.ended_at
    assert answer.have == fitting
    counted = sorted((dive for dive in log if dive.id in answer.counting), key=lambda dive: dive.began_at)
    assert all(one.ended_at <= next_one.began_at for one, next_one in itertools.pairwise(counted))


@given(logs, logged(), conditions, needs)
def test_one_more_dive_never_takes_a_count_away(
    log: list[Dive], more: Dive, asked: Counting, need: int
) -> None:
    (before,), (after,) = (answered(dives, dives_asked(need, asked)) for dives in (log, [*log, more]))
    assert after.have >= before.have
    assert not (before.verdict is Verdict.MET and after.verdict is not Verdict.MET)


@given(logs, logged(), st.lists(st.tuples(conditions, needs), min_size=2, max_size=3))
def test_one_more_dive_takes_no_count_away_from_those_that_share_none(
    log: list[Dive], more: Dive, several: list[tuple[Counting, int]]
) -> None:
    asked = [dives_asked(need, which, f"a-{n}", "once") for n, (which, need) in enumerate(several)]
    evening = datetime(2024, 1, 1, 18, tzinfo=UTC)
    apart = [replace(dive, began_at=evening + timedelta(days=12 * n)) for n, dive in enumerate([*log, more])]
    before, after = answered(apart[:-1], *asked), answered(apart, *asked)
    served = [dive_id for each in after for dive_id in each.counting]
    assert len(served) == len(set(served))
    for was, now in zip(before, after, strict=True):
        assert not (was.verdict is Verdict.MET and now.verdict is not Verdict.MET)


@given(logs, conditions, needs, st.randoms(use_true_random=False))
def test_the_order_of_dives_does_not_matter(
    log: list[Dive], asked: Counting, need: int, chance: random.Random
) -> None:
    mixed = chance.sample(log, len(log))
    assert answered(log, dives_asked(need, asked)) == answered(mixed, dives_asked(need, asked))


@given(st.lists(st.lists(st.booleans(), min_size=6, max_size=6), min_size=1, max_size=3), st.data())
def test_dives_are_shared_out_so_that_as_many_as_can_be_are_used(
    rows: list[list[bool]], data: st.DataObject
) -> None:
    """Against every way to give six dives away."""
    asked = data.draw(st.lists(st.integers(0, 4), min_size=len(rows), max_size=len(rows)))
    shared = shared_out([np.array(row) for row in rows], asked)
    used = sum(min(int(mask.sum()), need) for mask, need in zip(shared, asked, strict=True))
    assert not (np.sum(shared, axis=0) > 1).any()
    assert all((mask <= np.array(row)).all() for mask, row in zip(shared, rows, strict=True))

    def worth(given_to: tuple[int, ...]) -> int:
        return sum(
            min(sum(to == place and rows[place][dive] for dive, to in enumerate(given_to)), need)
            for place, need in enumerate(asked)
        )

    assert used == max(worth(each) for each in itertools.product(range(len(rows)), repeat=6))


@given(st.dates(date(1990, 1, 1), date(2060, 1, 1)), st.integers(0, 40), st.integers(0, 400))
def test_many_days_move_as_one_does(on: date, months: int, days: int) -> None:
    span = Span(months, days)
    assert all_later_by(np.array([on], "datetime64[D]"), span)[0].astype(object) == later_by(on, span)

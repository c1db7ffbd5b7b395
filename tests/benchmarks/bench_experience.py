"""How fast ten thousand dives are held against thirty requirements, beside a plain loop that only counts.

    pytest tests/benchmarks/bench_experience.py -o python_files='bench_*.py' -s -q

The plain loop asks each dive of each requirement for its depth, length, supervision and day, and counts.
Ours names every dive that counts and the nearest of those that nearly do, with the reason.
"""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta

from side_by_side import median_ratio, report, say

from logbook_app.analysis.experience import SetAnswer, progress_toward
from logbook_app.analysis.experience_columns import experience_columns
from logbook_app.analysis.experience_rules import Counting, DivesAsked, Reading, RequirementSet, Span
from logbook_app.dive.credentials import DiverFacts
from logbook_app.dive.record import Dive, Environment, Role

DIVES, REQUIREMENTS = 10_000, 30
TODAY = date(2026, 11, 14)


def _dives() -> list[Dive]:
    chance = random.Random(7)
    now = datetime(2026, 11, 14, 12, tzinfo=UTC)
    return [
        Dive(
            began_at=now - timedelta(days=30 * 365 * number / DIVES, minutes=chance.randrange(60)),
            duration_min=chance.uniform(10, 60),
            max_depth_m=chance.uniform(5, 55),
            supervised_by=chance.choice(["", "", "Mara"]),
            role=chance.choice([None, None, *Role]),
            environments=tuple(chance.sample(list(Environment), chance.randrange(3))),
            visibility_m=chance.choice([None, chance.uniform(0.5, 20)]),
            lowest_temperature_c=chance.uniform(3, 28),
        )
        for number in range(DIVES)
    ]


def _rules() -> RequirementSet:
    """Thirty requirements, each with four conditions."""
    asked = tuple(
        DivesAsked(
            id=f"asked-{place}",
            name={"": f"asked {place}"},
            dives=40 + place,
            hours=10.0,
            counting=Counting(
                from_depth=5.0 + place,
                to_depth=25.0 + place,
                least_min=15.0,
                supervised=place % 2 == 0,
                within=Span(months=12 * (1 + place)),
            ),
            of_these=(
                DivesAsked(id="1", name={}, dives=5, counting=Counting(environments=(Environment.NIGHT,))),
            ),
        )
        for place in range(REQUIREMENTS)
    )
    return RequirementSet(
        id="bench", name={"": "bench"}, program={"": "bench"}, source="", edition="", reading=Reading.OWN,
        requirements=asked,
    )  # fmt: skip


def _counted(dives: list[Dive], rules: RequirementSet) -> list[int]:
    """Return how many dives count for each requirement, and no more than that."""
    return [
        sum(
            asked.counting.from_depth <= round(dive.max_depth_m, 1) <= asked.counting.to_depth
            and dive.duration_min >= asked.counting.least_min
            and (not asked.counting.supervised or bool(dive.supervised_by))
            and dive.began_local.date() > date(TODAY.year - asked.counting.within.months // 12, 11, 14)
            for dive in dives
        )
        for asked in rules.requirements
    ]


def test_thirty_requirements_beside_a_plain_count() -> None:
    dives, rules, nobody = _dives(), _rules(), DiverFacts()
    columns = experience_columns(dives)

    def ours() -> SetAnswer:
        return progress_toward(columns, nobody, rules, TODAY)

    assert [answer.have for answer in ours().answers] == _counted(dives, rules)
    ratio, seconds = median_ratio(ours, lambda: _counted(dives, rules), rounds=7)
    say(f"{DIVES:,} dives against {REQUIREMENTS} requirements: {seconds * 1000:.1f} ms, goal under 50 ms")
    report("30 requirements with their evidence over a plain count", ratio, 0.15)


def test_dives_as_arrays_beside_a_copy_of_them() -> None:
    dives = _dives()
    ratio, seconds = median_ratio(
        lambda: experience_columns(dives), lambda: sorted(dives, key=_key), rounds=7
    )
    say(f"{DIVES:,} dives as arrays: {seconds * 1000:.1f} ms, once a change of the logbook")
    report("dives as arrays over sorting them", ratio, 15)


def _key(dive: Dive) -> tuple[datetime, str]:
    return dive.began_at, dive.id

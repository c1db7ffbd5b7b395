"""What is said of an answer: what there is, what is missing, why a dive does not count, and who decides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import pytest
from experience_logs import NOBODY, ON_DAY, dived, feet, holding, rules, toward

from logbook_app.analysis.experience import RequirementAnswer, SetAnswer, Verdict, progress_toward
from logbook_app.analysis.experience_columns import experience_columns
from logbook_app.analysis.experience_reader import parse_requirements
from logbook_app.analysis.experience_words import (
    confirmed_words,
    have_words,
    missing_words,
    name_words,
    names_of,
    nearly_words,
    reading_words,
    summary_words,
)
from logbook_app.catalogues import use_language
from logbook_app.dive.credentials import Confirmation, DiverFacts, Examination
from logbook_app.dive.record import Dive, Environment, Role
from logbook_app.shipped_requirements import shipped_requirements

NAMES = names_of(shipped_requirements())
HEAD = (
    'program = "Club"\nsource = "s"\nedition = "1"\n[[set]]\nid = "own"\nname = "Own"\n[[set.requirement]]\n'
)


@pytest.fixture(autouse=True)
def spoken_english() -> Iterator[None]:
    use_language("en")
    yield
    use_language("en")


def answered(asked: str, log: list[Dive], facts: DiverFacts = NOBODY) -> RequirementAnswer:
    """Return the answer to one requirement of a club's own."""
    (own,) = parse_requirements(f'{HEAD}id = "a"\nname = "A"\n{asked}', "club.toml")
    (answer,) = progress_toward(experience_columns(log), facts, own, ON_DAY).answers
    return answer


def one(answer: SetAnswer, name: str) -> RequirementAnswer:
    return next(each for each in answer.answers if each.requirement.id == name)


@pytest.mark.parametrize(
    ("asked", "log", "have", "missing"),
    [
        (
            "dives = 6\nwhere = { from_m = 18, to_m = 30 }\n"
            "of_these = [{ dives = 3, where = { supervised = true } }]",
            [*dived(2, 20.0), *dived(1, 20.0, first=date(2024, 3, 1), supervised_by="Mara")],
            "3 dives, 6 asked; of these supervised: 1 dive, 3 asked",
            "3 more dives, 18 to 30 m, 2 of them supervised.",
        ),
        (
            "dives = 3\nof_these = [{ dives = 2, where = { from_m = 30 } }]",
            dived(3, 20.0),
            "3 dives, 3 asked; of these 30 m or deeper: 0 dives, 2 asked",
            "2 more dives, all 30 m or deeper.",
        ),
        (
            "dives = 2\nhours = 2.0\nwhere = { environment = ['night'], role = ['leading'] }",
            dived(1, environments=(Environment.NIGHT,), role=Role.LEADING),
            "1 dive, 2 asked; 0.6 h, 2 h asked",
            "1 more dive, leading the dive, night. 1 h 20 min more under water.",
        ),
        ("dives = 1\nwhere = { within_days = 10 }", dived(1), "0 dives, 1 asked", "1 more dive."),
        (
            "dives = 2\nspread_months = 3",
            dived(2),
            "2 dives, 2 asked",
            "The first and the last are only 1 day apart.",
        ),
        ("gap_days = 42", [], "", "1 more dive."),
        ("gap_days = 42", dived(1, first=date(2024, 4, 1)), "lapsed on 14 May 2024", "1 more dive."),
        (
            "gap_months = 1\nover_months = 6",
            [*dived(1, first=date(2024, 4, 1)), *dived(1, first=date(2024, 6, 10))],
            "the next dive is due by 10 Jul 2024",
            "A dive was due by 1 May 2024; it came on 10 Jun 2024.",
        ),
        ("age = 18", [], "at least 18 years old", "The date of birth is not written down here."),
        ("confirm = true", [], "", "No logbook can judge this."),
        (
            "certificate = ['cmas-2', 'rescue']",
            [],
            "",
            "The certificate “Two stars or rescue” with its day is not written down here.",
        ),
    ],
)
def test_what_there_is_and_what_is_missing(asked: str, log: list[Dive], have: str, missing: str) -> None:
    answer = answered(asked, log)
    assert (have_words(answer), missing_words(answer, NAMES)) == (have, missing)


def test_what_is_met_lacks_nothing() -> None:
    assert missing_words(answered("dives = 2", dived(3)), NAMES) == ""
    born = DiverFacts(born_on=date(2010, 1, 1))
    assert missing_words(answered("age = 18", [], born), NAMES) == "14 years old by the date of birth."
    lapsed = DiverFacts(examined={Examination.FIRST_AID: date(2022, 1, 5)})
    asked = "examination = 'first aid'\nlasts_months = 24"
    assert have_words(answered(asked, [], lapsed)) == "lapsed on 5 Jan 2024"
    assert missing_words(answered(asked, [], lapsed), NAMES) == "Do it again, then write down the day."


@pytest.mark.parametrize(
    ("where", "known", "why"),
    [
        ("from_m = 30", {"depth_m": 29.8}, "29.8 m; asked: 30 m or deeper"),
        ("to_m = 20", {"depth_m": 21.0}, "21 m; asked: not below 20 m"),
        ("least_min = 45", {}, "40 min; asked: at least 45 min"),
        ("supervised = true", {}, "nobody is written down who supervised it"),
        ("role = 'leading'", {}, "what you were there for is not written down; asked: leading the dive"),
        ("not_role = 'training'", {"role": Role.TRAINING}, "training; asked: not for training"),
        (
            "environment = ['night', 'current']",
            {},
            "no surroundings are written down; asked: night or current",
        ),
        ("visibility_below_m = 2", {}, "the visibility is not written down; asked: visibility under 2 m"),
        ("visibility_below_m = 2", {"visibility_m": 2.5}, "visibility 2.5 m; asked: visibility under 2 m"),
        ("water_below_c = 10", {"lowest_temperature_c": 11.0}, "water 11 °C; asked: water under 10 °C"),
        (
            "altitude_from_m = 300",
            {"elevation_m": 290.0},
            "290 m above sea level; asked: 300 m above sea level or higher",
        ),
        ("within_months = 4", {"first": date(2024, 2, 20)}, "not in the last 4 months"),
        (
            "any_of = [{ visibility_below_m = 2 }, { water_below_c = 10 }]",
            {},
            "asked: visibility under 2 m or water under 10 °C",
        ),
    ],
)
def test_why_a_dive_does_not_count(where: str, known: dict[str, object], why: str) -> None:
    where = where.replace("'training'", "'in training'")
    answer = answered(f"dives = 1\nwhere = {{ {where} }}", dived(1, **known))  # type: ignore[arg-type]
    assert [nearly_words(each, answer, NAMES) for each in answer.nearly] == [why]


def test_a_hundred_feet_asked_of_a_dive_in_metres() -> None:
    answer = one(toward("aaus-130", feet(1, 97.8)), "dives")
    assert nearly_words(answer.nearly[0], answer, NAMES) == "98 ft; asked: 101 to 130 ft"


def test_who_decides_is_always_said() -> None:
    for each in shipped_requirements():
        assert summary_words(toward(each.id, [])).endswith("An instructor or board decides.")
    met = toward("aaus-100", feet(4, 75), holding("aaus-60"))
    assert summary_words(met) == (
        "The logged part is met. 1 for a person to confirm. An instructor or board decides."
    )


def test_what_somebody_confirmed_is_met_and_says_who() -> None:
    signed = Confirmation("aaus-100", "tables", "Mara", date(2024, 6, 1))
    facts = replace(holding("aaus-60"), confirmed=(signed,))
    answer = one(toward("aaus-100", [], facts), "tables")
    assert (answer.verdict, confirmed_words(answer)) == (Verdict.MET, "confirmed by Mara on 1 Jun 2024")
    assert missing_words(answer, NAMES) == ""


def test_how_a_figure_was_read_is_said() -> None:
    asked = rules("aaus-60").requirements[1]
    assert reading_words(asked) == "From memory; check with your club."
    assert name_words(rules("aaus-60").requirements[0], NAMES) == "Certificate: Certified to 30 ft"


def test_in_german() -> None:
    use_language("de")
    found = one(toward("cmas-3", dived(48, 20.0), holding("cmas-2")), "logged")
    assert (
        have_words(found) == "48 Tauchgänge, 50 verlangt; davon 30 m oder tiefer: 0 Tauchgänge, 20 verlangt"
    )
    assert missing_words(found, NAMES) == "Noch 20 Tauchgänge, alle 30 m oder tiefer."

"""Rules that a club writes: what is read, and what is refused in one sentence with its place."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.experience_reader import parse_requirements
from logbook_app.analysis.experience_rules import (
    AgeAsked,
    CertificateAsked,
    DepthUnit,
    DivesAsked,
    ExaminationAsked,
    Lasts,
    NoLongBreak,
    Reading,
    SomeOf,
    Span,
    ToBeConfirmed,
    said,
)
from logbook_app.dive.credentials import Examination
from logbook_app.dive.problems import RefusedFile
from logbook_app.dive.record import Environment, Role
from logbook_app.shipped_requirements import shipped_requirements

HEAD = 'program = "Our club"\nsource = "Rules of 2031"\nedition = "2"\n'
CLUB = (
    HEAD
    + """
[[set]]
id = "our-30"
name = { en = "To thirty metres", de = "Bis dreißig Meter" }
requires = ["our-18"]

[[set.requirement]]
id = "deep"
name = "Deep dives"
dives = 6
hours = 3.5
spread_months = 2
together_months = 6
where = { from_m = 18, to_m = 30, least_min = 20, supervised = true, not_role = "teaching", within_days = 9 }
of_these = [{ dives = 2, where = { environment = ["night", "current"] } }]

[[set.requirement]]
id = "practice"
name = "In practice"
gap_months = 3
over_months = 12
where = { open_water = true }

[[set.requirement]]
id = "fit"
name = "Fit"
examination = "medical"
by_age = [{ from_age = 0, lasts_months = 36 }, { from_age = 40, lasts_months = 12 }]

[[set.requirement]]
id = "old"
name = "Of age"
age = 18

[[set.requirement]]
id = "one-of"
name = "One of these"
any = 1

[[set.requirement.of]]
id = "led"
name = "Led"
dives = 3
where = { role = ["leading"], any_of = [{ visibility_below_m = 3 }, { water_below_c = 8 }] }

[[set.requirement.of]]
id = "rescue"
name = "Rescue"
certificate = ["rescue", "our-rescue"]

[[set.requirement]]
id = "talk"
name = "A talk with the officer"
confirm = true
"""
)


def test_everything_that_a_club_can_ask_for() -> None:
    (rules,) = parse_requirements(CLUB, "club.toml")
    assert (rules.id, rules.source, rules.edition, rules.reading) == (
        "our-30",
        "Rules of 2031",
        "2",
        Reading.OWN,
    )
    assert said(rules.name) == "To thirty metres"
    before, deep, practice, fit, old, one_of, talk = rules.requirements
    assert isinstance(before, CertificateAsked)
    assert before.grades == ("our-18",)
    assert isinstance(deep, DivesAsked)
    assert (deep.dives, deep.hours, deep.spread, deep.together) == (6, 3.5, Span(months=2), Span(months=6))
    assert (deep.counting.depth_unit, deep.counting.from_depth, deep.counting.to_depth) == (
        DepthUnit.METRES,
        18,
        30,
    )
    assert (deep.counting.supervised, deep.counting.not_roles) == (True, (Role.TEACHING,))
    assert deep.counting.within == Span(days=9)
    assert deep.of_these[0].counting.environments == (Environment.NIGHT, Environment.CURRENT)
    assert isinstance(practice, NoLongBreak)
    assert (practice.gap, practice.over, practice.counting.open_water) == (Span(3), Span(12), True)
    assert isinstance(fit, ExaminationAsked)
    assert (fit.examination, fit.lasts) == (
        Examination.MEDICAL,
        (Lasts(0, Span(months=36)), Lasts(40, Span(months=12))),
    )
    assert isinstance(old, AgeAsked)
    assert isinstance(one_of, SomeOf)
    assert [part.id for part in one_of.of] == ["led", "rescue"]
    assert isinstance(talk, ToBeConfirmed)


ASKED = "club.toml, the set “our”, the requirement “a”: "
WHERE = "club.toml, the set “our”, the requirement “a”, its “where”: "


def club(requirement: str, of_set: str = "") -> str:
    around = f'{HEAD}[[set]]\nid = "our"\nname = "Ours"\n{of_set}\n[[set.requirement]]\n'
    return f'{around}id = "a"\nname = "A"\n{requirement}'


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            club("dives = 3\nwher = {}"),
            ASKED + "“wher” is no key here; write where instead.",
        ),
        (
            club("dives = 3\nwhere = { from_fathoms = 10 }"),
            WHERE + "“from_fathoms” is no key here; write from_ft instead.",
        ),
        (
            club("dives = 3\nwhere = { from_ft = 30 }"),
            WHERE + "from_ft is not in the unit of its set; "
            "write from_m, or say depth_unit = “ft” in the set.",
        ),
        (
            club("dives = 3\nwhere = { from_m = 30 }", 'depth_unit = "ft"'),
            WHERE + "from_m is not in the unit of its set; "
            "write from_ft, or say depth_unit = “m” in the set.",
        ),
        (
            club("dives = -3"),
            ASKED + "dives is -3; write a whole number from 1 to 100000.",
        ),
        (
            club("dives = 2.5"),
            ASKED + "dives is 2.5; write a whole number from 1 to 100000.",
        ),
        (
            club("dives = true"),
            ASKED + "dives is True; write a whole number from 1 to 100000.",
        ),
        (
            club("hours = nan"),
            ASKED + "hours is nan; write a number from 0 to 100000.",
        ),
        (
            club("dives = 3\nwhere = { from_m = 30, to_m = 18 }"),
            WHERE + "its depths run from 30 to 18; write the shallower one first.",
        ),
        (
            club('dives = 3\nwhere = { environment = "moonlight" }'),
            WHERE + "environment is “moonlight”; write one of "
            "confined water, night, low visibility, current, cold water, under ice, overhead, "
            "wreck, altitude, "
            "blue water.",
        ),
        (
            club('dives = 3\nwhere = { supervised = "yes" }'),
            WHERE + "supervised is “yes”; write true or false.",
        ),
        (
            club("dives = 3\nage = 18"),
            ASKED + "it asks for 2 things; write one of dives, hours, "
            "gap_months, gap_days, certificate, examination, age, confirm, any.",
        ),
        (
            club("note = 'nothing'"),
            ASKED + "it asks for 0 things; write one of dives, hours, "
            "gap_months, gap_days, certificate, examination, age, confirm, any.",
        ),
        (
            club('examination = "medical"'),
            ASKED + "it does not say how long it lasts at every age; write "
            "lasts_months, or by_age from age 0 upward.",
        ),
        (
            club("any = 2\n[[set.requirement.of]]\nid = 'b'\nname = 'B'\ndives = 1"),
            ASKED + "it asks for 2 of 1; write each as [[set.requirement.of]].",
        ),
        (
            club("dives = 1\n[[set.requirement]]\nid = 'a'\nname = 'B'\ndives = 2"),
            "club.toml, the set “our”: it has two requirements “a”; give one of them another id.",
        ),
        (
            club("certificate = 'our'"),
            "club.toml, the set “our”: its own certificate is needed for it, by way of our; "
            "leave one of these "
            "certificates out.",
        ),
        (
            f"{HEAD}[[set]]\nid = 'one'\nname = '1'\nrequires = ['two']\n"
            "[[set]]\nid = 'two'\nname = '2'\nrequires = ['three']\n"
            "[[set]]\nid = 'three'\nname = '3'\nrequires = ['one']\n",
            "club.toml, the set “one”: its own certificate is needed for it, by way of three, "
            "two; leave one of "
            "these certificates out.",
        ),
        (
            f"{HEAD}[[set]]\nid = 'cmas-1'\nname = '1'\nrequires = ['x']\n",
            "club.toml, the set “cmas-1”: another set has this id; choose another one.",
        ),
        (
            f"{HEAD}[[set]]\nid = 'Our Set'\nname = '1'\nrequires = ['x']\n",
            "club.toml: id “Our Set” is no id; write up to 40 small letters, digits and hyphens.",
        ),
        (
            f"{HEAD}[[set]]\nid = 'our'\nname = '1'\n",
            "club.toml, the set “our”: it asks for nothing, or for more than 200 things; write "
            "its requirements as "
            "[[set.requirement]].",
        ),
        (
            "[[set]]\nid = 'our'\nname = '1'\nprogram = 'p'\nedition = 'e'\nrequires = ['x']\n",
            "club.toml, the set “our”: source is missing; write it.",
        ),
        (
            club("dives = 1\nwhere = { near_certified = 0.8 }"),
            "club.toml, the set “our”: near_certified means nothing in it; write certified_to, "
            "with a depth for each certificate.",
        ),
        (HEAD, "club.toml: it has 0 sets of requirements; write between 1 and 200 as [[set]]."),
        (
            "set = [",
            "club.toml: it is not TOML that can be read (Invalid value (at end of document)); "
            "correct it there.",
        ),
        ("x" * 200_001, "club.toml: it is too long for requirements; write 200000 letters at most."),
        (f"{HEAD}set = 3", "club.toml: set is no list of tables; write it in [[ ]] or as [{ ... }]."),
        (f"{HEAD}set = [3]", "club.toml: set is 3; write a table."),
        (
            f"{HEAD}[[set]]\nid = 'our'\nname = {{ xx = '1' }}\nrequires = ['x']\n",
            "club.toml, the set “our”: name is in the language “xx”; write one of en, de.",
        ),
    ],
)
def test_what_is_wrong_is_refused_in_one_sentence(text: str, sentence: str) -> None:
    with pytest.raises(RefusedFile) as refused:
        parse_requirements(text, "club.toml", shipped_requirements())
    assert str(refused.value) == sentence


def test_two_ways_to_a_certificate_are_no_circle() -> None:
    text = (
        f"{HEAD}[[set]]\nid = 'one'\nname = '1'\n[[set.requirement]]\nid = 'c'\nname = 'c'\n"
        "certificate = ['two', 'other']\n[[set]]\nid = 'two'\nname = '2'\nrequires = ['one']\n"
    )
    assert [each.id for each in parse_requirements(text, "club.toml")] == ["one", "two"]


VALUES = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5)
KEYS = st.sampled_from(
    [
        "dives",
        "hours",
        "where",
        "of_these",
        "any",
        "of",
        "age",
        "certificate",
        "examination",
        "by_age",
        "note",
    ]
)


@pytest.mark.law
@given(
    st.dictionaries(KEYS, VALUES | st.lists(VALUES, max_size=2) | st.dictionaries(KEYS, VALUES, max_size=2))
)
def test_whatever_stands_there_is_read_or_refused(told: dict[str, object]) -> None:
    written = "\n".join(
        f"{key} = {json.dumps(value)}" for key, value in told.items() if isinstance(value, str | int)
    )
    try:
        parse_requirements(club(written), "club.toml")
        refusal = "club.toml was read"
    except RefusedFile as refused:
        refusal = str(refused)
    assert refusal.startswith("club.toml")


def test_what_ships_is_read_and_every_figure_says_how_it_came_here() -> None:
    sets = shipped_requirements()
    assert len({each.id for each in sets}) == len(sets) > 15
    for rules in sets:
        assert rules.source
        assert rules.edition
        assert rules.reading is not Reading.OWN
        for text in (rules.name, rules.program, *(each.name for each in rules.requirements if each.name)):
            assert set(text) == {"en", "de"}, rules.id
        for asked in rules.requirements:
            assert asked.reading is not Reading.OWN
            assert not asked.note or set(asked.note) == {"en", "de"}

"""The Certificates page: what is held is written down by touch, taken away, and brought back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from correcting import asked, touch, write
from driver import ON_THE_DOCK, Driver, OpenApp

from logbook_app.dive.credentials import DiverFacts
from logbook_app.logbook import Logbook

OWN = (
    'program = "Harbour club"\nsource = "Rules"\nedition = "4"\n'
    '[[set]]\nid = "harbour"\nname = "Harbour dives"\n'
    '[[set.requirement]]\nid = "any"\nname = "Dives"\ndives = 2\n'
)


@pytest.fixture
def page(open_app: OpenApp, tmp_path: Path) -> Driver:
    path = tmp_path / "held.leadline"
    Logbook.open(path, now=lambda: ON_THE_DOCK).close()
    app = open_app(path)
    app.app.go("experience")
    app.idle()
    touch(app, "certificates")
    app.idle()
    return app


def facts(app: Driver) -> DiverFacts:
    found: Any = asked(app, lambda logbook: logbook.experience.facts())
    return found


def test_a_certificate_is_chosen_dated_and_taken_away_and_brought_back(page: Driver) -> None:
    assert page.app.shell.rooms.current == "certificates"
    touch(page, "program-CMAS diver")
    touch(page, "grade-cmas-2")
    write(page, "issued", "2025-05-01")
    write(page, "certificate-number", "DK 4411")
    touch(page, "add-certificate")
    (held,) = facts(page).certificates
    assert (held.grade, held.issued_on.isoformat() if held.issued_on else "", held.number) == (
        "cmas-2",
        "2025-05-01",
        "DK 4411",
    )
    assert page.says("1 May 2025 · DK 4411")
    touch(page, "held-0")
    assert facts(page).certificates == ()
    page.tap(test_id="undo")
    page.idle()
    assert facts(page).certificates == (held,)


def test_a_certificate_of_another_name(page: Driver) -> None:
    write(page, "other", "Rescue")
    touch(page, "add-certificate")
    assert facts(page).holds("rescue")


@pytest.mark.parametrize(
    ("day", "sentence"),
    [
        ("yesterday", "Write the day as 2026-11-14."),
        ("2199-01-01", "This day has not come yet; check the date."),
    ],
)
def test_a_day_that_is_none_is_said_beside_it(page: Driver, day: str, sentence: str) -> None:
    write(page, "other", "Rescue")
    write(page, "issued", day)
    touch(page, "add-certificate")
    assert page.find(test_id="trouble-certificate").text == sentence
    assert facts(page).certificates == ()


def test_nothing_chosen_is_said(page: Driver) -> None:
    touch(page, "add-certificate")
    assert "Choose a certificate" in page.find(test_id="trouble-certificate").text


def test_days_are_kept_and_what_is_no_day_stays_in_its_field(page: Driver) -> None:
    write(page, "day-medical", "2025-03-01")
    write(page, "day-born", "1990-02-30")
    touch(page, "save-days")
    assert {each.value: on.isoformat() for each, on in facts(page).examined.items()} == {
        "medical": "2025-03-01"
    }
    assert page.find(test_id="trouble-born").text == "Write the day as 2026-11-14."
    assert page.find(test_id="day-born").text == "1990-02-30"
    write(page, "day-born", "1990-02-28")
    write(page, "day-medical", "")
    touch(page, "save-days")
    assert facts(page).examined == {}
    assert str(facts(page).born_on) == "1990-02-28"
    page.tap(test_id="undo")
    page.idle()
    assert facts(page).born_on is None


def test_a_clubs_file_that_is_dropped_is_kept_and_taken_away(page: Driver, tmp_path: Path) -> None:
    path = tmp_path / "harbour.toml"
    path.write_text(OWN, encoding="utf-8")
    assert page.app.shell.rooms.room("certificates").take_files([path])
    page.idle()
    page.idle()
    assert page.says("harbour.toml")
    sets = asked(page, lambda logbook: logbook.experience.sets())
    assert sets[-1].id == "harbour"
    touch(page, "rules-0")
    page.idle()
    assert asked(page, lambda logbook: logbook.experience.sets())[-1].id != "harbour"
    page.tap(test_id="undo")
    page.idle()
    assert asked(page, lambda logbook: logbook.experience.sets())[-1].id == "harbour"


def test_a_wrong_file_is_refused_in_one_sentence_and_others_are_not_for_this_page(
    page: Driver, tmp_path: Path
) -> None:
    path = tmp_path / "harbour.toml"
    path.write_text(OWN.replace("dives = 2", "dives = 0"), encoding="utf-8")
    room = page.app.shell.rooms.room("certificates")
    assert room.take_files([path])
    page.idle()
    assert page.says("dives is 0; write a whole number from 1 to 100000.")
    assert asked(page, lambda logbook: logbook.experience.kept_rules()) == ()
    assert not room.take_files([tmp_path / "dive.uddf"])

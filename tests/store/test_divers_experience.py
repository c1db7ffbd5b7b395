"""The owner's experience in a logbook file: what a club's signers signed counts with what is written down."""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from logbook_app.analysis.experience import RequirementAnswer, Verdict
from logbook_app.dive.credentials import Certificate
from logbook_app.divers_experience import DiversExperience
from logbook_app.store.logbook_store import LogbookStore
from tests.dive.strategies import plain_dive

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
DIVE = plain_dive(max_depth_m=15.0)


@dataclass(frozen=True)
class Given:
    """A signature as the experience sees it."""

    dive_id: str = ""
    rules: str = ""
    requirement: str = ""
    signer: str = "Mara"
    on: date | None = date(2031, 5, 20)
    changed: bool = False
    supervised: bool = False


def answers(path: Path, wanted: str, *signed: Given) -> dict[str, RequirementAnswer]:
    with closing(LogbookStore(path)) as store:
        store.save([(DIVE, ())])
        experience = DiversExperience(store, lambda: NOW, store.dives, lambda: signed)
        experience.keep_certificate(Certificate(id="c", grade="aaus-diver", issued_on=date(2030, 1, 1)))
        (answer,) = experience.toward(tuple(each for each in experience.sets() if each.id == wanted))
        return {each.requirement.id: each for each in answer.answers}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "a.leadline"


def test_a_dive_that_somebody_signed_to_have_supervised_is_supervised(path: Path) -> None:
    assert answers(path, "aaus-60")["supervised"].have == 0
    watched = Given(dive_id=DIVE.id, supervised=True)
    assert answers(path, "aaus-60", watched)["supervised"].counting == (DIVE.id,)
    assert answers(path, "aaus-60", replace(watched, supervised=False))["supervised"].have == 0


def test_what_was_changed_since_it_was_signed_counts_no_more(path: Path) -> None:
    changed = Given(dive_id=DIVE.id, supervised=True, changed=True)
    assert answers(path, "aaus-60", changed)["supervised"].have == 0


def test_a_requirement_that_was_signed_is_met_and_says_by_whom(path: Path) -> None:
    assert answers(path, "aaus-30")["board"].verdict is Verdict.TO_CONFIRM
    signed = answers(path, "aaus-30", Given(rules="aaus-30", requirement="board"))["board"]
    assert signed.verdict is Verdict.MET
    assert signed.confirmed is not None
    assert (signed.confirmed.by, signed.confirmed.on) == ("Mara", date(2031, 5, 20))


def test_a_certificate_that_was_signed_is_held_beside_those_written_down(path: Path) -> None:
    assert answers(path, "aaus-30")["diver"].verdict is Verdict.MET  # written down
    assert answers(path, "aaus-60")["holds-aaus-30"].verdict is Verdict.NOT_MET
    assert answers(path, "aaus-60", Given(rules="aaus-30"))["holds-aaus-30"].verdict is Verdict.MET

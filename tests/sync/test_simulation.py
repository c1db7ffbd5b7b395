"""Thousands of worlds that go wrong in every way we know of, and what must hold in each once it is quiet.

    python -m tests.sync.torture 4711            one world again
    python -m tests.sync.torture 100000 50000    a long row of them (make torture)

A world that fails names its seed. A simulation is worth what it finds: `planted_faults.py` takes away one
rule of the sync after the other, and the worlds must notice each.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest

from tests.sync import planted_faults, test_conversation, test_merging, torture
from tests.sync.checks import story_of
from tests.sync.desk import Desk
from tests.sync.planted_faults import FAULTS
from tests.sync.torture import world_of

pytestmark = pytest.mark.law

# About 70 worlds a second on one core. Machines that check every push may be slow and few.
WORLDS = 500 if os.environ.get("CI") else 1500
AT_A_TIME = 100
MOST_WORLDS_FOR_A_FAULT = 600

# What a few hundred worlds must have gone through, so that a change of the odds cannot make them tame.
ORDINARY_TROUBLE = {
    "a request was lost", "a request was held up", "a request came late", "a request came twice",
    "an answer was lost", "an answer was cut", "a device stopped", "the club stopped", "a clock jumped",
    "a device was restored", "a device was cloned", "a device was wiped", "a device was revoked",
    "a device was paired again", "a row was lost", "the club was restored", "the club tidied up",
    "a member was erased", "the club asked for a newer app", "a file was passed on",
    "a conflict was resolved", "a refused change was let go",
}  # fmt: skip


@pytest.mark.parametrize("first", range(0, WORLDS, AT_A_TIME))
def test_nothing_is_amiss_in_any_world(first):
    happened: Counter[str] = Counter()
    for seed in range(first, first + AT_A_TIME):
        happened += world_of(seed).happened
    if first == 0:
        assert happened.keys() >= ORDINARY_TROUBLE, ORDINARY_TROUBLE - happened.keys()


def test_new_worlds_every_day():
    """On a desk every day has its own; a check of a clean clone tries the same each time."""
    day = 0 if os.environ.get("CI") else int(time.time()) // 86_400
    for seed in range(10_000_000 + day * 50, 10_000_000 + day * 50 + 50):
        world_of(seed)


@pytest.mark.parametrize("seed", [3, 58, 977])
def test_one_seed_is_one_story(seed):
    assert list(story_of(world_of(seed))) == list(story_of(world_of(seed)))


def test_a_seed_is_its_story_in_every_process():
    """What sets and dictionaries do differently from run to run must not reach the story."""
    tell = (
        "import hashlib; from tests.sync.checks import story_of; from tests.sync.torture import world_of;"
        "print(hashlib.sha256(repr([list(story_of(world_of(s))) for s in range(5)]).encode()).hexdigest())"
    )
    told = {
        subprocess.run(
            [sys.executable, "-c", tell],
            env=os.environ | {"PYTHONHASHSEED": seed},
            cwd=Path(__file__).parents[2],
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(told) == 1


# What takes more coincidence than a few hundred worlds have is told as a story of its own.
TOLD_APART = {
    "an_edit_is_refused_where_the_owner_is_not_back_yet": (
        lambda: test_conversation.test_a_restored_club_gets_back_what_it_lost_and_loses_what_it_should(Desk())
    ),
    "an_edit_does_not_say_what_had_been_replaced_before": (
        lambda: (
            test_conversation.test_what_was_replaced_stays_so_though_the_edit_between_is_lost_with_every_copy(
                Desk()
            )
        )
    ),
    "a_refusal_is_for_every_epoch": (
        lambda: test_conversation.test_a_refusal_ends_with_the_epoch_that_it_was_given_in(Desk())
    ),
    "a_deletion_grows_older_while_the_club_lies_in_its_backup": (
        lambda: test_conversation.test_a_deletion_that_was_taken_back_after_the_backup_does_not_become_final(
            Desk()
        )
    ),
    "what_a_wrong_clock_stamped_is_not_taken_back": (
        lambda: test_conversation.test_a_club_whose_clock_was_a_month_ahead_gets_back_what_it_took_then(
            Desk()
        )
    ),
    "of_two_stamps_the_one_at_hand_is_kept": (
        test_merging.test_of_two_stamps_of_one_change_the_club_s_counts_wherever_it_is_merged
    ),
    "an_erasure_takes_back_what_was_to_be_forgotten": (
        lambda: test_conversation.test_a_friend_who_was_away_during_an_erasure_still_forgets(Desk())
    ),
}


@pytest.mark.parametrize("name", TOLD_APART)
def test_a_planted_fault_is_found_by_its_story(name, monkeypatch):
    TOLD_APART[name]()
    FAULTS[name](monkeypatch)
    with pytest.raises(AssertionError):
        TOLD_APART[name]()


def test_the_planted_faults_are_as_many_as_is_said():
    assert planted_faults.__doc__.startswith(f"{len(FAULTS)} errors")
    assert {5: "Five", 6: "Six", 7: "Seven", 8: "Eight"}[len(TOLD_APART)] in planted_faults.__doc__


@pytest.mark.parametrize("name", sorted(FAULTS.keys() - TOLD_APART.keys()))
def test_a_planted_fault_is_found(name, monkeypatch):
    FAULTS[name](monkeypatch)
    for seed in range(MOST_WORLDS_FOR_A_FAULT):
        try:
            world_of(seed)
        except Exception:
            return
    pytest.fail(f"{MOST_WORLDS_FOR_A_FAULT} worlds did not notice that {name.replace('_', ' ')}")


def test_a_long_row_is_counted_and_what_breaks_in_it_named(monkeypatch, capsys):
    assert torture.main(["800", "3"]) == 0
    told = capsys.readouterr().out
    assert "3 worlds" in told
    assert all(re.search(rf"^{what} +0$", told, re.MULTILINE) for what in (torture.LOST, torture.CRASHED))
    FAULTS["an_accepted_change_is_hidden_until_it_is_pulled"](monkeypatch)
    assert torture.main(["800", "20"]) == 1
    told = capsys.readouterr().out
    assert re.search(rf"^{torture.LOST} +[1-9]", told, re.MULTILINE)
    assert re.search(r"again: python -m tests\.sync\.torture 8\d\d", told)
    monkeypatch.setattr(torture, "world_of", lambda seed, _steps: seed // 0)
    assert torture.main(["800"]) == 1
    assert "ZeroDivisionError" in capsys.readouterr().out

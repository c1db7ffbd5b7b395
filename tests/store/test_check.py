"""Looking a logbook file through finds what is broken or odd, says it in a sentence, and changes nothing."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from logbook_app.dive.profile import Profile, profile_digest, profile_to_bytes
from logbook_app.dive.record import Recording
from logbook_app.store.logbook_store import LogbookStore
from tests.dive.strategies import plain_dive

pytestmark = pytest.mark.law

PROFILE = Profile(np.array([0.0, 60.0, 120.0]), np.array([0.0, 9.0, 0.0]))
NAME = profile_digest(profile_to_bytes(PROFILE))


@pytest.fixture
def store(tmp_path: Path) -> Iterator[LogbookStore]:
    """A logbook with one recorded dive."""
    store = LogbookStore(tmp_path / "logbook.leadline")
    recorded = plain_dive(id="one", number=7, recordings=(Recording("a fingerprint", NAME),))
    store.save([(recorded, [PROFILE])])
    yield store
    store.close()


def alter(store: LogbookStore, *statements: str) -> None:
    with closing(sqlite3.connect(store.path)) as other, other:
        for statement in statements:
            other.execute(statement)


def told(store: LogbookStore) -> list[str]:
    return [problem.sentence() for problem in (*store.damage(), *store.oddities())]


def test_a_sound_logbook_has_nothing_to_tell(store: LogbookStore) -> None:
    assert told(store) == []


def test_looking_changes_nothing(store: LogbookStore) -> None:
    before = (store.revision(), store.dives())
    told(store)
    assert (store.revision(), store.dives()) == before


def test_a_reference_to_nothing(store: LogbookStore) -> None:
    alter(store, "INSERT INTO tags VALUES ('no such dive', 0, 'wreck')")
    assert "1 row of tags names something in dives that is not there. Put back the last backup." in told(
        store
    )


def test_samples_whose_bytes_changed(store: LogbookStore) -> None:
    alter(store, "UPDATE profiles SET samples = X'4c4c503100'")
    (sentence,) = told(store)
    assert re.fullmatch(r"dive of \d{4}-\d\d-\d\dT\d\d:\d\d: The samples \w{12} are damaged\. .+", sentence)


def test_samples_that_are_gone(store: LogbookStore) -> None:
    alter(store, "DELETE FROM profiles")
    assert any("1 row of recordings names something in profiles" in sentence for sentence in told(store))


def test_a_dive_that_cannot_be_read(store: LogbookStore) -> None:
    alter(store, "UPDATE dives SET water = 'soup'")
    (sentence,) = told(store)
    assert sentence.startswith("The dive one in the logbook cannot be read")


def test_samples_that_no_dive_names(store: LogbookStore) -> None:
    alter(store, "DELETE FROM recordings")
    assert told(store) == ["1 recording is named by no dive. It takes 1 kB and does no harm."]


def test_the_whole_of_a_split_recording_is_named(store: LogbookStore) -> None:
    """Only the extra fields lead to it; and a change that can be taken back may lead to samples, too."""
    store.save([(plain_dive(id="two", extra={"whole recording": NAME}), [])])
    alter(store, "DELETE FROM recordings")
    assert told(store) == []


def test_a_number_given_twice(store: LogbookStore) -> None:
    store.save([(plain_dive(id="two", number=7), []), (plain_dive(id="theirs", number=7, diver="Imke"), [])])
    (sentence,) = told(store)
    assert sentence.startswith("Several dives have the number 7: those of ")
    assert sentence.count(",") == 1


def test_broken_pages(store: LogbookStore, tmp_path: Path) -> None:
    store.close()
    spoiled = tmp_path / "spoiled"
    content = bytearray(store.path.read_bytes())
    content[-4096:] = b"\xa5" * 4096
    spoiled.write_bytes(content)
    with closing(sqlite3.connect(spoiled, isolation_level=None)) as connection:
        from logbook_app.store.check import damage

        problems = list(damage(connection))
    assert problems
    assert all(problem.what.startswith("The file is damaged (") for problem in problems)

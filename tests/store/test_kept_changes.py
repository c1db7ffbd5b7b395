"""A change that can be taken back is kept with it, and comes back as it was."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given

from logbook_app.dive.problems import LogbookError, UnknownDive
from logbook_app.dive.record import Recording
from logbook_app.store import dive_rows
from logbook_app.store.dive_rows import dive_from_text, dive_to_text
from logbook_app.store.kept_changes import KeptChange
from logbook_app.store.logbook_store import LogbookStore
from tests.dive.strategies import Entry, accounts, entries, maybe, plain_dive

pytestmark = pytest.mark.law

AT = datetime(2031, 5, 5, 9, 0, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[LogbookStore]:
    with closing(LogbookStore(tmp_path / "logbook.sqlite")) as opened:
        yield opened


@given(entries(told=maybe(accounts)))
def test_a_dive_kept_as_text_comes_back_equal(entry: Entry) -> None:
    dive, _ = entry
    assert dive_from_text(dive_to_text(dive)) == dive


@given(entry=entries(told=maybe(accounts)))
def test_what_a_recorder_said_of_a_dive_comes_back_equal(
    tmp_path_factory: pytest.TempPathFactory, entry: Entry
) -> None:
    dive, profiles = entry
    with closing(LogbookStore(tmp_path_factory.mktemp("one") / "logbook.sqlite")) as store:
        store.save([(dive, profiles)])
        assert store.dive(dive.id) == dive


def test_a_change_is_kept_with_what_it_did_over_a_restart(tmp_path: Path) -> None:
    before, after = plain_dive(id="a"), plain_dive(id="a", notes="joined")
    kept = KeptChange("join", AT, added=("b",), binned=("c",), changed=((before, after),), report="words")
    with closing(LogbookStore(tmp_path / "logbook.sqlite")) as store:
        store.save([(before, ()), (plain_dive(id="c"), ())])
        first = store.save_together([(after, ())], AT, kept=kept, to_bin=["c"])
        second = store.save_together([], AT, kept=replace(kept, kind="shift"))
    with closing(LogbookStore(tmp_path / "logbook.sqlite")) as store:
        assert [change.id for change in store.changes()] == [first, second] == [1, 2]
        assert store.changes()[0] == replace(kept, id=1)
        assert store.dives() == [after]
        assert store.changes()[0].touched == {"a", "b", "c"}


def test_what_is_told_of_a_change_can_grow_while_it_goes_on(store: LogbookStore) -> None:
    kept = KeptChange("import", AT, added=("a",), report="one")
    kept = replace(kept, id=store.save_together([(plain_dive(id="a"), ())], AT, kept=kept))
    grown = replace(kept, added=("a", "b"), report="two")
    assert store.save_together([(plain_dive(id="b"), ())], AT, kept=grown) == kept.id
    assert store.changes() == [grown]


def test_taking_back_is_noted_with_its_instant(store: LogbookStore) -> None:
    change_id = store.save_together([(plain_dive(id="a"), ())], AT, kept=KeptChange("import", AT, ("a",)))
    store.save_together([], AT, undone=change_id, to_bin=["a"])
    assert store.changes()[0].undone_at == AT
    assert store.dives() == []
    store.save_together([], AT, from_bin=["a"])
    assert [dive.id for dive in store.dives()] == ["a"]


@pytest.mark.parametrize("trouble", ["an unknown dive", "samples that are not there"])
def test_a_change_that_cannot_be_made_whole_is_not_made_at_all(store: LogbookStore, trouble: str) -> None:
    store.save([(plain_dive(id="a"), ())])
    lost = plain_dive(id="b", recordings=(Recording("f", "0" * 64),))
    entries = [(plain_dive(id="a", notes="new"), ())] + [(lost, ())] * (trouble != "an unknown dive")
    with pytest.raises((UnknownDive, LogbookError)):
        store.save_together(entries, AT, kept=KeptChange("join", AT), to_bin=["nobody"])
    assert store.dives() == [plain_dive(id="a")]
    assert store.changes() == []


def test_a_dive_kept_as_text_before_dives_had_trips_comes_back(store: LogbookStore) -> None:
    """Files exist whose changes were kept so, and they can still be taken back."""
    row, site, parts = json.loads(dive_to_text(plain_dive(id="one", trip="Sorvane")))
    later = len(dive_rows._ADDED)
    assert row[-later] == "Sorvane"
    assert dive_from_text(json.dumps([row[:-later], site, parts])) == plain_dive(id="one")

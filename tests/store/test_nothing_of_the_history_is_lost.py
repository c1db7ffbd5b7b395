"""The history is complete and stays: from what a dive says now, every earlier state of it follows."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, invariant, multiple, rule

from logbook_app.dive.history import DIVE, EDIT, IMPORT, NOT_THERE, PRESENT, UNDO, with_values
from logbook_app.dive.problems import LogbookError, UnknownDive
from logbook_app.dive.record import Dive, Recording
from logbook_app.store.kept_changes import KeptChange
from logbook_app.store.logbook_store import LogbookStore
from tests.dive.strategies import dives, plain_dive

pytestmark = pytest.mark.law

NOON = datetime(2031, 5, 4, 12, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[LogbookStore]:
    store = LogbookStore(tmp_path / "logbook.sqlite", lambda: NOON)
    yield store
    store.close()


def test_a_change_tells_what_when_and_why(store: LogbookStore) -> None:
    store.save([(plain_dive(id="a", notes="calm"), ())], "hand")
    number = store.save([(plain_dive(id="a", notes="rough", rating=2), ())])
    came, notes, rating = store.history("a")
    assert (came.field, came.before, came.after, came.why) == (PRESENT, NOT_THERE, "true", "hand")
    assert (notes.field, notes.before, notes.after) == ("notes", '"calm"', '"rough"')
    assert (rating.field, rating.before, rating.after) == ("rating", "null", "2")
    for one in (notes, rating):
        assert (one.change, one.at, one.why, one.kind, one.origin) == (number, NOON, EDIT, DIVE, "")
    assert store.change_of(number) == [notes, rating]
    assert came.change < number


def test_what_changes_nothing_leaves_no_line(store: LogbookStore) -> None:
    store.save([(plain_dive(id="a"), ())])
    assert store.save([(plain_dive(id="a"), ())]) == 0
    assert store.restore("a") == 0
    assert store.bin("a", NOON) > 0
    assert store.bin("a", NOON) == 0
    assert len(store.history("a")) == 2


def test_what_was_done_together_has_one_number_and_its_reason(store: LogbookStore) -> None:
    store.save([(plain_dive(id="a"), ()), (plain_dive(id="b"), ())])
    kept = KeptChange("join", NOON, binned=("b",))
    undo = store.save_together([(plain_dive(id="a", notes="both"), ())], NOON, kept=kept, to_bin=["b"])
    notes, gone = store.history("a")[-1], store.history("b")[-1]
    assert (notes.change, notes.why) == (gone.change, gone.why) == (notes.change, "join")
    store.save_together([(plain_dive(id="a"), ())], NOON, undone=undo, from_bin=["b"])
    assert [store.history(dive_id)[-1].why for dive_id in "ab"] == [UNDO, UNDO]


def test_a_change_that_fails_leaves_no_line(store: LogbookStore) -> None:
    store.save([(plain_dive(id="a"), ())])
    missing = plain_dive(id="b", recordings=(Recording("f", "0" * 64),))
    with pytest.raises(LogbookError):
        store.save([(plain_dive(id="a", notes="lost"), ()), (missing, ())])
    assert [one.field for one in store.history("a")] == [PRESENT]


@pytest.mark.parametrize("statement", ["DELETE FROM history", "UPDATE history SET after = before"])
def test_sqlite_itself_refuses_to_change_or_take_away_a_line(store: LogbookStore, statement: str) -> None:
    store.save([(plain_dive(id="a"), ())])
    before = store.history("a")
    with pytest.raises(sqlite3.IntegrityError, match="only added to"):
        store._connection.execute(statement)
    assert store.history("a") == before


def test_there_is_no_history_of_a_dive_that_never_was(store: LogbookStore) -> None:
    with pytest.raises(UnknownDive):
        store.history("nowhere")


class AnyRunOfChanges(RuleBasedStateMachine):
    """Every state that a dive was ever in, against what the history leads back to."""

    ids = Bundle("ids")

    def __init__(self) -> None:
        super().__init__()
        self.path = Path(tempfile.mkdtemp()) / "logbook.sqlite"
        self.at = NOON
        self.store = LogbookStore(self.path, lambda: self.at)
        self.states: dict[str, list[tuple[Dive, bool]]] = {}

    def _tell(self, dive: Dive, present: bool) -> None:
        self.at += timedelta(seconds=1)
        states = self.states.setdefault(dive.id, [])
        if not states or states[-1] != (dive, present):
            states.append((dive, present))

    def _now(self, dive_id: str) -> tuple[Dive, bool]:
        return self.states[dive_id][-1]

    @rule(target=ids, batch=st.lists(dives(), min_size=1, max_size=3, unique_by=lambda dive: dive.id))
    def bring(self, batch: list[Dive]) -> object:
        kept = KeptChange(IMPORT, self.at, added=tuple(dive.id for dive in batch))
        self.store.save_together([(dive, ()) for dive in batch], self.at, kept=kept)
        for dive in batch:
            self._tell(dive, True)
        return multiple(*(dive.id for dive in batch))

    @rule(dive_id=ids, other=dives())
    def write_over(self, dive_id: str, other: Dive) -> None:
        _, present = self._now(dive_id)
        changed = replace(other, id=dive_id)
        self.store.save([(changed, ())])
        self._tell(changed, present)

    @rule(dive_id=ids, to_bin=st.booleans())
    def move(self, dive_id: str, to_bin: bool) -> None:
        dive, _ = self._now(dive_id)
        if to_bin:
            self.store.bin(dive_id, self.at)
        else:
            self.store.restore(dive_id)
        self._tell(dive, not to_bin)

    @rule(dive_id=ids, other=dives(), to_bin=st.booleans())
    def write_and_move(self, dive_id: str, other: Dive, to_bin: bool) -> None:
        changed = replace(other, id=dive_id)
        self.store.rewrite(
            [changed], self.at, UNDO, to_bin=[dive_id] * to_bin, from_bin=[dive_id] * (not to_bin)
        )
        self._tell(changed, not to_bin)

    @rule()
    def reopen(self) -> None:
        self.store.close()
        self.store = LogbookStore(self.path, lambda: self.at)

    @invariant()
    def every_earlier_state_follows_from_the_history(self) -> None:
        for dive_id, states in self.states.items():
            assert self._back_from_now(dive_id) == states

    def _back_from_now(self, dive_id: str) -> list[tuple[Dive, bool]]:
        """Return the states of a dive, from what it says now and each change taken off, the first first."""
        state = self.store.dive(dive_id), not self.store.is_binned(dive_id)
        states = [state]
        lines = self.store.history(dive_id)
        for number in sorted({one.change for one in lines}, reverse=True):
            before = {one.field: one.before for one in lines if one.change == number}
            present = {"true": True, "false": False}.get(before.pop(PRESENT, ""), state[1])
            if number == lines[0].change:
                break
            state = with_values(state[0], before), present
            states.insert(0, state)
        return states

    def teardown(self) -> None:
        self.store.close()
        shutil.rmtree(self.path.parent)


TestAnyRunOfChanges = AnyRunOfChanges.TestCase
TestAnyRunOfChanges.settings = settings(deadline=None, max_examples=25, stateful_step_count=15)

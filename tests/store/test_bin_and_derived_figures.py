"""Deleting is only ever the bin, any change can be undone, and no derived figure outlives its dive."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, invariant, multiple, rule

from logbook_app.dive.problems import LogbookError
from logbook_app.dive.record import Dive, Recording
from logbook_app.store.logbook_store import LogbookStore
from tests.dive.strategies import dives, instants, plain_dive

pytestmark = pytest.mark.law

NOON = datetime(2031, 5, 4, 12, 0, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[LogbookStore]:
    store = LogbookStore(tmp_path / "logbook.sqlite")
    yield store
    store.close()


@pytest.fixture
def four_days(store: LogbookStore) -> list[Dive]:
    """Four dives on four days, each with figures under the key `k`."""
    four = [plain_dive(id=name, began_at=NOON + timedelta(days=day)) for day, name in enumerate("abcd")]
    store.save((dive, []) for dive in four)
    store.save_derived("k", {dive.id: dive.id.encode() for dive in four})
    return four


def test_a_binned_dive_is_out_of_sight_and_comes_back_as_it_was(
    store: LogbookStore, four_days: list[Dive]
) -> None:
    later = NOON + timedelta(days=40)
    store.bin("b", later)
    assert [dive.id for dive in store.dives()] == ["a", "c", "d"]
    assert store.binned() == [(four_days[1], later)]
    assert store.dive("b") == four_days[1]
    store.restore("b")
    assert store.dives() == four_days
    assert store.binned() == []


def test_the_bin_shows_the_latest_first_and_keeps_the_first_time(
    store: LogbookStore, four_days: list[Dive]
) -> None:
    store.bin("a", NOON)
    store.bin("c", NOON + timedelta(hours=1))
    store.bin("a", NOON + timedelta(hours=2))
    assert [(dive.id, at) for dive, at in store.binned()] == [("c", NOON + timedelta(hours=1)), ("a", NOON)]


def test_saving_a_dive_that_is_in_the_bin_leaves_it_there(store: LogbookStore, four_days: list[Dive]) -> None:
    store.bin("b", NOON)
    changed = replace(four_days[1], notes="mended in the bin")
    store.save([(changed, [])])
    assert store.binned() == [(changed, NOON)]


def test_undoing_a_change_is_saving_what_was(store: LogbookStore, four_days: list[Dive]) -> None:
    store.save([(replace(four_days[2], buddies=("Ada",), notes="wrong dive", rating=3), [])])
    store.save([(four_days[2], [])])
    assert store.dives() == four_days


def test_fingerprints_know_the_bin_and_prefer_what_is_not_in_it(store: LogbookStore) -> None:
    binned, kept, only = (
        plain_dive(id=name, recordings=tuple(Recording(print_) for print_ in prints))
        for name, prints in {"binned": ["both"], "kept": ["both"], "only": ["one", "two"]}.items()
    )
    store.save((dive, []) for dive in (kept, binned, only))
    store.bin("binned", NOON)
    store.bin("only", NOON)
    assert store.fingerprints() == {"both": "kept", "one": "only", "two": "only"}


def test_derived_figures_go_with_their_own_dive_alone(store: LogbookStore, four_days: list[Dive]) -> None:
    """What later dives rest on besides is looked after in `analysis.chain_of_dives`."""
    store.save([(replace(four_days[2], notes="changed"), [])])
    assert set(store.derived("k")) == {"a", "b", "d"}
    store.save([(replace(four_days[1], began_at=NOON + timedelta(days=9)), [])])
    assert set(store.derived("k")) == {"a", "d"}


@pytest.mark.parametrize("change", ["bin", "restore"])
def test_the_bin_drops_figures_both_ways(store: LogbookStore, four_days: list[Dive], change: str) -> None:
    store.bin("b", NOON)
    if change == "restore":
        store.save_derived("k", dict.fromkeys("abcd", b"again"))
        store.restore("b")
    assert set(store.derived("k")) == {"a", "c", "d"}


def test_derived_figures_are_kept_by_key_and_only_for_dives_that_are_there(
    store: LogbookStore, four_days: list[Dive]
) -> None:
    before = store.revision()
    store.save_derived("other", {"a": b"1", "nowhere": b"2"})
    store.save_derived("other", {"a": b"3"})
    assert store.derived("other") == {"a": b"3"}
    assert len(store.derived("k")) == 4
    assert store.revision() == before


def test_figures_of_settings_long_left_are_dropped(store: LogbookStore, four_days: list[Dive]) -> None:
    for number in range(10):
        store.save_derived(f"settings {number}", {"a": b"1"})
    assert store.derived("settings 9") == {"a": b"1"}
    assert store.derived("settings 6") == {"a": b"1"}
    assert store.derived("settings 5") == {}
    assert store.derived("k") == {}


def test_figures_worked_out_before_another_change_are_not_kept(
    store: LogbookStore, four_days: list[Dive]
) -> None:
    worked_out_at = store.revision()
    store.save([(replace(four_days[0], max_depth_m=30.0), [])])
    store.save_derived("k", {"a": b"of the dive to 18 m"}, at_revision=worked_out_at)
    assert "a" not in store.derived("k")
    store.save_derived("k", {"a": b"of the dive to 30 m"}, at_revision=store.revision())
    assert store.derived("k")["a"] == b"of the dive to 30 m"


def test_the_revision_grows_by_one_with_each_change_and_not_by_reading(store: LogbookStore) -> None:
    dive = plain_dive()
    changes = [
        lambda: store.save([(dive, []), (plain_dive(), [])]),
        lambda: store.bin(dive.id, NOON),
        lambda: store.restore(dive.id),
    ]
    for count, make in enumerate(changes, start=1):
        make()
        for look in (store.dives, store.binned, store.settings):
            look()
        assert store.revision() == count
    store.save([])
    store.set_settings({"units": "imperial"})  # no dive is another for it
    assert store.revision() == len(changes)


class AnyDayWithALogbook(RuleBasedStateMachine):
    """The store against two dictionaries, through any run of changes, failures and reopenings."""

    ids = Bundle("ids")

    def __init__(self) -> None:
        super().__init__()
        self.path = Path(tempfile.mkdtemp()) / "logbook.sqlite"
        self.store = LogbookStore(self.path)
        self.kept: dict[str, Dive] = {}
        self.binned: dict[str, datetime] = {}

    @rule(target=ids, batch=st.lists(dives(), min_size=1, max_size=3, unique_by=lambda dive: dive.id))
    def save(self, batch: list[Dive]) -> object:
        self.store.save((dive, []) for dive in batch)
        self.kept.update({dive.id: dive for dive in batch})
        return multiple(*(dive.id for dive in batch))

    @rule(dive_id=ids, other=dives())
    def replace(self, dive_id: str, other: Dive) -> None:
        self.kept[dive_id] = replace(other, id=dive_id)
        self.store.save([(self.kept[dive_id], [])])

    @rule(dive_id=ids, other=dives())
    def fail_to_save(self, dive_id: str, other: Dive) -> None:
        missing = replace(other, recordings=(Recording("f", "0" * 64),))
        with pytest.raises(LogbookError):
            self.store.save([(replace(other, id=dive_id), []), (missing, [])])

    @rule(dive_id=ids, at=instants())
    def bin(self, dive_id: str, at: datetime) -> None:
        self.store.bin(dive_id, at)
        self.binned.setdefault(dive_id, at)

    @rule(dive_id=ids)
    def restore(self, dive_id: str) -> None:
        self.store.restore(dive_id)
        self.binned.pop(dive_id, None)

    @rule()
    def reopen(self) -> None:
        self.store.close()
        self.store = LogbookStore(self.path)

    @invariant()
    def the_logbook_is_what_was_done_to_it(self) -> None:
        shown = [dive for name, dive in self.kept.items() if name not in self.binned]
        assert self.store.dives() == sorted(shown, key=lambda dive: (dive.began_at, dive.id))
        assert {dive.id: at for dive, at in self.store.binned()} == self.binned
        assert {dive.id: dive for dive, _ in self.store.binned()} == {
            name: self.kept[name] for name in self.binned
        }

    def teardown(self) -> None:
        self.store.close()
        shutil.rmtree(self.path.parent)


TestAnyDayWithALogbook = AnyDayWithALogbook.TestCase
TestAnyDayWithALogbook.settings = settings(deadline=None, max_examples=30, stateful_step_count=20)


def test_a_draft_is_kept_and_counts_as_no_change(store: LogbookStore) -> None:
    """What is read and worked out once until something changes stays so while the diver types."""
    before = store.revision()
    store.keep_draft("draft", "half written")
    store.keep_draft("draft", "half written, and a word more")
    assert store.settings()["draft"] == "half written, and a word more"
    assert store.revision() == before

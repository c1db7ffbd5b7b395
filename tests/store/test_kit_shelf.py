"""Kit is given back as it was kept; nothing of it is ever lost."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook_app.dive.kit import CareRecord, Check, KitItem, KitSet, UsedKit
from logbook_app.dive.problems import UnknownKit
from logbook_app.store.logbook_store import LogbookStore
from tests.dive.strategies import care_records, kit_items, plain_dive

pytestmark = pytest.mark.law

NOON = datetime(2031, 5, 4, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LogbookStore]:
    """One store for all examples: what one leaves behind must not touch the next."""
    store = LogbookStore(tmp_path_factory.mktemp("logbook") / "logbook.sqlite")
    yield store
    store.close()


@pytest.fixture
def store(tmp_path: Path) -> Iterator[LogbookStore]:
    store = LogbookStore(tmp_path / "logbook.sqlite")
    yield store
    store.close()


@settings(deadline=None, max_examples=60)
@given(items=st.lists(kit_items, min_size=1, max_size=4, unique_by=lambda item: item.id))
def test_every_piece_comes_back_equal(shared: LogbookStore, items: list[KitItem]) -> None:
    shared.kit.keep_items(items)
    for item in items:
        assert shared.kit.item(item.id) == item
        assert item in shared.kit.items()


@settings(deadline=None, max_examples=60)
@given(records=st.lists(care_records, min_size=1, max_size=4, unique_by=lambda care: care.id))
def test_every_entry_of_care_comes_back_equal(shared: LogbookStore, records: list[CareRecord]) -> None:
    records = [replace(record, id=uuid.uuid4().hex) for record in records]  # a known id stays as it was
    shared.kit.add_care(records)
    kept = shared.kit.care(taken_back=True)
    assert all(record in kept for record in records)


def test_an_entry_of_care_is_never_written_over(store: LogbookStore) -> None:
    first = CareRecord(id="a", item_id="r", check=Check.SERVICE, done_on=date(2030, 1, 2), note="both stages")
    store.kit.add_care([first])
    store.kit.add_care([CareRecord(id="a", item_id="r", check=Check.VISUAL, done_on=date(2031, 1, 2))])
    assert store.kit.care() == [first]


def test_what_is_taken_back_counts_again_when_it_is_given_back(store: LogbookStore) -> None:
    entry = CareRecord(id="a", item_id="r", check=Check.SERVICE, done_on=date(2030, 1, 2))
    store.kit.add_care([entry])
    store.kit.take_back_care("a", NOON)
    assert store.kit.care() == []
    assert [care.taken_back_at for care in store.kit.care(taken_back=True)] == [NOON]
    store.kit.give_back_care("a")
    assert store.kit.care() == [entry]


def test_a_piece_in_the_bin_leaves_its_dives_alone(store: LogbookStore) -> None:
    item = KitItem(id="r", name="cold water regulator")
    dive = plain_dive(kit=(item.used,))
    store.kit.keep_items([item])
    store.save([(dive, ())])
    store.kit.bin_item("r", NOON)
    assert store.kit.items() == []
    assert store.dive(dive.id).kit == (UsedKit("r", "cold water regulator"),)
    store.kit.restore_item("r")
    assert store.kit.items() == [item]


def test_a_dive_in_the_bin_wears_nothing_out(store: LogbookStore) -> None:
    dive = plain_dive(kit=(UsedKit("r", "regulator"), UsedKit("r", "regulator again")))
    store.save([(dive, ())])
    assert store.kit.uses() == {"r": [(date(2031, 5, 4), 42.0)]}
    store.bin(dive.id, NOON)
    assert store.kit.uses() == {}


def test_a_set_comes_back_after_the_bin(store: LogbookStore) -> None:
    cold = KitSet(id="s", name="cold water", item_ids=("r", "d"))
    store.kit.keep_sets([cold])
    store.kit.bin_set("s", NOON)
    assert store.kit.sets() == []
    store.kit.restore_set("s")
    assert store.kit.sets() == [cold]


def test_the_last_kit_is_that_of_the_owners_last_dive_with_any(store: LogbookStore) -> None:
    used = (UsedKit("b", "boots"), UsedKit("a", "argon"))
    early = plain_dive(began_at=datetime(2031, 5, 1, tzinfo=UTC), kit=used)
    without = plain_dive(began_at=datetime(2031, 5, 2, tzinfo=UTC))
    somebody = plain_dive(began_at=datetime(2031, 5, 3, tzinfo=UTC), diver="Imke", kit=(UsedKit("c", "c"),))
    store.save([(dive, ()) for dive in (early, without, somebody)])
    assert store.kit.last_used() == list(used)


@pytest.mark.parametrize("act", ["restore_item", "give_back_care", "restore_set", "item"])
def test_what_is_not_there_is_said(store: LogbookStore, act: str) -> None:
    with pytest.raises(UnknownKit, match="nobody"):
        getattr(store.kit, act)("nobody")

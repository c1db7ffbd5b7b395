"""Whatever can be a record is given back by the store as it was, field by field."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook_app.dive.problems import LogbookError, RefusedRecord, UnknownDive
from logbook_app.dive.profile import Profile, profile_digest, profile_to_bytes
from logbook_app.dive.record import Dive, Recording, Site
from logbook_app.store.logbook_store import LogbookStore
from tests.dive.strategies import entries, plain_dive

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


@settings(deadline=None, max_examples=80)
@given(batch=st.lists(entries(), min_size=1, max_size=4, unique_by=lambda entry: entry[0].id))
def test_every_dive_and_profile_comes_back_equal(
    shared: LogbookStore, batch: list[tuple[Dive, list[Profile]]]
) -> None:
    shared.save(batch)
    listed = {dive.id: dive for dive in shared.dives()}
    for dive, profiles in batch:
        assert shared.dive(dive.id) == dive
        assert listed[dive.id] == dive
        names = [profile_digest(profile_to_bytes(profile)) for profile in profiles]
        assert shared.profiles(names) == dict(zip(names, profiles, strict=True))


@settings(deadline=None, max_examples=40)
@given(first=entries(), second=entries())
def test_a_replaced_dive_is_wholly_the_new_one(
    shared: LogbookStore, first: tuple[Dive, list[Profile]], second: tuple[Dive, list[Profile]]
) -> None:
    dive = replace(second[0], id=first[0].id)
    shared.save([first])
    shared.save([(dive, second[1])])
    assert shared.dive(dive.id) == dive


def test_of_two_with_the_same_id_in_one_save_the_later_counts(store: LogbookStore) -> None:
    first = plain_dive(buddies=("Ada", "Bo"))
    store.save([(first, []), (replace(first, buddies=("Cy",)), [])])
    assert [dive.buddies for dive in store.dives()] == [("Cy",)]


def test_empty_words_and_unknown_values_stay_apart(store: LogbookStore) -> None:
    dive = plain_dive(
        site=Site(id="x", name="", region=""),
        buddies=("", "\0", "Zoë 🐙"),
        recordings=(Recording("f", None),),
        extra={"": "", "none": "None"},
    )
    store.save([(dive, [])])
    assert store.dive(dive.id) == dive
    assert store.dive(dive.id).site is not None
    assert store.dive(dive.id).recordings[0].profile_sha256 is None


def test_a_site_read_later_does_not_move_the_water_under_earlier_dives(store: LogbookStore) -> None:
    """Derived: at 2,000 m the air weighs 0.8 bar (ISO 2533), so an elevation is not a detail."""
    high = plain_dive(site=Site("tarn", "Upper tarn", elevation_m=2000.0))
    bare = plain_dive(site=Site("tarn", "upper tarn"), began_at=high.began_at + timedelta(days=1))
    store.save([(high, [])])
    store.save([(bare, [])])
    assert store.dive(high.id) == high
    assert store.dive(bare.id) == bare


def test_dives_come_in_order_of_their_start_and_by_whose_they_are(store: LogbookStore) -> None:
    dives = [
        plain_dive(id="c", began_at=NOON + timedelta(microseconds=1)),
        plain_dive(id="a", began_at=NOON, diver="Bo"),
        plain_dive(id="b", began_at=NOON - timedelta(seconds=1)),
    ]
    store.save((dive, []) for dive in dives)
    assert [dive.id for dive in store.dives()] == ["b", "a", "c"]
    assert [dive.id for dive in store.dives(own_only=True)] == ["b", "c"]


def test_an_instant_without_an_offset_is_not_guessed(store: LogbookStore) -> None:
    dive = plain_dive()
    store.save([(dive, [])])
    with pytest.raises(ValueError, match="offset"):
        store.bin(dive.id, datetime(2031, 5, 4))


def test_listing_takes_as_many_queries_for_a_hundred_dives_as_for_one(store: LogbookStore) -> None:
    queries: list[str] = []
    store.save([(plain_dive(buddies=("Ada",)), [])])
    store._connection.set_trace_callback(queries.append)
    store.dives()
    for_one = len(queries)
    store.save((plain_dive(buddies=("Ada",)), []) for _ in range(99))
    queries.clear()
    assert len(store.dives()) == 100
    assert len(queries) == for_one


def test_a_dive_that_names_samples_nobody_gave_is_refused_whole(store: LogbookStore) -> None:
    good, bad = plain_dive(), plain_dive(recordings=(Recording("f", "0" * 64),))
    with pytest.raises(LogbookError, match=r"2031-05-04 09:30 names samples.*000000.*read its file again"):
        store.save([(good, []), (bad, [])])
    assert store.dives() == []
    assert store.revision() == 0


def test_half_a_character_is_refused_with_the_words_it_is_in(store: LogbookStore) -> None:
    with pytest.raises(LogbookError, match=r"'fil\\udce9\.uddf' has half a character"):
        store.save([(plain_dive(recordings=(Recording("f", None, "", "fil\udce9.uddf"),)), [])])
    assert store.dives() == []


def test_a_number_larger_than_any_column_never_comes_so_far() -> None:
    with pytest.raises(RefusedRecord, match="dive number"):
        plain_dive(number=2**70)


def test_an_unknown_dive_is_named(store: LogbookStore) -> None:
    for ask in (store.dive, store.restore, lambda dive_id: store.bin(dive_id, NOON)):
        with pytest.raises(UnknownDive, match="no dive nowhere in the logbook"):
            ask("nowhere")
    assert store.revision() == 0


def test_settings_are_kept_by_name(store: LogbookStore) -> None:
    store.set_settings({"units": "metric"})
    store.set_settings({"units": "imperial"})
    store.set_settings({"naïve": ""})
    assert store.settings() == {"units": "imperial", "naïve": ""}


def test_settings_are_kept_all_or_none(store: LogbookStore) -> None:
    with pytest.raises(LogbookError, match="half a character"):
        store.set_settings({"gf_low": "0.3", "name": "\ud800"})
    assert store.settings() == {}


def test_what_was_saved_is_there_when_opened_again(tmp_path: Path) -> None:
    dive = plain_dive(tags=("night",))
    path = tmp_path / "logbook.sqlite"
    first = LogbookStore(path)
    first.save([(dive, [])])
    first.set_settings({"theme": "night"})
    first.close()
    again = LogbookStore(path)
    assert again.dives() == [dive]
    assert again.settings() == {"theme": "night"}
    assert again.revision() == 1
    again.close()

"""Merging: three laws over any histories, and a table of cases that says who wins and what is kept."""

from __future__ import annotations

import hashlib
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook_app.sync.changes import Change, canonical
from logbook_app.sync.hash_tree import record_digest
from logbook_app.sync.merging import (
    DELETED,
    MOST_PAST_NAMED,
    NO_RECORD,
    all_merged,
    conflicts_of,
    is_deleted,
    knows_all_of,
    merged,
    missed_by_deletion,
    same_value,
    value_of,
    what_an_edit_sees,
)
from logbook_app.sync.packing import packed, unpacked
from logbook_app.sync.records import values_from
from logbook_app.sync.stamps import StampClock
from logbook_app.sync.wire import to_json
from tests.dive.strategies import plain_dive
from tests.sync.histories import histories, some_of

pytestmark = pytest.mark.law


@settings(max_examples=300)
@given(st.data())
def test_merging_commutes_associates_and_repeats_nothing(data):
    history = data.draw(histories())
    a, b, c = (history.part(data.draw(some_of(history))) for _ in range(3))
    assert merged(a, b) == merged(b, a)
    assert merged(merged(a, b), c) == merged(a, merged(b, c))
    assert merged(a, a) == a
    assert knows_all_of(merged(a, b), a)
    assert knows_all_of(merged(a, b), b)


@settings(max_examples=300)
@given(histories(), st.randoms(use_true_random=False))
def test_any_order_with_repetitions_comes_to_the_same(history, order: random.Random):
    records = [change.as_record() for change in history.changes]
    shuffled = [*records, *order.choices(records, k=3)]
    order.shuffle(shuffled)
    assert all_merged(shuffled) == all_merged(records)


@settings(max_examples=300)
@given(histories())
def test_what_stands_is_what_nobody_who_saw_it_replaced(history):
    """Worked out a second time from the history itself, without merging."""
    whole = all_merged(change.as_record() for change in history.changes)
    for name in {name for change in history.changes for name in change.fields}:
        writers = [change for change in history.changes if name in change.fields]
        replaced = {seen for change in writers for seen in change.saw[name]}
        assert {edit.change for edit in whole[name].heads} == {c.id for c in writers} - replaced
        assert whole[name].past == replaced


@settings(max_examples=300)
@given(histories())
def test_an_author_never_finds_an_older_edit_of_ones_own_winning(history):
    """However the clock went: what one wrote after reading replaces what one read."""
    whole = all_merged(change.as_record() for change in history.changes)
    for place, change in enumerate(history.changes):
        for name in change.fields.keys() - {DELETED}:
            shown = value_of_head(history.seen[place], name)
            assert shown not in {edit.change for edit in whole[name].heads}


def value_of_head(record, name):
    heads = record[name].heads if name in record else ()
    return heads[0].change if heads else None


@settings(max_examples=200)
@given(st.data())
def test_a_record_comes_back_from_its_packing(data):
    history = data.draw(histories())
    record = history.part(data.draw(some_of(history)))
    assert unpacked(packed(record)) == record


@settings(max_examples=50)
@given(histories())
def test_a_digest_is_over_the_json_that_travels(history):
    """Stores keep digests, and a club compares them with those of older programs."""
    record = all_merged(change.as_record() for change in history.changes)
    travels = canonical(to_json(record)).encode()
    assert record_digest(record) == hashlib.sha256(travels).hexdigest()[:32]


def test_a_record_is_packed_short():
    """A dive's names of changes are a small part of it, not most."""
    values = values_from(plain_dive())
    record = Change("a", 1, "", "dive:1", StampClock(1).stamp, values, {}).as_record()
    assert len(packed(record)) < 2 * len(canonical(values))
    assert len(packed(record)) < 0.35 * len(canonical(to_json(record)))


# A table of cases: what two people do, and what both then see.


def change(origin: str, fields: dict, sees=NO_RECORD, *, at: int = 1, number: int = 1, chooses=False):
    saw = {name: what_an_edit_sees(sees, name, chooses=chooses) for name in fields}
    return Change(origin, number, "", "dive:1", StampClock(at).stamp, fields, saw).as_record()


FIRST = change("a", {"notes": "calm", "depth": 18})


def test_two_fields_edited_apart_are_both_kept_without_conflict():
    both = merged(change("a", {"notes": "rough"}, FIRST, at=2), change("b", {"depth": 21}, FIRST, at=3))
    both = merged(FIRST, both)
    assert (value_of(both, "notes"), value_of(both, "depth")) == ("rough", 21)
    assert not list(conflicts_of(both))


def test_one_field_edited_apart_shows_the_later_and_keeps_the_other():
    both = all_merged(
        [FIRST, change("a", {"notes": "rough"}, FIRST, at=2), change("b", {"notes": "swell"}, FIRST, at=3)]
    )
    (conflict,) = conflicts_of(both)
    assert conflict.shown.value == "swell"
    assert [edit.value for edit in conflict.others] == ["rough"]


def test_the_same_value_twice_is_no_conflict():
    both = merged(FIRST, change("b", {"notes": "calm", "depth": 18.0}, at=9))
    assert not list(conflicts_of(both))
    after = merged(both, change("a", {"notes": "still"}, both, at=10))
    assert value_of(after, "notes") == "still"
    assert not list(conflicts_of(after))


def test_an_edit_beside_a_conflict_leaves_what_was_not_shown():
    left, right = change("a", {"notes": "rough"}, FIRST, at=2), change("b", {"notes": "swell"}, FIRST, at=3)
    both = all_merged([FIRST, left, right])
    after = merged(both, change("a", {"notes": "long swell"}, both, at=4, number=2))
    (conflict,) = conflicts_of(after)
    assert (conflict.shown.value, conflict.others[0].value) == ("long swell", "rough")


def test_a_choice_between_both_sides_ends_the_conflict_everywhere():
    left, right = change("a", {"notes": "rough"}, FIRST, at=2), change("b", {"notes": "swell"}, FIRST, at=3)
    both = all_merged([FIRST, left, right])
    choice = change("a", {"notes": "rough"}, both, at=4, number=2, chooses=True)
    for order in (
        [FIRST, left, right, choice],
        [choice, right, left, FIRST],
        [choice, left],
        [right, choice],
    ):
        after = all_merged(order)
        assert value_of(after, "notes") == "rough"
        assert not list(conflicts_of(after))


def test_an_edit_that_comes_after_the_one_that_replaced_it_changes_nothing():
    later = merged(FIRST, change("a", {"notes": "rough"}, FIRST, at=2))
    assert merged(later, FIRST) == later


def test_an_edit_names_what_was_replaced_before_it():
    second = merged(FIRST, change("a", {"notes": "rough"}, FIRST, at=2, number=2))
    third = change("b", {"notes": "swell"}, second, at=3)
    (kept,) = merged(FIRST, third)["notes"].heads  # the second is lost with every copy
    assert kept.value == "swell"


def test_an_edit_names_the_heads_and_the_last_that_they_replaced():
    record = NO_RECORD
    for number in range(1, MOST_PAST_NAMED + 12):
        record = merged(record, change("a", {"notes": str(number)}, record, at=number, number=number))
    named = what_an_edit_sees(record, "notes")
    numbers = sorted(int(each.split(".")[1]) for each in named)
    assert numbers == list(range(11, MOST_PAST_NAMED + 12))


def test_what_was_read_is_replaced_though_the_clock_went_back():
    after = merged(FIRST, change("a", {"notes": "rough"}, FIRST, at=0, number=2))
    assert value_of(after, "notes") == "rough"
    assert not list(conflicts_of(after))


def test_a_deletion_and_an_edit_apart_delete_and_say_what_was_missed():
    deleted = change("a", {DELETED: True}, FIRST, at=2)
    edited = change("b", {"notes": "a turtle"}, FIRST, at=3)
    both = all_merged([FIRST, deleted, edited])
    assert is_deleted(both)
    assert {name: edit.value for name, edit in missed_by_deletion(both).items()} == {"notes": "a turtle"}
    back = merged(both, change("b", {DELETED: False}, both, at=4, number=2))
    assert not is_deleted(back)
    assert value_of(back, "notes") == "a turtle"
    assert not missed_by_deletion(back)


def test_a_deletion_that_saw_everything_missed_nothing():
    both = merged(FIRST, change("b", {"notes": "a turtle"}, FIRST, at=3))
    assert not missed_by_deletion(merged(both, change("a", {DELETED: True}, both, at=4)))


def test_of_two_stamps_of_one_change_the_club_s_counts_wherever_it_is_merged():
    made = Change("a", 1, "", "dive:1", StampClock(10**12).stamp, {"notes": "from 2046"}, {})
    here, settled = made.as_record(), made.as_record(StampClock(5).stamp)
    assert merged(here, settled) == merged(settled, here) == settled


def test_a_field_nobody_knows_is_merged_as_the_others_are():
    both = all_merged([change("a", {"moon": {"name": "full"}}), change("b", {"notes": "dark"}, at=2)])
    assert value_of(both, "moon") == {"name": "full"}


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [(1, 1.0, True), (1, True, False), ([1], [1.0], True), ([], [0], False), ({"a": 1}, {"a": 1}, True),
     ({"a": 1}, {"b": 1}, False), ("", None, False), (None, None, True)],
)  # fmt: skip
def test_values_are_the_same_as_json(one, other, same):
    assert same_value(one, other) is same

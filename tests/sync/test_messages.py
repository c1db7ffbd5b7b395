"""Messages: what one end writes the other reads, and anything else becomes one refusal."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook_app.dive.problems import RefusedMessage
from logbook_app.sync import messages
from logbook_app.sync.changes import Change, canonical, kept_change
from logbook_app.sync.merging import Edit, Field
from logbook_app.sync.messages import parse_reply, parse_request, to_wire
from logbook_app.sync.stamps import StampClock
from logbook_app.sync.wire import to_json

pytestmark = pytest.mark.law

STAMP = StampClock(1_950_000_000_000).stamp
CHANGE = Change(
    "o1",
    7,
    "",
    "dive:1",
    STAMP,
    {"notes": "größer, 大", "depth": 18.5, "extra": {"a": [None, True]}},
    {"notes": ("o1.3.0123456789abcdef",)},
    2,
)
NAME = "ab" * 32
RECORD = {"notes": Field((Edit(CHANGE.id, STAMP, "calm"),), frozenset({"o1.3.0123456789abcdef"}))}
REQUESTS = [
    messages.Join("a code", "ab" * 32, "Ada's tablet"),
    messages.Hello(1),
    messages.Hello(1, messages.Compare(3, 12, 1, "00", "o1", 7, 6)),
    messages.Push(3, 1, (messages.SentChange(CHANGE), messages.SentChange(CHANGE, STAMP))),
    messages.Pull(3, 12, 50),
    messages.Snapshot(3, "ada/dive:1"),
    messages.Known(3, (CHANGE.id,)),
    messages.GiveBack(3, {"ada/dive:1": RECORD}),
    messages.Compare(3, 12, 1, "00", "o1", 7, 6),
    messages.Buckets(3, 12),
    messages.Listing(3, 12, (0, 255)),
    messages.Fetch(3, ("ada/dive:1",)),
    messages.Blobs((NAME,)),
    messages.PutBlob(NAME, 0, 5, b"\x00\xffabc"),
    messages.GetBlob(NAME, 3),
    messages.PutBlobs((messages.PutBlob(NAME, 0, 5, b"\x00\xffabc"),)),
    messages.GetBlobs((NAME,)),
    messages.Devices(),
    messages.RevokeDevice("ab" * 8),
]
REPLIES = [
    messages.Joined("ada", "Divers of the quarry", "Ada"),
    messages.Welcome(1_950_000_000_000, 3, 1, "ada"),
    messages.Pushed(3, (messages.Judged(CHANGE.id, "accepted", STAMP, 9),), True),
    messages.Pulled(
        3,
        (
            messages.Event("ada/dive:1", CHANGE, STAMP),
            messages.Event("ada/dive:1", record=RECORD),
            messages.Event("/dive:2"),
        ),
        12,
        False,
    ),
    messages.Records(3, 12, {"ada/dive:1": RECORD}, True),
    messages.Remembered(3, (messages.Judged(CHANGE.id, "denied"),), (CHANGE.id,)),
    messages.Compared(False, 3, True),
    messages.BucketDigests({"0": "ab", "255": "cd"}),
    messages.Listed({"ada/dive:1": "ab"}),
    messages.Wanted({NAME: 3}, frozenset({NAME})),
    messages.BlobPart(NAME, 0, 5, b"\x00\xffabc"),
    messages.BlobParts((messages.BlobPart(NAME, 0, 5, b"\x00\xffabc"),), 2),
    messages.DeviceList(
        (messages.KnownDevice("ab" * 8, "Ada's tablet", 1_950_000_000_000, True, "revoked"),)
    ),
    messages.Refusal("revoked", "This device was revoked."),
]
ALL = [(parse_request, each) for each in REQUESTS] + [(parse_reply, each) for each in REPLIES]
Parse = Callable[[bytes], Any]

anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


def named(case: Any) -> str:
    return type(case).__name__ if not callable(case) else case.__name__


@pytest.mark.parametrize(("parse", "message"), ALL, ids=named)
def test_a_message_comes_back_equal(parse: Parse, message):
    assert parse(to_wire(message)) == message


def test_a_field_that_was_edited_five_times_a_day_for_twenty_years_still_travels():
    past = frozenset(f"{'o' * 12}.{number}.{'0' * 16}" for number in range(36_500))
    record = {"notes": Field(RECORD["notes"].heads, past)}
    message = messages.GiveBack(3, {"ada/dive:1": record})
    assert parse_request(to_wire(message)) == message


def test_every_message_is_tried():
    told = {type(message) for _, message in ALL}
    assert told == {*messages._REQUESTS.values(), *messages._REPLIES.values()}


@pytest.mark.parametrize(("parse", "message"), ALL, ids=named)
def test_a_message_cut_anywhere_is_refused(parse: Parse, message):
    whole = to_wire(message)
    for at in range(len(whole)):
        with pytest.raises(RefusedMessage):
            parse(whole[:at])


def test_a_kept_change_is_read_back_as_it_was():
    read = kept_change(canonical(to_json(CHANGE)))
    assert (read, read.id, read.saw) == (CHANGE, CHANGE.id, CHANGE.saw)


@given(st.binary(max_size=60))
def test_any_bytes_are_refused(data):
    for parse in (parse_request, parse_reply):
        with pytest.raises(RefusedMessage):
            parse(data)


def read_or_refused(parse: Parse, wire: bytes) -> Any:
    """Return the message, None where it is refused in a sentence; any other error is one."""
    try:
        return parse(wire)
    except RefusedMessage as refused:
        return None if str(refused).endswith(".") else pytest.fail(f"no sentence: {refused}")


@settings(max_examples=400)
@given(st.sampled_from(ALL), st.data())
def test_a_message_with_anything_in_any_place_is_read_or_refused(case, data):
    """Whatever stands anywhere in it: an equal message of right kinds, or one refusal in a sentence."""
    parse, message = case
    told = json.loads(to_wire(message))
    place, key = data.draw(st.sampled_from(list(places(told))))
    if data.draw(st.booleans()):
        place[key] = data.draw(anything)
    elif isinstance(place, dict):
        del place[key]
    else:
        place.append(data.draw(anything))
    wire = json.dumps(told).encode()
    if (read := read_or_refused(parse, wire)) is not None:
        assert parse(to_wire(read)) == read


def places(told: Any) -> Any:
    """Yield every place in a JSON value as its container and key."""
    for key in list(told) if isinstance(told, dict) else range(len(told)):
        yield told, key
        if isinstance(told[key], dict | list):
            yield from places(told[key])


@settings(max_examples=200)
@given(st.sampled_from(ALL), st.data())
def test_a_message_with_a_bit_turned_is_read_or_refused(case, data):
    parse, message = case
    wire = bytearray(to_wire(message))
    for _ in range(data.draw(st.integers(1, 4))):
        wire[data.draw(st.integers(0, len(wire) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    read_or_refused(parse, bytes(wire))


HOSTILE = {
    "nested without end": b'{"leadline":1,"say":"hello","schema":' + b"[" * 100_000,
    "a number without end": b'{"leadline":1,"say":"hello","schema":' + b"9" * 10_000 + b',"end":true}',
    "not a number": b'{"leadline":1,"say":"hello","schema":NaN,"end":true}',
    "infinite": b'{"leadline":1,"say":"hello","schema":1e999,"end":true}',
    "true for one": b'{"leadline":true,"say":"hello","schema":1,"end":true}',
    "half a character": b'{"leadline":1,"say":"\\ud800","end":true}',
    "a list": b"[]",
    "a name that is a list": b'{"leadline":1,"say":["hello"],"schema":1,"end":true}',
    "another version": b'{"leadline":2,"say":"hello","schema":1,"end":true}',
    "too long": b" " * (messages.LARGEST_REQUEST + 1),
    "not UTF-8": b'{"leadline":1,"say":"hello","schema":1,"end":true}\xff',
    "nothing": b"",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_what_is_meant_to_harm_is_refused(name):
    with pytest.raises(RefusedMessage):
        parse_request(HOSTILE[name])


@pytest.mark.parametrize(
    "value", [1e999, "\ud800", [[[[[[[[[[1]]]]]]]]]], 2**60, {"a": float("nan")}], ids=repr
)
def test_a_value_that_cannot_be_kept_is_refused(value):
    told = json.loads(to_wire(messages.Push(1, 1, (messages.SentChange(CHANGE),))))
    told["changes"][0]["change"]["fields"]["notes"] = value
    with pytest.raises(RefusedMessage):
        parse_request(json.dumps(told).encode())


def test_a_later_program_may_say_more():
    told = json.loads(to_wire(messages.Pull(3, 12, 50))) | {"colour": "blue"}
    assert parse_request(json.dumps(told).encode()) == messages.Pull(3, 12, 50)


def test_the_end_mark_stands_at_the_very_end():
    assert all(to_wire(message).endswith(b',"end":true}') for _, message in ALL)


def test_a_change_is_named_by_what_it_says():
    again = Change(
        **{
            name: getattr(CHANGE, name)
            for name in ("origin", "number", "owner", "record", "stamp", "fields", "saw", "schema")
        }
    )
    other = Change("o1", 7, "", "dive:1", STAMP, {**CHANGE.fields, "depth": 18.6}, CHANGE.saw, 2)
    assert again.id == CHANGE.id
    assert other.id != CHANGE.id
    read = parse_request(to_wire(messages.Push(1, 1, (messages.SentChange(CHANGE),))))
    assert read.changes[0].change.id == CHANGE.id

"""Who may do what, asked of the club directly: every role, record, field and state."""

from __future__ import annotations

from itertools import product

import pytest

from logbook_app.sync import messages
from logbook_app.sync.changes import Change
from logbook_app.sync.merging import DELETED, Field, value_of
from logbook_app.sync.messages import Code, Fetch, Pull, Push, Refusal, SentChange, Snapshot, Verdict
from logbook_app.sync.records import SIGNED_FIELDS
from logbook_app.sync.stamps import StampClock
from server.permissions import Caller, may_write
from tests.sync.desk import NOW_MS, Desk

pytestmark = pytest.mark.law

STAMP = StampClock(NOW_MS).stamp
SIGNED = dict.fromkeys(sorted(SIGNED_FIELDS), "x")
# Who "bo" is to a record of ada's, by what ada wrote into it.
SHARING = {
    "nobody": {},
    "reader": {"readers": ["bo"]},
    "writer": {"writers": ["bo"]},
    "one of all readers": {"readers": ["*"]},
    "one of all writers": {"writers": ["*"]},
    "reader and writer": {"readers": ["bo"], "writers": ["bo"]},
}
FIELDS = ("notes", "readers", "writers", DELETED)
VALUES = {"notes": "by bo", "readers": ["bo"], "writers": ["bo"], DELETED: True}


def push(desk: Desk, member: str, record: str, fields: dict, *, owner="", number=1, instructor=False) -> str:
    origin = "".join(letter for letter in f"{member}{record}" if letter.isalnum()).lower()[:32]
    change = Change(origin, number, owner, record, StampClock(NOW_MS + number).stamp, fields, {})
    asked = Push(desk.store.state().epoch, 1, (SentChange(change),))
    answer = desk.ask(asked, member, f"{member} phone", instructor=instructor)
    return answer.verdicts[0].verdict if isinstance(answer, messages.Pushed) else answer.code


def keys_seen(desk: Desk, member: str, key: str) -> list[bool]:
    """Whether a member gets to see a record, by each way there is."""
    ways = (Snapshot(1), Pull(1, 0), Fetch(1, (key,)))
    snapshot, pulled, fetched = (desk.ask(way, member, f"{member} phone") for way in ways)
    told = any(event.key == key and (event.change or event.record) for event in pulled.events)
    return [key in snapshot.records, told, key in fetched.records]


@pytest.mark.parametrize(("role", "field"), list(product(SHARING, FIELDS)))
def test_what_each_may_write(role, field):
    desk = Desk()
    assert push(desk, "ada", "shownpage:1", {"notes": "by ada", **SHARING[role]}) == Verdict.ACCEPTED
    may = "writer" in role and field == "notes"
    verdict = push(desk, "bo", "shownpage:1", {field: VALUES[field]}, owner="ada")
    assert verdict == (Verdict.ACCEPTED if may else Verdict.DENIED)
    assert (value_of(desk.store.record("ada/shownpage:1"), field) == VALUES[field]) == (
        may or SHARING[role].get(field) == VALUES[field]
    )
    assert push(desk, "ada", "shownpage:1", {field: VALUES[field]}, number=2) == Verdict.ACCEPTED


@pytest.mark.parametrize("role", SHARING)
def test_what_each_may_see_by_every_way(role):
    desk = Desk()
    push(desk, "ada", "shownpage:1", {"notes": "by ada", **SHARING[role]})
    assert keys_seen(desk, "bo", "ada/shownpage:1") == [role != "nobody"] * 3
    assert keys_seen(desk, "cy", "ada/shownpage:1") == ["all" in role] * 3
    assert keys_seen(desk, "ada", "ada/shownpage:1") == [True] * 3


@pytest.mark.parametrize(("before", "after"), list(product(SHARING, SHARING)))
def test_whoever_loses_sight_is_told_and_whoever_gains_it_gets_all(before, after):
    desk = Desk()
    push(desk, "ada", "shownpage:1", {"notes": "by ada", "depth": 18, **SHARING[before]})
    since = desk.store.state().seq
    nobody = {"readers": [], "writers": []}
    push(desk, "ada", "shownpage:1", {**nobody, **SHARING[after]}, number=2)
    saw, sees = before != "nobody", after != "nobody"
    events = [e for e in desk.ask(Pull(1, since), "bo", "bo phone").events if e.key == "ada/shownpage:1"]
    if saw and not sees:
        assert [(event.change, event.record) for event in events] == [(None, None)]
    if sees and not saw:
        assert any(event.record and value_of(event.record, "depth") == 18 for event in events)
    if not sees and not saw:
        assert not events


@pytest.mark.parametrize(
    ("member", "instructor", "fields", "verdict"),
    [
        ("ada", True, SIGNED, Verdict.ACCEPTED),
        ("ada", True, SIGNED | {"readers": ["bo"]}, Verdict.ACCEPTED),
        ("ada", False, SIGNED, Verdict.DENIED),
        ("ada", True, {"what": "half of one"}, Verdict.DENIED),
        ("ada", False, {"readers": ["bo"]}, Verdict.DENIED),
        ("ada", True, SIGNED | {"role": "instructor", "rules": "two-star"}, Verdict.ACCEPTED),
        ("ada", True, SIGNED | {"role": "admiral"}, Verdict.DENIED),
        ("ada", True, SIGNED | {"whom": "ada"}, Verdict.DENIED),
        ("ada", True, SIGNED | {"rules": ["two-star"]}, Verdict.DENIED),
    ],
)
def test_who_may_sign(member, instructor, fields, verdict):
    desk = Desk()
    assert push(desk, member, "signoff:1", fields, instructor=instructor) == verdict


@pytest.mark.parametrize(("rules", "may"), [("", True), ("two-star", True), ("three-star", False)])
def test_a_signer_signs_for_named_qualifications(rules, may):
    caller = Caller("ada", "phone", 0, "dive leader", frozenset({"two-star"}))
    assert may_write(caller, "ada/signoff:1", {}, SIGNED | {"rules": rules, "role": "dive leader"}) == may


def test_what_was_signed_is_never_rewritten_but_can_be_withdrawn():
    desk = Desk()
    push(desk, "ada", "signoff:1", SIGNED, instructor=True)
    for number, fields in enumerate(
        ({"what": "other"}, SIGNED | {"what": "other"}, {"note": "more"}), start=2
    ):
        assert push(desk, "ada", "signoff:1", fields, number=number, instructor=True) == Verdict.DENIED
    assert push(desk, "ada", "signoff:1", {DELETED: True}, number=9, instructor=True) == Verdict.ACCEPTED


@pytest.mark.parametrize(
    "fields",
    [{"readers": "bo"}, {"readers": [1]}, {"writers": {}}, {DELETED: "yes"}, {DELETED: None},
     {"notes": "x" * messages.LARGEST_CHANGE}],
    ids=lambda fields: str(fields)[:30],
)  # fmt: skip
def test_a_change_that_is_not_valid_is_refused_alone(fields):
    desk = Desk()
    bad = Change("o1", 1, "", "dive:1", STAMP, fields, {})
    good = Change("o1", 2, "", "dive:2", STAMP, {"notes": "calm"}, {})
    answer = desk.ask(Push(1, 1, (SentChange(bad), SentChange(good))), "ada")
    assert [judged.verdict for judged in answer.verdicts] == [Verdict.INVALID, Verdict.ACCEPTED]


def test_an_edit_of_a_record_that_never_was_is_gone():
    assert push(Desk(), "bo", "dive:1", {"notes": "x"}, owner="ada") == Verdict.GONE


def test_a_verdict_is_the_same_when_the_change_is_sent_again():
    desk = Desk()
    change = Change("o1", 1, "", "dive:1", StampClock(NOW_MS + 10**12).stamp, {"notes": "calm"}, {})
    asked = Push(1, 1, (SentChange(change),))
    first = desk.ask(asked, "ada")
    desk.now_ms += 10**9
    assert desk.ask(asked, "ada") == first
    assert len(desk.store.lines(0, 10)) == 1


def test_a_number_used_twice_says_that_there_is_a_twin():
    desk = Desk()
    answers = [
        desk.ask(Push(1, 1, (SentChange(Change("o1", 1, "", "dive:1", STAMP, {"notes": text}, {})),)), "ada")
        for text in ("one", "one", "two")
    ]
    assert [answer.twin for answer in answers] == [False, False, True]
    assert answers[2].verdicts[0].verdict == Verdict.ACCEPTED


@pytest.mark.parametrize(
    "request_",
    [
        messages.Pull(7, 0),
        messages.Snapshot(7),
        messages.Known(7, ()),
        messages.Compare(7, 0, 0, "", "o", 0, 0),
    ],
    ids=messages.message_name,
)
def test_a_place_of_another_epoch_means_nothing(request_):
    assert Desk().ask(request_, "ada") == Refusal(Code.OTHER_EPOCH)


def test_a_place_ahead_of_the_log_is_no_place():
    assert Desk().ask(Pull(1, 5), "ada") == Refusal(Code.RESYNC)


def test_a_page_is_cut_by_its_size_and_goes_on():
    desk = Desk()
    for number in range(1, 13):
        push(desk, "ada", f"dive:{number}", {"notes": "x" * 200_000}, number=number)
    since, seen, pages = 0, 0, 0
    while True:
        page = desk.ask(Pull(1, since), "ada")
        since, seen, pages = page.next, seen + len(page.events), pages + 1
        assert len(messages.to_wire(page)) < messages.LARGEST_REPLY
        if not page.more:
            break
    assert (seen, pages) == (12, 2)
    after, found, pages = "", [], 0
    while True:
        snapshot = desk.ask(Snapshot(1, after), "ada")
        found, after, pages = found + list(snapshot.records), max(snapshot.records), pages + 1
        if not snapshot.more:
            break
    assert (len(set(found)), pages) == (12, 2)


def test_what_is_not_for_a_member_does_not_hold_its_place_back():
    desk = Desk()
    for number in range(1, 6):
        push(desk, "ada", f"dive:{number}", {"notes": "mine"}, number=number)
    page = desk.ask(Pull(1, 0, 2), "bo")
    assert (page.events, page.next, page.more) == ((), 2, True)


def test_the_ledger_gives_no_epoch_twice():
    desk = Desk()
    empty = desk.store.tables.copied()
    epochs = []
    for _ in range(3):
        desk.restore(empty)
        epochs.append(desk.store.state().epoch)
    assert epochs == [2, 3, 4]


def test_a_request_that_fails_leaves_the_club_as_it_was(monkeypatch):
    desk = Desk()
    push(desk, "ada", "dive:1", {"notes": "calm"})
    before = desk.store.tables.copied()
    monkeypatch.setattr(desk.store, "append", lambda _: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        push(desk, "ada", "dive:1", {"notes": "rough"}, number=2)
    assert desk.store.tables == before
    assert desk.store.record("ada/dive:1")["notes"] == Field(desk.store.record("ada/dive:1")["notes"].heads)

"""Who may do what: every operation of the OpenAPI document, asked by everybody, beside one table.

An operation without a row fails, and so does a row whose cells are not what happens. A row is one thing
that a message can do; its name begins with the message. Pages have a table of their own, their site map,
held to in `test_entering_the_pages`.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from logbook_app.sync.changes import Change
from logbook_app.sync.merging import Edit, Field
from logbook_app.sync.messages import (
    Blobs,
    Buckets,
    Code,
    Compare,
    Devices,
    Fetch,
    GetBlob,
    GetBlobs,
    GiveBack,
    Hello,
    Join,
    Joined,
    Known,
    Listing,
    Pull,
    Push,
    PutBlob,
    PutBlobs,
    Refusal,
    Reply,
    Request,
    RevokeDevice,
    SentChange,
    Snapshot,
    Verdict,
    message_kinds,
)
from logbook_app.sync.stamps import StampClock
from server.api_document import ANSWER_TO
from server.club_home import ClubHome
from server.limits import Rate, Rates
from server.roles import Role, SignsAs
from server.sql_club import found_club
from server.sqlite_database import SqliteDatabase
from tests.server.clubs import ServedClub, token_of

pytestmark = pytest.mark.law

TABLE = """
                                            owner reader writer signer other officer admin
join: with a good invitation                yes   yes    yes    yes    yes   yes     yes
hello: the club's time                      yes   yes    yes    yes    yes   yes     yes
push: a record of one's own                 yes   yes    yes    yes    yes   yes     yes
push: into what the owner shows             yes   no     yes    no     no    no      no
push: who may see it                        yes   no     no     no     no    no      no
push: that it is deleted                    yes   no     no     no     no    no      no
push: into what the owner keeps             yes   no     no     no     no    no      no
push: a signature                           no    no     no     yes    no    no      no
pull: what the owner shows                  yes   yes    yes    no     no    no      no
pull: what the owner keeps                  yes   no     no     no     no    no      no
snapshot: what the owner shows              yes   yes    yes    no     no    no      no
snapshot: what the owner keeps              yes   no     no     no     no    no      no
known: a change of the owner's by its id    yes   yes    yes    yes    yes   yes     yes
give_back: the owner's record               yes   no     no     no     no    no      no
compare: the owner's records are counted    yes   no     no     no     no    no      no
buckets: the owner's records are counted    yes   no     no     no     no    no      no
listing: what the owner shows               yes   yes    yes    no     no    no      no
listing: what the owner keeps               yes   no     no     no     no    no      no
fetch: what the owner shows                 yes   yes    yes    no     no    no      no
fetch: what the owner keeps                 yes   no     no     no     no    no      no
blobs: whether the club has what is shown   yes   yes    yes    no     no    no      no
blobs: whether the club has what is kept    yes   no     no     no     no    no      no
put_blob: what a shown record names         yes   no     yes    no     no    no      no
put_blob: what a kept record names          yes   no     no     no     no    no      no
get_blob: what a shown record names         yes   yes    yes    no     no    no      no
get_blob: what a kept record names          yes   no     no     no     no    no      no
put_blobs: what a shown record names        yes   no     yes    no     no    no      no
put_blobs: what a kept record names         yes   no     no     no     no    no      no
get_blobs: what a shown record names        yes   yes    yes    no     no    no      no
get_blobs: what a kept record names         yes   no     no     no     no    no      no
devices: the owner's                        yes   no     no     no     no    no      no
revoke_device: one of the owner's           yes   no     no     no     no    no      no
"""
SHUT_OUT = {
    "removed": Code.REVOKED,
    "erased": Code.ACCOUNT_GONE,
    "revoked": Code.REVOKED,
    "of another club": Code.UNKNOWN_DEVICE,
    "unknown": Code.UNKNOWN_DEVICE,
    "nobody": Code.UNKNOWN_DEVICE,
}
OF_THE_MACHINE = {"health": "anybody", "metrics": "this machine"}

FREE = Rate(10**9, 1e-6)
SIGNED = dict.fromkeys(("what", "whom", "record", "names", "digest"), "x")


def blob(words: str) -> tuple[str, bytes]:
    return hashlib.sha256(words.encode()).hexdigest(), words.encode()


@dataclass
class World:
    """A club in which Ada owns what everybody asks for."""

    club: ServedClub
    members: dict[str, str]
    numbers: Iterator[int] = field(default_factory=lambda: iter(range(1, 10**6)))

    @property
    def shown(self) -> str:
        return f"{self.members['owner']}/shownpage:1"

    @property
    def kept(self) -> str:
        return f"{self.members['owner']}/dive:1"

    def ask(self, who: str, request: Request) -> Reply:
        return self.club.ask(request, token_of(who) if who != "nobody" else "")

    def write(self, who: str, record: str, owner: str = "", /, **fields: Any) -> str:
        """Let somebody write, and return the id of the change where the club took it."""
        number = next(self.numbers)
        stamp = StampClock(self.club.home.now_ms(), number % 1000).stamp
        origin = "".join(letter for letter in who if letter.isalpha())
        change = Change(origin, number, self.members["owner"] if owner else "", record, stamp, fields, {})
        answer = self.ask(who, Push(1, 1, (SentChange(change),)))
        ((judged,),) = (answer.verdicts,)
        return change.id if judged.verdict == Verdict.ACCEPTED else ""

    def seq(self) -> int:
        return self.club.home.store.state().seq

    def put(self, name: str, data: bytes) -> None:
        assert self.ask("owner", PutBlob(name, 0, len(data), data)).at == len(data)

    def named(self, record: str, words: str) -> tuple[str, bytes]:
        """Let a record of the owner's name bytes that the club does not have yet."""
        name, data = blob(f"{words} {next(self.numbers)}")
        assert self.write("owner", record, recordings=[{"profile_sha256": name}])
        return name, data


def pushed(world: World, who: str, record: str, **fields: Any) -> bool:
    return bool(world.write(who, record, "owner", **fields))


def pulled(world: World, who: str, key: str) -> bool:
    answer = world.ask(who, Pull(1, 0))
    return any(event.key == key and (event.change or event.record) for event in answer.events)


def compared(world: World, who: str) -> bool:
    """Whether the owner's private records move the count that somebody is told."""
    asked = Compare(1, world.seq(), 0, "", "x", 0, 0)
    before = world.ask(who, asked).count
    assert world.write("owner", f"dive:count{next(world.numbers)}", notes="one more")
    return world.ask(who, Compare(1, world.seq(), 0, "", "x", 0, 0)).count > before


def bucketed(world: World, who: str) -> bool:
    before = world.ask(who, Buckets(1, world.seq())).digests
    assert world.write("owner", f"dive:bucket{next(world.numbers)}", notes="one more")
    return world.ask(who, Buckets(1, world.seq())).digests != before


def given_back(world: World, who: str) -> bool:
    edit = Edit(f"lost.{next(world.numbers)}.{'0' * 16}", StampClock(1).stamp, "found again")
    world.ask(who, GiveBack(1, {world.kept: {"tide": Field((edit,))}}))
    heads = world.club.home.store.record(world.kept).get("tide", Field()).heads
    return edit in heads


def put(world: World, who: str, record: str) -> bool:
    name, data = world.named(record, "put")
    return not isinstance(world.ask(who, PutBlob(name, 0, len(data), data)), Refusal)


def put_together(world: World, who: str, record: str) -> bool:
    name, data = world.named(record, "put together")
    return bool(world.ask(who, PutBlobs((PutBlob(name, 0, len(data), data),))).parts)


def got(world: World, who: str, record: str, *, together: bool) -> bool:
    name, data = world.named(record, "got")
    world.put(name, data)
    if together:
        return [part.data for part in world.ask(who, GetBlobs((name,))).parts] == [data]
    answer = world.ask(who, GetBlob(name, 0))
    return not isinstance(answer, Refusal) and answer.data == data


def told_of(world: World, who: str, record: str) -> bool:
    name, data = world.named(record, "told")
    world.put(name, data)
    answer = world.ask(who, Blobs((name,)))
    return name in answer.there


def revoked(world: World, who: str) -> bool:
    device = f"tablet {next(world.numbers)}"
    world.club.joined("owner", device)
    wanted = hashlib.sha256(token_of(device).encode()).hexdigest()[:16]
    world.ask(who, RevokeDevice(wanted))
    return isinstance(world.ask(device, Hello(1)), Refusal)


def devices_told(world: World, who: str) -> bool:
    wanted = hashlib.sha256(token_of("owner").encode()).hexdigest()[:16]
    return wanted in {device.id for device in world.ask(who, Devices()).devices}


def joins(world: World, who: str) -> bool:
    code = world.club.home.invite(who)[1]
    return isinstance(world.ask(who, Join(code, token_of(f"{who} again"))), Joined)


def listed(world: World, who: str, key: str) -> bool:
    return key in world.ask(who, Listing(1, world.seq(), tuple(range(256)))).digests


PROBES: dict[str, Callable[[World, str], bool]] = {
    "join: with a good invitation": joins,
    "hello: the club's time": lambda w, who: w.ask(who, Hello(1)).member == w.members[who],
    "push: a record of one's own": lambda w, who: bool(w.write(who, "dive:own", notes="calm")),
    "push: into what the owner shows": lambda w, who: pushed(w, who, "shownpage:1", notes="calm"),
    "push: who may see it": lambda w, who: pushed(w, who, "shownpage:2", readers=[]),
    "push: that it is deleted": lambda w, who: pushed(w, who, "shownpage:2", deleted=True),
    "push: into what the owner keeps": lambda w, who: pushed(w, who, "dive:1", notes="calm"),
    "push: a signature": lambda w, who: bool(w.write(who, f"signoff:{next(w.numbers)}", **SIGNED)),
    "pull: what the owner shows": lambda w, who: pulled(w, who, w.shown),
    "pull: what the owner keeps": lambda w, who: pulled(w, who, w.kept),
    "snapshot: what the owner shows": lambda w, who: w.shown in w.ask(who, Snapshot(1)).records,
    "snapshot: what the owner keeps": lambda w, who: w.kept in w.ask(who, Snapshot(1)).records,
    "known: a change of the owner's by its id": lambda w, who: bool(
        w.ask(who, Known(1, (w.write("owner", "dive:9", notes="calm"),))).verdicts
    ),
    "give_back: the owner's record": given_back,
    "compare: the owner's records are counted": compared,
    "buckets: the owner's records are counted": bucketed,
    "listing: what the owner shows": lambda w, who: listed(w, who, w.shown),
    "listing: what the owner keeps": lambda w, who: listed(w, who, w.kept),
    "fetch: what the owner shows": lambda w, who: w.shown in w.ask(who, Fetch(1, (w.shown,))).records,
    "fetch: what the owner keeps": lambda w, who: w.kept in w.ask(who, Fetch(1, (w.kept,))).records,
    "blobs: whether the club has what is shown": lambda w, who: told_of(w, who, "shownpage:1"),
    "blobs: whether the club has what is kept": lambda w, who: told_of(w, who, "dive:1"),
    "put_blob: what a shown record names": lambda w, who: put(w, who, "shownpage:1"),
    "put_blob: what a kept record names": lambda w, who: put(w, who, "dive:1"),
    "get_blob: what a shown record names": lambda w, who: got(w, who, "shownpage:1", together=False),
    "get_blob: what a kept record names": lambda w, who: got(w, who, "dive:1", together=False),
    "put_blobs: what a shown record names": lambda w, who: put_together(w, who, "shownpage:1"),
    "put_blobs: what a kept record names": lambda w, who: put_together(w, who, "dive:1"),
    "get_blobs: what a shown record names": lambda w, who: got(w, who, "shownpage:1", together=True),
    "get_blobs: what a kept record names": lambda w, who: got(w, who, "dive:1", together=True),
    "devices: the owner's": devices_told,
    "revoke_device: one of the owner's": revoked,
}

EXAMPLES: dict[str, Request] = {
    "hello": Hello(1),
    "push": Push(1, 1, (SentChange(Change("x", 1, "", "dive:x", StampClock(1).stamp, {"n": 1}, {})),)),
    "pull": Pull(1, 0),
    "snapshot": Snapshot(1),
    "known": Known(1, ()),
    "give_back": GiveBack(1, {"/dive:1": {}}),
    "compare": Compare(1, 0, 0, "", "x", 0, 0),
    "buckets": Buckets(1, 0),
    "listing": Listing(1, 0, (0,)),
    "fetch": Fetch(1, ("/dive:1",)),
    "blobs": Blobs(("0" * 64,)),
    "put_blob": PutBlob("0" * 64, 0, 1, b"x"),
    "get_blob": GetBlob("0" * 64, 0),
    "put_blobs": PutBlobs((PutBlob("0" * 64, 0, 1, b"x"),)),
    "get_blobs": GetBlobs(("0" * 64,)),
    "devices": Devices(),
    "revoke_device": RevokeDevice(),
}


def rows() -> list[tuple[str, str, bool]]:
    heading, *lines = TABLE.strip("\n").splitlines()
    return [
        (line[:44].strip(), who, cell == "yes")
        for line in lines
        for who, cell in zip(heading.split(), line[44:].split(), strict=True)
    ]


@pytest.fixture(scope="module")
def world(tmp_path_factory) -> Iterator[World]:
    folder: Path = tmp_path_factory.mktemp("club")
    clubs = SqliteDatabase(folder / "clubs.sqlite")
    numbers = [found_club(clubs).number for _ in range(2)]
    homes = [
        ClubHome(folder / "home", database=SqliteDatabase(folder / "clubs.sqlite"), number=number)
        for number in numbers
    ]
    club, elsewhere = (ServedClub(home, rates=Rates(FREE, FREE, FREE)) for home in homes)
    elsewhere.joined("Zoe", "of another club")
    yield World(club, dict(_filled(club)))
    for home in homes:
        home.close()
    clubs.close()


def _filled(club: ServedClub) -> Iterator[tuple[str, str]]:
    members = {
        who: club.joined(who, who, **how)
        for who, how in {
            "owner": {}, "reader": {}, "writer": {}, "signer": {"signs_as": SignsAs.INSTRUCTOR}, "other": {},
            "officer": {"role": Role.OFFICER}, "admin": {"role": Role.ADMIN}, "removed": {}, "erased": {},
            "revoked": {},
        }.items()
    }  # fmt: skip
    named = {"readers": [members["reader"]], "writers": [members["writer"]]}
    for number, record in enumerate(("shownpage:1", "shownpage:2", "dive:1"), 900_001):
        club.push("owner", record, number, notes="calm", **named)
    with club.home.store.change():
        club.home.accounts.let_go(members["removed"], club.home.now_ms())
    club.home.erase(members["erased"])
    ((device, _),) = club.home.accounts.devices_of(members["revoked"])
    club.home.club.revoke(device)
    yield from members.items()


def test_every_operation_and_every_probe_has_its_row(world):
    paths = world.club.app.openapi()["paths"].values()
    operations = {each["operationId"] for path in paths for each in path.values()}
    asked = {what.partition(":")[0] for what, _, _ in rows()}
    assert operations == asked | OF_THE_MACHINE.keys()
    assert {what for what, _, _ in rows()} == PROBES.keys()
    assert EXAMPLES.keys() == ANSWER_TO.keys() - {"join"}
    assert {message_kinds()[name] for name in EXAMPLES} == {type(each) for each in EXAMPLES.values()}


@pytest.mark.parametrize(("what", "who", "may"), rows())
def test_who_belongs_to_the_club_may_what_the_table_says(world, what, who, may):
    assert PROBES[what](world, who) is may


@pytest.mark.parametrize("who", SHUT_OUT)
@pytest.mark.parametrize("name", EXAMPLES)
def test_who_does_not_speak_for_a_member_gets_no_answer(world, name, who):
    seq = world.seq()
    answer = world.ask(who, EXAMPLES[name])
    assert isinstance(answer, Refusal)
    assert answer.code == SHUT_OUT[who]
    assert world.seq() == seq


@pytest.mark.parametrize("who", ["owner", *SHUT_OUT])
def test_the_machine_answers_itself_and_of_its_health_everybody(world, who):
    secret = {"authorization": f"Bearer {token_of(who)}"}
    for address, status in (("127.0.0.1", 200), ("192.0.2.7", 403)):
        assert world.club.send("GET", "/metrics", address=address, **secret).status == status
        assert world.club.send("GET", "/health", address=address, **secret).status == 200

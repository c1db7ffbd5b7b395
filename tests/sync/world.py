"""A world of divers' devices, a club and a bad network, in which one seed is one story.

Nothing here waits or draws a number of its own: one `random.Random` decides what happens next, a number
stands for every clock, and messages travel as bytes from one function to another, for as long as there
is trouble and in every fourth world to the end. What happens:

    divers    write, share, delete, bring back, choose between two sides, let go what was refused, pass a
              file to their other device, sign off, get a new app
    network   loses a request or its answer, cuts an answer anywhere, delivers a request twice, or late
    power     goes at the end of any transaction, on a device or in the club, before or after it is kept
    devices   jump in time by up to twenty years, are restored, cloned, wiped, revoked, and lose a row
    the club  is restored from a backup, erases a member, tidies up after a year, asks for a newer app

Conversations of several devices run into each other message by message. `quiet` ends all trouble, lets
every device talk until nothing moves, and then nothing may be amiss: see `checks.py`.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from random import Random
from typing import Any

from logbook_app.dive.problems import RefusedMessage
from logbook_app.sync import messages
from logbook_app.sync.bundle import bundle_of, bundle_to_bytes, parse_bundle, take_in
from logbook_app.sync.changes import Change, kind_of, owner_of
from logbook_app.sync.conversation import Conversation, Outcome
from logbook_app.sync.device_store import DeviceState, Standing
from logbook_app.sync.merging import NO_RECORD, Record, conflicts_of, is_deleted, value_of
from logbook_app.sync.own_changes import begin_anew, seen_record, write
from logbook_app.sync.records import SIGNED_FIELDS
from server.deciding import HORIZON_MS, Club
from server.memory_club import MemoryClub, MemoryLedger
from server.permissions import Caller
from tests.sync.memory_device import MemoryDevice, PowerCut, Tables

DAY_MS = 86_400_000
START_MS = 1_950_000_000_000
MEMBERS = ("ada", "bo", "cy", "dee")
INSTRUCTORS = frozenset({"ada"})
ROUNDS_OF_QUIET = 25
LARGEST_PART = 16


def knows(record: Record, name: str, change_id: str) -> bool:
    """Return whether a change is current in a field, kept beside, or known to be replaced."""
    known = record.get(name)
    return known is not None and (
        change_id in known.past or any(edit.change == change_id for edit in known.heads)
    )


class NoAnswer(Exception):
    """The network swallowed something; the caller cannot know what."""


class CrashingClub(MemoryClub):
    """A club whose machine may stop at the end of any transaction."""

    def __init__(self, power: Callable[[], str], tables: Any = None) -> None:
        super().__init__(tables)
        self._power = power

    def transaction(self):
        return super().change()

    @contextmanager
    def change(self):
        with self.transaction():
            yield
            cut = self._power()
            if cut == "before":
                raise PowerCut
        if cut:
            raise PowerCut


@dataclass
class Phone:
    """One device in somebody's hand."""

    store: MemoryDevice
    id: str
    member: str
    joined: bool = True
    skew_ms: int = 0
    schema: int = 1
    talk: Any = None
    request: Any = None
    conversation: Conversation | None = None
    outcomes: list[Outcome] = field(default_factory=list)

    @property
    def gone(self) -> bool:
        return bool(self.outcomes) and self.outcomes[-1].ended == "account_gone"


class World:
    """What a seed holds.

    kept_in   the club's store; one that crashes, for all but the tests of stores
    device    the store of each device
    """

    def __init__(
        self,
        seed: int,
        kept_in: type[CrashingClub] = CrashingClub,
        device: Callable[[Tables, Callable[[], str]], MemoryDevice] = MemoryDevice,
    ) -> None:
        self.random, self._kept_in, self._device = Random(seed), kept_in, device
        self.now_ms = START_MS
        self.calm = False
        self.always_bytes = seed % 4 == 0  # the others save a third of the time once there is no trouble
        self.happened: Counter[str] = Counter()
        self.ledger = MemoryLedger()
        self.club = self._club(kept_in(self._power("the club stopped", 0.02)))
        self.backups: list[Any] = []
        self.phones: list[Phone] = []
        self.phone_backups: list[tuple[Phone, Tables]] = []
        self.late: list[tuple[bytes, Phone]] = []
        self.made: dict[str, tuple[str, Change]] = {}  # id -> author, change
        self.acknowledged: dict[str, str] = {}  # id -> author
        self.holders: dict[str, set[str]] = {}  # id -> devices of the owner that could give it back
        self.unfaithful: list[str] = []
        self.overheard: list[str] = []
        self.revoked: set[str] = set()
        self.deleted_at: dict[str, int] = {}
        self.removed_early: list[str] = []
        self.counted = 0
        self.least_schema = 1
        self.rots = self.random.random() < 0.15
        self.rotted = 0
        self.restores = 0
        # Every world has troubles of its own: what never meets in an average one meets in one of many.
        self.weights = [weight * self.random.choice((0.25, 1, 1, 4)) for _, weight in EVENTS]
        for _ in range(self.random.randint(2, 5)):
            self._new_phone(self.random.choice(MEMBERS[: self.random.randint(2, 4)]))

    # The parts of the world

    def _club(self, store: CrashingClub) -> Club:
        self.club_store = store
        return Club(store, self.ledger, largest_part=LARGEST_PART)

    def _power(self, what: str, chance: float) -> Callable[[], str]:
        def power() -> str:
            if self.calm or self.random.random() >= chance:
                return ""
            self.happened[what] += 1
            return self.random.choice(("before", "after"))

        return power

    def _new_name(self, stem: str) -> str:
        self.counted += 1
        return f"{stem}{self.counted}"

    def _new_phone(self, member: str, tables: Tables | None = None) -> Phone:
        power = self._power("a device stopped", 0.04)
        tables = tables or Tables(DeviceState(self._new_name("o")))
        phone = Phone(self._device(tables, power), self._new_name("d"), member)
        phone.joined = self.random.random() < 0.7 or bool(tables.state.member)
        self.phones.append(phone)
        return phone

    def clock_of(self, phone: Phone) -> int:
        return max(0, self.now_ms + phone.skew_ms)

    # One step

    def step(self) -> None:
        self.now_ms += self.random.choice((1, 40, 1_000, 60_000, 3_600_000, DAY_MS))
        phone = self.random.choice(self.phones)
        if phone.gone:
            return
        event, _ = self.random.choices(EVENTS, self.weights)[0]
        try:
            event(self, phone)
        except PowerCut:
            self._hang_up(phone)
        if self.random.random() < 0.1 and not phone.gone:
            self._own_changes_show(phone)

    def run(self, steps: int) -> None:
        for _ in range(steps):
            self.step()

    # What divers do

    def visible(self, phone: Phone) -> dict[str, Record]:
        """Return the records that a device shows, by their keys."""
        state = phone.store.state()
        own = {own.change.key(state.member) for own in phone.store.tables.own.values()}
        carried = {f"{state.member}/{name}" for name in phone.store.carried()}
        keys = sorted({*phone.store.decided_keys(), *own, *carried})
        return {key: record for key in keys if (record := seen_record(phone.store, key))}

    def _live(self, phone: Phone) -> dict[str, Record]:
        return {key: record for key, record in self.visible(phone).items() if not is_deleted(record)}

    def _own_live(self, phone: Phone) -> list[str]:
        return [key for key in self._live(phone) if owner_of(key) == phone.store.state().member]

    def _write(self, phone: Phone, key: str, fields: dict[str, Any], *, chooses: bool = False) -> None:
        now_ms, seen = self.clock_of(phone), seen_record(phone.store, key)
        change = None
        try:
            with phone.store.change():
                change = write(phone.store, key, fields, now_ms, chooses=chooses, schema=phone.schema)
        finally:
            if change and phone.store.own(change.id):
                self.made[change.id] = (phone.member, change)
                if not chooses:
                    self._note_unfaithful(seen, change)

    def _note_unfaithful(self, seen: Record, change: Change) -> None:
        """An edit that claims to have seen the side of a conflict that was not shown."""
        for conflict in conflicts_of(seen):
            others = {edit.change for edit in conflict.others}
            if conflict.name != "deleted" and others & set(change.saw.get(conflict.name, ())):
                self.unfaithful.append(change.id)

    def _own_changes_show(self, phone: Phone) -> None:
        """What a diver did to records of one's own shows from that moment on."""
        member, shown = phone.store.state().member, self.visible(phone)
        for own in phone.store.tables.own.values():
            key = own.change.key(member)
            settled = own.standing not in (Standing.WAITING, Standing.ACCEPTED)
            if settled or owner_of(key) != member or self.rots or self.ledger.removed(key):
                continue
            record = shown.get(key, NO_RECORD)
            if not all(knows(record, name, own.change.id) for name in own.change.fields):
                self.unfaithful.append(f"{own.change.id} does not show on {phone.id}")

    def _enter(self, phone: Phone) -> None:
        """A new dive; sometimes one that another device or diver reads from the same file."""
        same_file = self.random.random() < 0.3
        name = f"shownpage:f{self.random.randint(1, 3)}" if same_file else self._new_name(self._kind())
        fields: dict[str, Any] = {"depth": 18.5, "notes": self._new_name("n")}
        if self.random.random() < 0.4:
            fields |= self._sharing()
        if self.random.random() < 0.3:
            blob = self._new_name("samples").encode() * self.random.choice((1, 4, 9))
            sha256 = hashlib.sha256(blob).hexdigest()
            phone.store.keep_blob(sha256, blob)
            fields["recordings"] = [{"profile_sha256": sha256}]
        self._write(phone, f"{phone.store.state().member}/{name}", fields)

    def _kind(self) -> str:
        """Most may be shown to others; some are of a kind that nobody else sees, whoever they name."""
        return "dive:" if self.counted % 5 == 0 else "shownpage:"

    def _sharing(self) -> dict[str, Any]:
        names = [*MEMBERS, "*"]
        return {
            name: sorted(self.random.sample(names, self.random.randint(0, 2)))
            for name in self.random.choice((("readers",), ("writers",), ("readers", "writers")))
        }

    def _edit(self, phone: Phone) -> None:
        if live := self._live(phone):
            names = ["notes", "depth", "buddies", "tide"][: 2 + 2 * (phone.schema > 1)]
            fields = {
                name: self._new_name("v") for name in self.random.sample(names, self.random.randint(1, 2))
            }
            self._write(phone, self.random.choice(list(live)), fields)

    def _delete(self, phone: Phone) -> None:
        if live := self._own_live(phone):
            self._write(phone, self.random.choice(live), {"deleted": True})

    def _bring_back(self, phone: Phone) -> None:
        gone = [key for key, record in self.visible(phone).items() if is_deleted(record)]
        if gone:
            self._write(phone, self.random.choice(gone), {"deleted": False})

    def _share(self, phone: Phone) -> None:
        if live := self._own_live(phone):
            self._write(phone, self.random.choice(live), self._sharing())

    def _choose(self, phone: Phone) -> None:
        for key, record in self._live(phone).items():
            for conflict in conflicts_of(record):
                value = self.random.choice((conflict.shown, *conflict.others)).value
                self.happened["a conflict was resolved"] += 1
                return self._write(phone, key, {conflict.name: value}, chooses=True)
        return None

    def _spoil(self, phone: Phone) -> None:
        """A change that no club takes, from an app with an error in it."""
        if live := self._live(phone):
            self._write(phone, self.random.choice(list(live)), {"readers": self._new_name("not a list")})

    def _let_go(self, phone: Phone) -> None:
        """The diver has dealt with a change that the club refused."""
        refused = [own for own in phone.store.tables.own.values() if own.standing in messages.Verdict.REFUSED]
        if refused:
            own = self.random.choice(refused)
            with phone.store.change():
                phone.store.put_own(replace(own, standing=f"{Standing.LET_GO}{own.standing}"))
            self.happened["a refused change was let go"] += 1

    def _sign_off(self, phone: Phone) -> None:
        signed = [key for key in self._own_live(phone) if kind_of(key) == "signoff"]
        if signed and self.random.random() < 0.4:
            return self._write(phone, self.random.choice(signed), {"what": self._new_name("w")})
        whom = self.random.choice(MEMBERS)
        fields = dict.fromkeys(sorted(SIGNED_FIELDS), self._new_name("w")) | {"readers": [whom]}
        return self._write(phone, f"{phone.store.state().member}/{self._new_name('signoff:')}", fields)

    def _pass_a_file(self, phone: Phone) -> None:
        sisters = [each for each in self.phones if each.member == phone.member and each is not phone]
        if not sisters or phone.talk:
            return
        sister = self.random.choice(sisters)
        data = bundle_to_bytes(bundle_of(sister.store, sister.store.tables.blobs))
        take_in(phone.store, parse_bundle(data))
        self.happened["a file was passed on"] += 1

    # Talking to the club

    def _talk(self, phone: Phone) -> None:
        if not phone.joined:
            phone.joined = self.random.random() < 0.2
        elif phone.talk is None:
            self._call(phone)
        else:
            for _ in range(self.random.choice((1, 1, 2, 30))):
                if phone.talk is None:
                    return
                self._advance(phone)

    def _call(self, phone: Phone) -> None:
        page = 500 if self.calm else self.random.choice((1, 2, 3, 500))
        phone.conversation = Conversation(
            phone.store,
            lambda: self.clock_of(phone),
            lambda: self._new_name("o"),
            schema=phone.schema,
            page=page,
            part=LARGEST_PART,
        )
        phone.talk = phone.conversation.run()
        phone.request = next(phone.talk)

    def _hang_up(self, phone: Phone) -> None:
        phone.talk = phone.request = phone.conversation = None

    def _advance(self, phone: Phone) -> None:
        talk = phone.talk
        try:
            if self.calm and not self.always_bytes:
                reply = self._answer(phone.request, phone)
            else:
                reply = messages.parse_reply(self._over_the_network(messages.to_wire(phone.request), phone))
            self._note_acknowledged(phone, reply)
            phone.request = talk.send(reply)
        except StopIteration as done:
            self._hang_up(phone)
            phone.outcomes.append(done.value)
            if done.value.ended == "account_gone":
                phone.store.tables = Tables(phone.store.state())
        except (NoAnswer, PowerCut, RefusedMessage):
            self._hang_up(phone)

    def _note_acknowledged(self, phone: Phone, reply: Any) -> None:
        if isinstance(reply, messages.Pushed):
            for judged in reply.verdicts:
                if judged.verdict == "accepted":
                    self.acknowledged[judged.change] = phone.member

    def _over_the_network(self, data: bytes, phone: Phone) -> bytes:
        if self.calm:
            return self.ask(data, phone)
        chance = self.random.random()
        if chance < 0.03:
            self.happened["a request was lost"] += 1
            raise NoAnswer
        if chance < 0.05:
            self.happened["a request was held up"] += 1
            self.late.append((data, phone))
            raise NoAnswer
        answer = self.ask(data, phone)
        if chance < 0.08:
            self.happened["a request came twice"] += 1
            answer = self.ask(data, phone)
        if chance > 0.98:
            self.happened["an answer was lost"] += 1
            raise NoAnswer
        if chance > 0.95:
            self.happened["an answer was cut"] += 1
            return answer[: self.random.randrange(len(answer))]
        return answer

    def ask(self, data: bytes, phone: Phone) -> bytes:
        return messages.to_wire(self._answer(messages.parse_request(data), phone))

    def _answer(self, request: Any, phone: Phone) -> Any:
        signing = ("instructor", frozenset("*")) if phone.member in INSTRUCTORS else ()
        caller = Caller(phone.member, phone.id, self.now_ms, *signing)
        answer = self.club.answer(request, caller)
        if phone.id in self.revoked and not isinstance(answer, messages.Refusal):
            self.overheard.append(f"{phone.id} was shut out and is answered")
        self._note_seen(answer, phone.member)
        self._note_deleted()
        return answer

    def _note_deleted(self) -> None:
        records = self.club_store.tables.records
        deleted = [key for key, record in records.items() if is_deleted(record)]
        self.deleted_at = {key: self.deleted_at.get(key, self.now_ms) for key in deleted}

    def _note_seen(self, answer: Any, member: str) -> None:
        """What a member was shown that is neither theirs nor shared with them, worked out from the record."""
        shown = set(answer.records) if isinstance(answer, messages.Records) else set()
        if isinstance(answer, messages.Pulled):
            shown |= {event.key for event in answer.events if event.change or event.record}
        for key in shown:
            record = self.club_store.record(key)
            private = kind_of(key) == "dive"
            named = [] if private else [*value_of(record, "readers", []), *value_of(record, "writers", [])]
            if member != owner_of(key) and not {member, "*"} & set(named):
                self.overheard.append(f"{member} was shown {key}")

    def _deliver_late(self, _: Phone) -> None:
        if self.late:
            data, sender = self.late.pop(self.random.randrange(len(self.late)))
            self.happened["a request came late"] += 1
            self.ask(data, sender)

    # What happens to devices

    def _jump(self, phone: Phone) -> None:
        self.happened["a clock jumped"] += 1
        far = 20 * 365 * DAY_MS
        near = self.random.randint(-600_000, 600_000)
        phone.skew_ms = self.random.choice((0, 0, -3_600_000, 3_600_000, -far, far, near))

    def _back_up_phone(self, phone: Phone) -> None:
        self.phone_backups.append((phone, phone.store.tables.copied()))

    def _restore_phone(self, phone: Phone) -> None:
        kept = [each for each in self.phone_backups if not each[0].gone and each[0] in self.phones]
        if kept:
            phone, tables = self.random.choice(kept)
            self._hang_up(phone)
            self._no_holder(phone)
            phone.store.tables = tables.copied()
            self.happened["a device was restored"] += 1

    def _no_holder(self, phone: Phone) -> None:
        for holders in self.holders.values():
            holders.discard(phone.id)

    def _clone_phone(self, phone: Phone) -> None:
        if len(self.phones) < 8:
            twin = self._new_phone(phone.member, phone.store.tables.copied())
            twin.joined, twin.schema, twin.skew_ms = phone.joined, phone.schema, phone.skew_ms
            self.happened["a device was cloned"] += 1

    def _wipe_phone(self, phone: Phone) -> None:
        self._hang_up(phone)
        self._no_holder(phone)
        phone.store.tables = Tables(DeviceState(self._new_name("o")))
        phone.id, phone.joined = self._new_name("d"), True
        self.happened["a device was wiped"] += 1

    def _revoke_phone(self, phone: Phone) -> None:
        with self._served_again():
            self.club.revoke(phone.id)
        self.revoked.add(phone.id)
        self.happened["a device was revoked"] += 1

    def pair_again(self, phone: Phone) -> None:
        """A device that the club does not hear any more gets a new token, and keeps what it has."""
        if phone.outcomes and phone.outcomes[-1].ended in ("revoked", "retired"):
            old, phone.id = phone.id, self._new_name("d")
            for holders in self.holders.values():
                if old in holders:
                    holders.add(phone.id)
            begin_anew(phone.store)
            self.happened["a device was paired again"] += 1

    def _update_app(self, phone: Phone) -> None:
        self._hang_up(phone)
        phone.schema = 2

    def _rot(self, phone: Phone) -> None:
        decided = phone.store.tables.decided
        if self.rots and decided and not phone.talk:
            key = self.random.choice(sorted(decided))
            whole = dict(decided[key])
            del whole[self.random.choice(sorted(whole))]
            phone.store.put_decided(key, self.random.choice((whole, NO_RECORD)))
            self.rotted += 1
            self.happened["a row was lost"] += 1

    # What happens to the club

    def _back_up_club(self, _: Phone) -> None:
        self.backups.append(self.club_store.tables.copied())

    def _restore_club(self, _: Phone) -> None:
        if self.backups:
            self._note_who_can_give_back()
            tables = self.random.choice(self.backups).copied()
            self.club = self._club(self._kept_in(self._power("the club stopped", 0.02), tables))
            with self._without_trouble():
                self.club.begin_epoch(self.now_ms)
                self.club.require_schema(self.least_schema)
            self.deleted_at = {}
            self._note_deleted()
            self.restores += 1
            self.happened["the club was restored"] += 1

    def _disaster(self, phone: Phone) -> None:
        """All is well and sent; then a device is lost, and the club comes back from an old backup."""
        with self._without_trouble():
            for each in self.phones:
                if each.joined and not each.gone:
                    self._hang_up(each)
                    self._talk_to_the_end(each)
        if self.random.random() < 0.5:
            self._wipe_phone(phone)
        self._restore_club(phone)

    def _note_who_can_give_back(self) -> None:
        for change_id, author in self.acknowledged.items():
            change = self.made[change_id][1]
            key = change.key(author)
            for phone in self.phones:
                record = phone.store.decided(key)
                field = record.get(next(iter(change.fields)))
                knows = field and any(edit.change == change_id for edit in field.heads)
                if knows and phone.store.state().member == owner_of(key):
                    self.holders.setdefault(change_id, set()).add(phone.id)

    @contextmanager
    def _without_trouble(self):
        calm, self.calm = self.calm, True
        yield
        self.calm = calm

    @contextmanager
    def _served_again(self):
        """What an officer does may be cut off by the power as well; the club is served again then."""
        try:
            yield
        except PowerCut:
            with self._without_trouble():
                self.club.catch_up()

    def _tidy(self, _: Phone) -> None:
        self.now_ms += self.random.choice((0, 0, HORIZON_MS + DAY_MS))
        before = set(self.ledger.removed_keys())
        with self._served_again():
            self.club.tidy(self.now_ms)
        for key in set(self.ledger.removed_keys()) - before:
            if self.deleted_at.get(key, 0) > self.now_ms - HORIZON_MS:
                self.removed_early.append(key)
        self.happened["the club tidied up"] += 1

    def _erase(self, phone: Phone) -> None:
        if not self.ledger.erased_members():
            with self._served_again():
                self.club.erase(phone.member)
            self.happened["a member was erased"] += 1

    def _require_schema(self, _: Phone) -> None:
        self.least_schema = 2
        with self._without_trouble():
            self.club.require_schema(2)
        self.happened["the club asked for a newer app"] += 1

    # The end

    def quiet(self) -> None:
        """End all trouble and let every device talk until nothing moves."""
        self.calm = True
        self.late.clear()
        for phone in self.phones:
            phone.skew_ms, phone.joined, phone.schema = 0, True, 2
            self._hang_up(phone)
        for _ in range(ROUNDS_OF_QUIET):
            before = self._where_all_are()
            for phone in self.phones:
                if not phone.gone:
                    self._talk_to_the_end(phone)
            if before == self._where_all_are():
                return

    def _talk_to_the_end(self, phone: Phone) -> None:
        self.now_ms += 1_000
        self.pair_again(phone)
        self._call(phone)
        while phone.talk is not None:
            self._advance(phone)

    def _where_all_are(self) -> Any:
        state = self.club_store.state()
        waiting = [len(each.store.own_standing(Standing.WAITING, 0, 10**6)) for each in self.phones]
        cursors = [(each.store.state().epoch, each.store.state().cursor, each.id) for each in self.phones]
        blobs = [len(each.store.tables.blobs) for each in self.phones]
        agree = [
            each.outcomes and (each.outcomes[-1].ended, each.outcomes[-1].counts_agree)
            for each in self.phones
        ]
        return state.seq, state.epoch, waiting, cursors, blobs, len(self.club_store.tables.blobs), agree


EVENTS: tuple[tuple[Callable[[World, Phone], None], float], ...] = (
    (World._enter, 12),
    (World._edit, 22),
    (World._delete, 3),
    (World._bring_back, 2),
    (World._share, 4),
    (World._choose, 6),
    (World._spoil, 1),
    (World._let_go, 2),
    (World._sign_off, 2),
    (World._pass_a_file, 2),
    (World._talk, 50),
    (World._deliver_late, 2),
    (World._jump, 3),
    (World._back_up_phone, 1.5),
    (World._restore_phone, 1),
    (World._clone_phone, 0.7),
    (World._wipe_phone, 0.4),
    (World._revoke_phone, 0.5),
    (World.pair_again, 2),
    (World._update_app, 1),
    (World._rot, 4),
    (World._back_up_club, 3),
    (World._restore_club, 1.5),
    (World._disaster, 0.8),
    (World._tidy, 1.2),
    (World._erase, 0.4),
    (World._require_schema, 0.3),
)

"""What the club decides: who may write what, who gets to see it, and in which order it happened.

No network and no database: a request comes in as a value, an answer goes out as one, and what has to
be kept goes through the few methods of `club_store.ClubStore`. One request is one transaction, and
may come twice: the second time it finds itself done.

The rules, and what each is there for:

- *A change is known by its id.* Sent again, it gets the verdict it had.
- *One refused change holds nothing up.* Every change has a verdict of its own.
- *The owner decides.* Owners write everything of their records, writers all but who may see it and
  whether it is deleted, readers nothing. Sign-offs are written by instructors and never rewritten.
- *Who loses sight of a record is told to forget it, who gains it gets the whole of it.* Both are lines
  of the log, and outlive the record.
- *After a restore, owners are waited for.* An edit of somebody else's record that is not there, or that
  may not be written any more, was perhaps accepted once, and what it rests on was lost with the database.
  It is put off for as long as its owner may still bring that back. What was removed for good is in the
  ledger.
- *The log has one order*: its numbers are given out within the transaction.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any, Final

from logbook_app.sync.changes import (
    EVERYBODY,
    Change,
    canonical,
    kept_change,
    owner_of,
    with_change,
)
from logbook_app.sync.hash_tree import Tree, bucket_of, tree_of
from logbook_app.sync.merging import (
    NO_RECORD,
    NOTHING,
    Field,
    Record,
    knows_all_of,
    merged,
    merged_fields,
)
from logbook_app.sync.messages import (
    LARGEST_CHANGE,
    LARGEST_PART,
    Blobs,
    BucketDigests,
    Buckets,
    Code,
    Compare,
    Compared,
    Event,
    Fetch,
    GetBlob,
    GetBlobs,
    GiveBack,
    Hello,
    Judged,
    Known,
    Listed,
    Listing,
    Pull,
    Pulled,
    Push,
    Pushed,
    PutBlob,
    PutBlobs,
    Records,
    Refusal,
    Remembered,
    Reply,
    Request,
    SentChange,
    Snapshot,
    Verdict,
    Welcome,
)
from logbook_app.sync.stamps import settled
from logbook_app.sync.wire import to_json
from server.club_blobs import ClubBlobs
from server.club_store import ClubStore, Device, Ledger, Line, Seen
from server.permissions import OWNERS_ALONE, Caller, audience_of, may_write, well_formed

HORIZON_MS: Final = 400 * 86_400_000  # a season and a half: longer than a phone lies in a drawer
GRACE_MS: Final = 60 * 86_400_000  # after a restore, for owners to bring back what was lost
SEEN_AGAIN_MS: Final = 3_600_000
LARGEST_PAGE: Final = 2**20


class Club:
    """One club's rules over its store.

    ledger         what no backup may undo
    largest_part   of a blob, in one answer [bytes]
    """

    def __init__(self, store: ClubStore, ledger: Ledger, *, largest_part: int = LARGEST_PART) -> None:
        self._store, self._ledger = store, ledger
        blobs = ClubBlobs(store, largest_part)
        self._answers: dict[type[Any], Callable[[Any, Caller], Reply]] = {
            Hello: self._welcome,
            Push: self._push,
            Pull: self._pull,
            Snapshot: self._snapshot,
            Known: self._known,
            GiveBack: self._take_back,
            Compare: self._compare,
            Buckets: self._buckets,
            Listing: self._listing,
            Fetch: self._fetch,
            Blobs: blobs.wanted,
            PutBlob: blobs.put,
            GetBlob: blobs.get,
            PutBlobs: blobs.put_many,
            GetBlobs: blobs.get_many,
        }

    def answer(self, request: Request, caller: Caller) -> Reply:
        """Answer one request, in one transaction."""
        with self._store.change():
            answer = self._answers.get(type(request), _not_here)
            return self._refusal(request, caller) or answer(request, caller)

    def refusal(self, caller: Caller) -> Refusal | None:
        """Return why this caller gets no answer, None where there is one."""
        with self._store.change():
            return self._refusal(None, caller)

    def _refusal(self, request: Request | None, caller: Caller) -> Refusal | None:
        if self._ledger.erased(caller.member):
            return Refusal(Code.ACCOUNT_GONE)
        device = self._store.device(caller.device)
        if device and device.standing:
            return Refusal(device.standing)
        if device is None or device.seen_ms < caller.now_ms - SEEN_AGAIN_MS:
            self._store.put_device(Device(caller.device, caller.member, caller.now_ms))
        epoch = getattr(request, "epoch", None)
        return Refusal(Code.OTHER_EPOCH) if epoch not in (None, self._store.state().epoch) else None

    def _welcome(self, hello: Hello, caller: Caller) -> Reply:
        state = self._store.state()
        same = hello.at is not None and self._stands_at(hello.at, caller)
        return Welcome(caller.now_ms, state.epoch, state.least_schema, caller.member, same)

    def _stands_at(self, at: Compare, caller: Caller) -> bool:
        if at.epoch != self._store.state().epoch:
            return False
        answer = self._compare(at, caller)
        return isinstance(answer, Compared) and answer.same and not answer.gap

    # Changes

    def _push(self, push: Push, caller: Caller) -> Reply:
        state = self._store.state()
        if push.schema < state.least_schema:
            return Refusal(Code.TOO_OLD)
        twin = any(map(self._has_a_twin, push.changes))
        verdicts = tuple(self._judge(sent, caller) for sent in push.changes)
        return Pushed(state.epoch, verdicts, twin)

    def _has_a_twin(self, sent: SentChange) -> bool:
        change = sent.change
        return self._store.seen(change.id) is None and self._store.number_taken(change.origin, change.number)

    def _judge(self, sent: SentChange, caller: Caller) -> Judged:
        change = sent.change
        if seen := self._store.seen(change.id):
            return Judged(change.id, seen.verdict, seen.stamp, seen.seq)
        verdict = self._verdict(change, caller)
        if verdict != Verdict.ACCEPTED and self._owner_may_come_back(sent, caller):
            verdict = Verdict.LATER
        if verdict == Verdict.LATER:
            return Judged(change.id, verdict)
        stamp = self._accept(change, sent.settled, caller) if verdict == Verdict.ACCEPTED else ""
        seq = self._store.state().seq
        self._store.put_seen(Seen(change.id, verdict, stamp, seq))
        return Judged(change.id, verdict, stamp, seq)

    def _verdict(self, change: Change, caller: Caller) -> str:
        key = change.key(caller.member)
        if not change.fields or len(canonical(to_json(change))) > LARGEST_CHANGE or not well_formed(change):
            return Verdict.INVALID
        if self._ledger.removed(key) or self._ledger.erased(owner_of(key)):
            return Verdict.GONE
        record = self._store.record(key)
        if owner_of(key) != caller.member and not record:
            return Verdict.GONE
        if _holds(record, change) or may_write(caller, key, record, change.fields):
            return Verdict.ACCEPTED
        return Verdict.DENIED

    def _owner_may_come_back(self, sent: SentChange, caller: Caller) -> bool:
        """Return whether this was accepted once, of a record that a restore may have set back."""
        key, restored_ms = sent.change.key(caller.member), self._store.state().restored_ms
        removed = self._ledger.removed(key) or self._ledger.erased(owner_of(key))
        lately = restored_ms and caller.now_ms < restored_ms + GRACE_MS
        return bool(lately and not removed and owner_of(key) != caller.member and well_formed(sent.change))

    def _accept(self, change: Change, settled_stamp: str, caller: Caller) -> str:
        key, state = change.key(caller.member), self._store.state()
        stamp, clock = settled(settled_stamp or change.stamp, state.clock, caller.now_ms)
        self._store.put_state(replace(state, clock=clock))
        record, audience = self._store.record(key), self._store.audience(key)
        self._keep(key, with_change(record, change, stamp), caller.now_ms)
        self._append(
            key, change=change.id, author=caller.member, stamp=stamp, content=canonical(to_json(change))
        )
        if record:  # a new one comes whole with its first change
            self._tell_audience(key, audience)
        return stamp

    def _keep(self, key: str, record: Record, now_ms: int) -> None:
        self._store.put_record(key, record, audience_of(key, record), now_ms)

    def _tell_audience(self, key: str, before: frozenset[str]) -> None:
        if moved := before ^ self._store.audience(key):
            self._append(key, audience=moved)

    def _append(self, key: str, **told: Any) -> None:
        state = replace(self._store.state(), seq=self._store.state().seq + 1)
        self._store.put_state(state)
        self._store.append(Line(state.seq, key, **told))

    def _known(self, known: Known, _caller: Caller) -> Reply:
        seen = {change: self._store.seen(change) for change in known.changes}
        verdicts = [
            Judged(found.change, found.verdict, found.stamp, found.seq) for found in seen.values() if found
        ]
        unknown = [change for change, found in seen.items() if found is None]
        return Remembered(known.epoch, tuple(verdicts), tuple(unknown))

    def _take_back(self, given: GiveBack, caller: Caller) -> Reply:
        """Merge what its owner still has of records that a restored backup lacks."""
        for key, fields in given.records.items():
            if self._may_return(key, caller):
                self._merge_whole(key, fields, caller)
        here = {key: self._store.record(key) for key in given.records if self._may_see(key, caller)}
        return Records(given.epoch, self._store.state().seq, here)

    def _may_return(self, key: str, caller: Caller) -> bool:
        return owner_of(key) == caller.member and not self._ledger.removed(key)

    def _merge_whole(self, key: str, fields: Record, caller: Caller) -> None:
        record, audience = self._store.record(key), self._store.audience(key)
        taken = self._settled(fields, caller.now_ms)
        if not may_write(caller, key, record, taken):
            taken = {name: field for name, field in taken.items() if name in OWNERS_ALONE}
        if not may_write(caller, key, record, taken):
            return
        if knows_all_of(record, taken):
            return
        self._keep(key, merged(record, taken), caller.now_ms)
        self._append(key, audience=audience | self._store.audience(key))

    def _settled(self, fields: Record, now_ms: int) -> Record:
        """Return what comes back under stamps that are not ahead, in the order that it had.

        A club whose own clock was wrong for a day gave stamps of that day; its divers were told that it
        has these edits.
        """
        state, taken = self._store.state(), {}
        clock = state.clock
        for name, field in fields.items():
            heads = []
            for edit in reversed(field.heads):
                stamp, clock = settled(edit.stamp, clock, now_ms)
                heads.append(replace(edit, stamp=stamp))
            taken[name] = merged_fields(NOTHING, Field(tuple(heads), field.past))
        self._store.put_state(replace(state, clock=clock))
        return taken

    # What a member gets to see

    def _may_see(self, key: str, caller: Caller) -> bool:
        return bool(self._store.audience(key) & {caller.member, EVERYBODY})

    def _pull(self, pull: Pull, caller: Caller) -> Reply:
        state = self._store.state()
        if pull.since < state.floor or pull.since > state.seq:
            return Refusal(Code.RESYNC)
        lines = self._store.lines(pull.since, pull.limit)
        events: list[Event] = []
        told, reached = 0, pull.since
        for line in lines:
            reached = line.seq
            if event := self._event(line, caller):
                events.append(event)
                told += len(line.content) or len(canonical(to_json(event)))
            if told > LARGEST_PAGE:
                break
        return Pulled(state.epoch, tuple(events), reached, reached < state.seq)

    def _event(self, line: Line, caller: Caller) -> Event | None:
        sees = self._may_see(line.key, caller)
        if line.change:
            return Event(line.key, kept_change(line.content), line.stamp) if sees else None
        if not line.audience & {caller.member, EVERYBODY}:
            return None
        return Event(line.key, record=self._store.record(line.key)) if sees else Event(line.key)

    def _snapshot(self, asked: Snapshot, caller: Caller) -> Reply:
        keys = self._store.visible(caller.member, asked.after, asked.limit)
        page, told = [], 0
        for key in keys:
            page.append(key)
            told += len(canonical(to_json(self._store.record(key))))
            if told > LARGEST_PAGE:
                break
        return self._records(page, more=len(keys) == asked.limit or len(page) < len(keys))

    def _fetch(self, asked: Fetch, caller: Caller) -> Reply:
        return self._records([key for key in asked.keys if self._may_see(key, caller)])

    def _records(self, keys: Iterable[str], *, more: bool = False) -> Records:
        state = self._store.state()
        return Records(state.epoch, state.seq, {key: self._store.record(key) for key in keys}, more)

    # Comparing

    def _compare(self, asked: Compare, caller: Caller) -> Reply:
        if asked.seq != self._store.state().seq:
            return Refusal(Code.MOVED)
        tree = self._tree(caller)
        gap = self._store.numbers(asked.origin, asked.number) < asked.sent
        return Compared((tree.count, tree.root) == (asked.count, asked.root), tree.count, gap)

    def _tree(self, caller: Caller) -> Tree:
        return tree_of(self._store.digests(caller.member))

    def _buckets(self, asked: Buckets, caller: Caller) -> Reply:
        if asked.seq != self._store.state().seq:
            return Refusal(Code.MOVED)
        return BucketDigests({str(bucket): digest for bucket, digest in self._tree(caller).buckets.items()})

    def _listing(self, asked: Listing, caller: Caller) -> Reply:
        if asked.seq != self._store.state().seq:
            return Refusal(Code.MOVED)
        wanted = set(asked.buckets)
        digests = self._store.digests(caller.member)
        return Listed({key: digest for key, digest in digests if bucket_of(key) in wanted})

    # What the club's officers do

    def erase(self, member: str) -> None:
        """Take away a member with every record of theirs, for good."""
        self._ledger.write_erased(member)
        with self._store.change():
            for key in self._store.keys_of(member):
                self._drop(key)
            self._store.drop_blobs_without_record()

    def tidy(self, now_ms: int) -> None:
        """Remove what has been deleted for longer than the horizon, and cut the log where all have read.

        The horizon counts from when the club heard of a deletion: its stamp may be from a clock in 1970.
        It begins anew with a restore, since what was lost with the database may have brought a record back.
        A device that was away for longer than that may not go on from where it was: it is retired,
        and gets everything anew when it is paired again.
        """
        with self._store.change():
            horizon_ms = self._horizon(now_ms)
            for key in self._store.deleted_before(horizon_ms):
                self._ledger.write_removed(key)
                self._drop(key)
            self._store.drop_blobs_without_record()
            state = self._store.state()
            self._store.cut_log(state.aged)
            self._store.put_state(replace(state, floor=state.aged, aged=state.seq))
            for device in self._store.devices():
                if not device.standing and device.seen_ms < horizon_ms:
                    self._store.put_device(replace(device, standing=Code.RETIRED))

    def _horizon(self, now_ms: int) -> int:
        """Return the time before which everything is long past; 0 while a restore is not."""
        horizon_ms = now_ms - HORIZON_MS
        return horizon_ms if self._store.state().restored_ms <= horizon_ms else 0

    def revoke(self, device_id: str) -> None:
        """Let a device that was lost or sold not speak for its member any more, after a restore as well."""
        self._ledger.write_revoked(device_id)
        with self._store.change():
            self._shut_out(device_id)

    def _shut_out(self, device_id: str) -> None:
        device = self._store.device(device_id) or Device(device_id, "", 0)
        self._store.put_device(replace(device, standing=Code.REVOKED))

    def require_schema(self, least: int) -> None:
        """Take changes only from programs of this schema or a later one."""
        with self._store.change():
            self._store.put_state(replace(self._store.state(), least_schema=least))

    def begin_epoch(self, now_ms: int) -> None:
        """Make a database that came from a backup the club's own again: replay the ledger, tell all."""
        with self._store.change():
            state = self._store.state()
            epoch = self._ledger.next_epoch(state.epoch + 1)
            self._store.put_state(replace(state, epoch=epoch, restored_ms=now_ms))
            self._do_what_the_ledger_says()

    def catch_up(self) -> None:
        """Finish what was in the ledger already when the power went: whoever serves the club begins so."""
        with self._store.change():
            self._do_what_the_ledger_says()

    def _do_what_the_ledger_says(self) -> None:
        for member in self._ledger.erased_members():
            for key in self._store.keys_of(member):
                self._drop(key)
        for key in self._ledger.removed_keys():
            if self._store.record(key):
                self._drop(key)
        for device in self._ledger.revoked_devices():
            self._shut_out(device)
        self._store.drop_blobs_without_record()

    def _drop(self, key: str) -> None:
        audience = self._store.audience(key)
        self._store.forget_changes(key)
        self._store.put_record(key, NO_RECORD, frozenset(), 0)
        self._append(key, audience=audience)


def _not_here(_: Request, __: Caller) -> Reply:
    return Refusal(Code.UNREADABLE)


def _holds(record: Record, change: Change) -> bool:
    """Return whether a record has a change already: its owner gave it back before its author came."""
    return all(
        name in record and (change.id in record[name].past or change.id in _ids(record[name]))
        for name in change.fields
    )


def _ids(field: Field) -> frozenset[str]:
    return frozenset(edit.change for edit in field.heads)

"""The device's side of a sync: what to ask next, and what to do with the answer. It does no I/O.

A conversation is a generator that yields requests and is sent the replies:

    talk = Conversation(store, now_ms).run()
    request = next(talk)
    while True:
        request = talk.send(ask_the_club(request))   # StopIteration brings the Outcome

Everything that has to last is in the store when the next request is yielded. A conversation may be
dropped after any step, by a dead network, a closed app or an empty battery; the next one begins with
hello and goes on from what the store holds. No answer is used twice to a different end.

The order: hello, which ends it where there is nothing to send and both hold the same; where the club came
back from a backup, which of one's changes it still knows; a snapshot where there is no place to go on from;
what the club lost, and changes out; what happened in; both sides compared; blobs. A device whose program is
too old reads, and keeps what it would have sent.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Final, TypeVar

from logbook_app.dive.problems import RefusedMessage
from logbook_app.language import _
from logbook_app.sync.asking import HeardNo, Outcome, Talk, ask
from logbook_app.sync.blob_talk import get_blobs, offer_blobs
from logbook_app.sync.changes import canonical, name_of, owner_of
from logbook_app.sync.device_store import NO_PLACE, DeviceStore, OwnChange, Staging, Standing
from logbook_app.sync.hash_tree import bucket_of, differing_buckets, tree_of
from logbook_app.sync.merging import NO_RECORD, Record, conflicts_of, knows_all_of, merged
from logbook_app.sync.messages import (
    LARGEST_PART,
    MOST_CHANGES,
    MOST_RECORDS,
    SCHEMA,
    BucketDigests,
    Buckets,
    Code,
    Compare,
    Compared,
    Event,
    Fetch,
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
    Records,
    Remembered,
    SentChange,
    Snapshot,
    Verdict,
    Welcome,
)
from logbook_app.sync.own_changes import begin_anew, seen_record
from logbook_app.sync.wire import to_json

AGAIN: Final = 4  # times a conversation begins anew before it leaves the rest to the next one
FULL_PAGE: Final = 2**20  # characters of changes or records in one message
FETCHED_AT_ONCE: Final = 20  # records; an answer holds all of them, however long

Item = TypeVar("Item")


class Conversation:
    """One conversation of a device with its club.

    now_ms       the device's clock
    new_origin   gives a name that no device has, for a device that has a twin
    page         changes or records in one message
    part         of a blob in one message [bytes]
    """

    def __init__(
        self,
        store: DeviceStore,
        now_ms: Callable[[], int],
        new_origin: Callable[[], str],
        *,
        schema: int = SCHEMA,
        page: int = MOST_CHANGES,
        part: int = LARGEST_PART,
    ) -> None:
        self._store, self._now_ms, self._new_origin = store, now_ms, new_origin
        self._schema, self._page, self._part = schema, page, part
        self._welcome = Welcome(0, 0, 0, "")
        self.outcome = Outcome()

    def run(self) -> Talk[Outcome]:
        """Hold the conversation; the outcome comes with its end, or stands here after a break."""
        for _again in range(AGAIN):
            try:
                yield from self._whole()
            except HeardNo as heard:
                self._told(ended=heard.code)
                if heard.code == Code.RESYNC:
                    begin_anew(self._store)
                elif heard.code != Code.OTHER_EPOCH:
                    break
            else:
                self._told(ended="")
                break
        return self.outcome

    def _told(self, **news: int | str | bool | None) -> None:
        self.outcome = replace(self.outcome, **news)  # type: ignore[arg-type]

    def _count(self, name: str, more: int) -> None:
        if more:
            self._told(**{name: getattr(self.outcome, name) + more})

    def _whole(self) -> Talk[None]:
        at = self._at_rest()
        yield from self._hello(at)
        if at and self._welcome.same:
            self._told(counts_agree=True)
            return
        if self._store.state().epoch != self._welcome.epoch:
            yield from self._ask_what_is_known()
        if self._store.state().cursor == NO_PLACE or self._store.state().epoch != self._welcome.epoch:
            yield from self._snapshot()
        yield from self._give_back()  # first what was there before, then what was written on it
        yield from self._push()
        yield from self._pull()
        yield from self._compare()
        self._count("blobs_sent", (yield from offer_blobs(self._store, self._part)))
        self._count("blobs_received", (yield from get_blobs(self._store)))

    def _at_rest(self) -> Compare | None:
        """Return where the device stands, None where it has something to send or to fetch."""
        store = self._store
        waiting = store.own_standing(Standing.WAITING, 0, 1) or store.carried()
        if store.state().cursor == NO_PLACE or waiting or store.blobs_to_offer() or store.blobs_to_get():
            return None
        return self._place_and_tree()

    def _hello(self, at: Compare | None) -> Talk[None]:
        asked_ms = self._now_ms()
        self._welcome = yield from ask(Hello(self._schema, at), Welcome)
        self._told(
            skew_ms=(asked_ms + self._now_ms()) // 2 - self._welcome.now_ms,
            held_back=self._schema < self._welcome.least_schema,
        )
        with self._store.change():
            state = self._store.state()
            if state.member not in ("", self._welcome.member):
                raise RefusedMessage(
                    _("This logbook belongs to another member of the club; nothing was sent.")
                )
            clock = state.clock.brought_back(self._welcome.now_ms)
            epoch = state.epoch or self._welcome.epoch
            now = replace(state, member=self._welcome.member, clock=clock, epoch=epoch)
            if now != state:
                self._store.put_state(now)

    # After the club came back from a backup

    def _ask_what_is_known(self) -> Talk[None]:
        """Let those of one's changes wait again that the club does not know, under the stamps it gave them.

        A verdict is of the epoch that gave it. What was refused is asked after as well: the club that
        came back may have taken it, or may take it now, with the record that it lacked.
        """
        for standing in (Standing.ACCEPTED, *sorted(Verdict.REFUSED)):
            for page in self._pages(standing, MOST_RECORDS):
                ids = tuple(own.change.id for own in page)
                answer = yield from ask(Known(self._welcome.epoch, ids), Remembered)
                with self._store.change():
                    self._keep_verdicts(answer.verdicts)
                    self._let_wait(answer.unknown)

    def _let_wait(self, changes: Iterable[str]) -> None:
        for own in filter(None, map(self._store.own, changes)):
            self._store.put_own(replace(own, standing=Standing.WAITING, seq=0))

    def _snapshot(self) -> Talk[None]:
        """Take everything anew, beside what is there, and swap it in as a whole."""
        while True:
            asked = self._store.state().staging
            staging = asked if asked and asked.epoch == self._welcome.epoch else None
            after = staging.after if staging else ""
            answer = yield from ask(Snapshot(self._welcome.epoch, after, self._page), Records)
            with self._store.change():
                if self._store.state().staging != asked:
                    continue  # the device was paired again in between
                _refuse_a_page_again(answer.more, bool(answer.records) and min(answer.records) > after)
                staging = self._stage(answer, staging)
                if not answer.more:
                    self._swap_in(staging)
                    return

    def _stage(self, page: Records, staging: Staging | None) -> Staging:
        if staging is None:
            self._store.drop_staged()
            staging = Staging(page.epoch, page.seq)
        self._count("received", sum(self._is_news(key, record) for key, record in page.records.items()))
        self._store.stage(page.records)
        staging = replace(staging, after=max(page.records, default=staging.after))
        self._store.put_state(replace(self._store.state(), staging=staging))
        return staging

    def _swap_in(self, staging: Staging) -> None:
        state = self._store.state()
        for key in self._store.decided_keys():
            self._carry_what_is_lost(key, self._store.staged(key))
        if staging.epoch != state.epoch:
            self._store.put_at_club((), there=False)
        self._store.swap_staged()
        for key in self._store.decided_keys():
            self._observe(self._store.decided(key))
        state = self._store.state()
        self._store.put_state(replace(state, epoch=staging.epoch, cursor=staging.seq, staging=None))

    def _carry_what_is_lost(self, key: str, theirs: Record) -> None:
        """Keep for the club what it knew of one's own record and lacks now."""
        mine, state = self._store.decided(key), self._store.state()
        if owner_of(key) == state.member and not knows_all_of(theirs, mine):
            name = name_of(key)
            self._store.put_carried(name, merged(self._store.carried().get(name, NO_RECORD), mine))

    # Out

    def _push(self) -> Talk[None]:
        if self.outcome.held_back:
            return
        for page in self._pages(Standing.WAITING, self._page):
            for part in _parts(page, _change_length, self._page):
                changes = tuple(SentChange(own.change, own.stamp) for own in part)
                answer = yield from ask(Push(self._welcome.epoch, self._schema, changes), Pushed)
                with self._store.change():
                    self._keep_verdicts(answer.verdicts)
                    self._part_from_twin(answer, part)

    def _pages(self, standing: str, limit: int) -> Iterator[list[OwnChange]]:
        """Yield one's changes of a standing, page by page, each once."""
        after = 0
        while page := self._store.own_standing(standing, after, limit):
            after = page[-1].place
            yield page

    def _keep_verdicts(self, verdicts: Iterable[Judged]) -> None:
        for judged in verdicts:
            own = self._store.own(judged.change)
            if own is None or judged.verdict == Verdict.LATER:
                self._count("put_off", own is not None)
                continue
            if own.standing == Standing.WAITING:
                self._count("sent" if judged.verdict == Verdict.ACCEPTED else "not_accepted", 1)
            stamp, seq = judged.stamp or own.stamp, judged.seq
            self._store.put_own(replace(own, standing=judged.verdict, stamp=stamp, seq=seq))

    def _part_from_twin(self, answer: Pushed, sent: Iterable[OwnChange]) -> None:
        """Take another origin where another device counts on from this one's.

        Nothing is lost without it: changes are known by their content. But a device that shares its
        origin cannot be counted, nor be told from the other in a history.
        """
        state = self._store.state()
        if answer.twin and any(own.change.origin == state.origin for own in sent):
            self._store.put_state(replace(state, origin=self._new_origin(), number=0))

    def _give_back(self) -> Talk[None]:
        carried = self._store.carried()
        if not carried or self.outcome.held_back:
            return
        member = self._store.state().member
        for part in _parts(sorted(carried.items()), _record_length, self._page):
            records = {f"{member}/{name}": record for name, record in part}
            answer = yield from ask(GiveBack(self._welcome.epoch, records), Records)
            with self._store.change():
                for name, _record in part:
                    self._store.put_carried(name, NO_RECORD)
                for key, record in answer.records.items():
                    self._merge_decided(key, record)

    # In

    def _pull(self) -> Talk[None]:
        more = True
        while more:
            state = self._store.state()
            answer = yield from ask(Pull(state.epoch, state.cursor, self._page), Pulled)
            with self._store.change():
                if self._place() != (state.epoch, state.cursor):
                    raise HeardNo(Code.OTHER_EPOCH)  # the device was paired again in between
                _refuse_a_page_again(answer.more, answer.next > state.cursor)
                news = {event.key for event in answer.events if self._is_news_in(event)}
                for event in answer.events:
                    self._take(event)
                self._store.put_state(replace(self._store.state(), cursor=answer.next))
            more = answer.more
            self._count("received", len(news))

    def _place(self) -> tuple[int, int]:
        state = self._store.state()
        return state.epoch, state.cursor

    def _is_news_in(self, event: Event) -> bool:
        """Return whether an event tells more than one's own change coming back."""
        if event.change is not None:
            return self._store.own(event.change.id) is None
        return event.record is None or self._is_news(event.key, event.record)

    def _is_news(self, key: str, record: Record) -> bool:
        return not knows_all_of(seen_record(self._store, key), record)

    def _take(self, event: Event) -> None:
        if event.change is not None:
            self._merge_decided(event.key, event.change.as_record(event.stamp))
        elif event.record is not None:
            self._merge_decided(event.key, event.record)
        else:
            self._forget(event.key)

    def _merge_decided(self, key: str, news: Record) -> None:
        before = self._store.decided(key)
        after = merged(before, news)
        self._observe(news)
        self._store.put_decided(key, after)
        if any(conflicts_of(after)) and not any(conflicts_of(before)):
            self._count("kept_both", 1)

    def _forget(self, key: str) -> None:
        state = self._store.state()
        self._store.put_decided(key, NO_RECORD)
        if owner_of(key) == state.member:
            self._store.put_carried(name_of(key), NO_RECORD)

    def _observe(self, record: Record) -> None:
        state, now_ms = self._store.state(), max(self._now_ms(), self._welcome.now_ms)
        clock = state.clock
        for field in record.values():
            for edit in field.heads:
                clock = clock.observing(edit.stamp, now_ms)
        if clock != state.clock:
            self._store.put_state(replace(state, clock=clock))

    # The same on both sides?

    def _compare(self) -> Talk[None]:
        for _again in range(AGAIN):
            try:
                answer = yield from self._compared()
                if answer.gap:
                    yield from self._ask_what_is_known()
                    yield from self._push()
                if answer.same:
                    self._told(counts_agree=True)
                    return
                self._told(counts_agree=False)
                yield from self._put_right()
                yield from self._give_back()
                yield from self._pull()
            except HeardNo as heard:
                if heard.code != Code.MOVED:
                    raise
                self._told(counts_agree=None)
                yield from self._pull()

    def _compared(self) -> Talk[Compared]:
        return (yield from ask(self._place_and_tree(), Compared))

    def _place_and_tree(self) -> Compare:
        state, tree = self._store.state(), tree_of(self._store.digests())
        sent = self._store.accepted(state.origin)
        return Compare(state.epoch, state.cursor, tree.count, tree.root, state.origin, state.number, sent)

    def _put_right(self) -> Talk[None]:
        """Fetch the records in which both sides differ; what the club lacks of one's own it gets."""
        state, mine = self._store.state(), dict(self._store.digests())
        answer = yield from ask(Buckets(state.epoch, state.cursor), BucketDigests)
        theirs = {int(bucket): digest for bucket, digest in answer.digests.items()}
        differing = tuple(differing_buckets(tree_of(mine.items()).buckets, theirs))
        if not differing:
            return
        listed = yield from ask(Listing(state.epoch, state.cursor, differing), Listed)
        here = {key: digest for key, digest in mine.items() if bucket_of(key) in set(differing)}
        keys = [key for key in sorted({*here, *listed.digests}) if here.get(key) != listed.digests.get(key)]
        for at in range(0, len(keys), FETCHED_AT_ONCE):
            page = tuple(keys[at : at + FETCHED_AT_ONCE])
            fetched = yield from ask(Fetch(state.epoch, page), Records)
            with self._store.change():
                if self._place() != (state.epoch, state.cursor):
                    raise HeardNo(Code.OTHER_EPOCH)
                self._replace_decided(page, fetched.records)
            self._count("repaired", len(page))

    def _replace_decided(self, keys: Iterable[str], theirs: Mapping[str, Record]) -> None:
        for key in keys:
            record = theirs.get(key, NO_RECORD)
            self._carry_what_is_lost(key, record)
            self._store.put_decided(key, record)


def _refuse_a_page_again(more: bool, goes_on: bool) -> None:
    """Raise RefusedMessage where a club has more to say and says it from the same place: without an end."""
    if more and not goes_on:
        raise RefusedMessage(_("The club sends the same page again and again; tell who looks after it."))


def _parts(items: Iterable[Item], length: Callable[[Item], int], most: int) -> Iterator[list[Item]]:
    """Yield items in parts that a club takes at once, by their number and their length as JSON."""
    part: list[Item] = []
    size = 0
    for item in items:
        longer = length(item)
        if part and (size + longer > FULL_PAGE or len(part) == most):
            yield part
            part, size = [], 0
        part.append(item)
        size += longer
    if part:
        yield part


def _change_length(own: OwnChange) -> int:
    return len(canonical(to_json(own.change)))


def _record_length(named: tuple[str, Record]) -> int:
    return len(canonical(to_json(named[1])))

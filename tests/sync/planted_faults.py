"""42 errors that somebody could make, planted one at a time. A simulation that misses them proves nothing.

Each takes away one rule of the sync, and only that. Seven need more coincidence than a few hundred worlds
have: `TOLD_APART` in test_simulation.py tells their stories.
"""

# ruff: noqa: ARG005 - what stands in for a method takes what the method takes

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

import logbook_app.sync.merging as merging
import server.deciding as deciding
import server.permissions as permissions
from logbook_app.dive.problems import RefusedMessage
from logbook_app.sync import changes, conversation, messages, own_changes
from logbook_app.sync.asking import ask
from logbook_app.sync.conversation import Conversation
from logbook_app.sync.device_store import NO_PLACE, Standing
from logbook_app.sync.merging import Field, merged_fields
from logbook_app.sync.messages import Code, Event, Judged, Pulled, Records, Verdict
from logbook_app.sync.stamps import PATIENCE_MS, stamp_ms
from server.deciding import Club
from server.memory_club import MemoryClub, MemoryLedger

Plant = Callable[[pytest.MonkeyPatch], None]
FAULTS: dict[str, Plant] = {}


def fault(plant: Plant) -> Plant:
    FAULTS[plant.__name__] = plant
    return plant


def _merging(patch: pytest.MonkeyPatch, merge: Callable[[Field, Field], Field]) -> None:
    patch.setattr(merging, "merged_fields", merge)


@fault
def the_latest_stamp_wins_and_the_other_side_is_dropped(patch):
    def merge(one: Field, other: Field) -> Field:
        both = merged_fields(one, other)
        return Field(both.heads[:1], both.past)

    _merging(patch, merge)


@fault
def stamps_decide_without_what_was_seen(patch):
    def merge(one: Field, other: Field) -> Field:
        heads = {edit.order: edit for edit in (*one.heads, *other.heads)}
        return Field(tuple(heads[order] for order in sorted(heads, reverse=True)[:1]), one.past | other.past)

    _merging(patch, merge)


@fault
def of_two_stamps_the_one_at_hand_is_kept(patch):
    patch.setattr(merging, "_earlier", lambda one, other: other)


@fault
def a_repeated_change_is_taken_again(patch):
    plain = Club._judge

    def judge(self: Any, sent: Any, caller: Any) -> Judged:
        seen = self._store.seen(sent.change.id)
        if seen and seen.verdict == Verdict.ACCEPTED:
            self._accept(sent.change, sent.settled, caller)
        return plain(self, sent, caller)

    patch.setattr(Club, "_judge", judge)


@fault
def a_restored_club_keeps_its_epoch(patch):
    patch.setattr(MemoryLedger, "next_epoch", lambda self, at_least: 1)


@fault
def stamps_from_the_future_are_taken(patch):
    patch.setattr(deciding, "settled", lambda stamp, clock, now_ms: (stamp, clock))


@fault
def the_log_is_cut_and_old_places_are_served(patch):
    plain = Club._pull

    def pull(self: Any, asked: Any, caller: Any) -> Any:
        return plain(self, replace(asked, since=max(asked.since, self._store.state().floor)), caller)

    patch.setattr(Club, "_pull", pull)


@fault
def who_loses_sight_is_not_told(patch):
    def tell(self: Any, key: str, before: frozenset[str]) -> None:
        if gained := self._store.audience(key) - before:
            self._append(key, audience=gained)

    patch.setattr(Club, "_tell_audience", tell)


@fault
def who_gains_sight_is_not_told(patch):
    def tell(self: Any, key: str, before: frozenset[str]) -> None:
        if lost := before - self._store.audience(key):
            self._append(key, audience=lost)

    patch.setattr(Club, "_tell_audience", tell)


@fault
def an_erasure_takes_back_what_was_to_be_forgotten(patch):
    def forget(self: Any, key: str) -> None:
        self._keep_lines(lambda line: line.key != key)

    patch.setattr(MemoryClub, "forget_changes", forget)


@fault
def a_restore_brings_back_the_erased(patch):
    patch.setattr(MemoryLedger, "erased_members", lambda self: [])
    patch.setattr(MemoryLedger, "removed_keys", lambda self: [])
    patch.setattr(MemoryLedger, "erased", lambda self, member: False)


@fault
def a_restore_lets_in_who_was_shut_out(patch):
    patch.setattr(MemoryLedger, "revoked_devices", lambda self: [])


@fault
def what_the_power_cut_off_is_not_finished(patch):
    patch.setattr(Club, "catch_up", lambda self: None)


@fault
def what_was_removed_can_be_written_again(patch):
    patch.setattr(MemoryLedger, "removed", lambda self, key: False)


@fault
def a_deletion_is_as_old_as_the_clock_that_stamped_it(patch):
    def before(self: Any, ms: int) -> list[str]:
        deleted = [key for key, record in self.tables.records.items() if merging.is_deleted(record)]
        return [key for key in deleted if stamp_ms(self.record(key)["deleted"].heads[0].stamp) < ms]

    patch.setattr(MemoryClub, "deleted_before", before)


@fault
def a_deletion_grows_older_while_the_club_lies_in_its_backup(patch):
    patch.setattr(Club, "_horizon", lambda self, now_ms: now_ms - deciding.HORIZON_MS)


@fault
def one_refused_change_refuses_them_all(patch):
    plain = Club._push

    def push(self: Any, asked: Any, caller: Any) -> Any:
        answer = plain(self, asked, caller)
        if isinstance(answer, messages.Pushed) and any(v.verdict == Verdict.INVALID for v in answer.verdicts):
            raise RefusedMessage("one of these changes is not valid")
        return answer

    patch.setattr(Club, "_push", push)


@fault
def a_refused_change_is_thrown_away_with_those_beside_it(patch):
    plain = Conversation._keep_verdicts

    def keep(self: Any, verdicts: Any) -> None:
        told = list(verdicts)
        refused = any(v.verdict not in (Verdict.ACCEPTED, Verdict.LATER) for v in told)
        plain(self, [replace(v, verdict=Verdict.INVALID) for v in told] if refused else told)

    patch.setattr(Conversation, "_keep_verdicts", keep)


@fault
def the_next_place_is_one_too_far(patch):
    plain = Club._pull

    def pull(self: Any, asked: Any, caller: Any) -> Any:
        answer = plain(self, asked, caller)
        further = isinstance(answer, Pulled) and answer.more
        return replace(answer, next=answer.next + 1) if further else answer

    patch.setattr(Club, "_pull", pull)


@fault
def the_place_is_kept_before_the_page(patch):
    def pull(self: Any) -> Any:
        more = True
        while more:
            state = self._store.state()
            answer = yield from _asked(messages.Pull(state.epoch, state.cursor, self._page))
            with self._store.change():
                self._store.put_state(replace(self._store.state(), cursor=answer.next))
            with self._store.change():
                for event in answer.events:
                    self._take(event)
            more = answer.more

    patch.setattr(Conversation, "_pull", pull)


def _asked(request: Any) -> Any:
    return (yield from ask(request, Pulled))


@fault
def what_a_restored_club_lost_is_not_sent_again(patch):
    def ask(self: Any) -> Any:
        return
        yield

    patch.setattr(Conversation, "_ask_what_is_known", ask)


@fault
def what_a_restored_club_lost_is_not_given_back(patch):
    patch.setattr(Conversation, "_carry_what_is_lost", lambda self, key, theirs: None)


@fault
def what_a_wrong_clock_stamped_is_not_taken_back(patch):
    def settled(self: Any, fields: Any, now_ms: int) -> Any:
        return {
            name: field
            for name, field in fields.items()
            if all(stamp_ms(edit.stamp) <= now_ms + PATIENCE_MS for edit in field.heads)
        }

    patch.setattr(Club, "_settled", settled)


@fault
def an_edit_is_refused_where_the_owner_is_not_back_yet(patch):
    patch.setattr(Club, "_owner_may_come_back", lambda self, sent, caller: False)


@fault
def a_blob_is_kept_under_a_name_that_is_not_its_own(patch):
    def put(self: Any, name: str, at: int, data: bytes) -> None:
        self.tables.parts[name] = self.tables.parts.get(name, b"") + data

    def finish(self: Any, name: str) -> bool:
        self.tables.blobs[name] = self.tables.parts.pop(name, b"")
        return True

    patch.setattr(MemoryClub, "put_part", put)
    patch.setattr(MemoryClub, "finish_blob", finish)


@fault
def a_snapshot_is_as_late_as_its_last_page(patch):
    plain = Conversation._stage

    def stage(self: Any, page: Any, staging: Any) -> Any:
        staged = replace(plain(self, page, staging), seq=page.seq)
        self._store.put_state(replace(self._store.state(), staging=staged))
        return staged

    patch.setattr(Conversation, "_stage", stage)


@fault
def a_snapshot_goes_on_in_another_epoch(patch):
    plain = Conversation._snapshot

    def snapshot(self: Any) -> Any:
        staging = self._store.state().staging
        if staging:
            moved = replace(staging, epoch=self._welcome.epoch)
            self._store.put_state(replace(self._store.state(), staging=moved))
        yield from plain(self)

    patch.setattr(Conversation, "_snapshot", snapshot)


@fault
def deleted_records_are_left_out_of_a_snapshot(patch):
    def records(self: Any, keys: Any, *, more: bool = False) -> Records:
        state = self._store.state()
        live = {key: self._store.record(key) for key in keys}
        live = {key: record for key, record in live.items() if not merging.is_deleted(record)}
        return Records(state.epoch, state.seq, live, more)

    patch.setattr(Club, "_records", records)


@fault
def a_device_keeps_what_it_was_told_to_forget(patch):
    patch.setattr(Conversation, "_forget", lambda self, key: None)


@fault
def anybody_in_the_audience_may_write(patch):
    def may(caller: Any, key: str, record: Any, fields: Any) -> bool:
        return bool(permissions.audience_of(key, record) & {caller.member, "*"})

    patch.setattr(deciding, "may_write", may)


@fault
def an_edit_claims_to_have_seen_what_was_not_shown(patch):
    plain = merging.what_an_edit_sees
    patch.setattr(
        own_changes,
        "what_an_edit_sees",
        lambda record, name, **how: plain(record, name, chooses=True),
    )


@fault
def an_edit_does_not_say_what_had_been_replaced_before(patch):
    plain = merging.what_an_edit_sees

    def sees(record: Any, name: str, **how: Any) -> tuple[str, ...]:
        past = record[name].past if name in record else frozenset()
        return tuple(change for change in plain(record, name, **how) if change not in past)

    patch.setattr(own_changes, "what_an_edit_sees", sees)


@fault
def a_refusal_is_for_every_epoch(patch):
    plain = Conversation._let_wait

    def wait(self: Any, unknown: Any) -> None:
        plain(self, [each for each in unknown if self._store.own(each).standing == Standing.ACCEPTED])

    patch.setattr(Conversation, "_let_wait", wait)


@fault
def ids_do_not_follow_from_the_content(patch):
    plain = changes.Change.__post_init__

    def post(self: Any) -> None:
        plain(self)
        object.__setattr__(self, "id", f"{self.origin}.{self.number}.{'0' * 16}")

    patch.setattr(changes.Change, "__post_init__", post)


@fault
def counts_are_compared_and_nothing_done(patch):
    def put_right(self: Any) -> Any:
        return
        yield

    patch.setattr(Conversation, "_put_right", put_right)


@fault
def a_blob_is_offered_once_and_counted_as_there(patch):
    plain = conversation.offer_blobs

    def offer(store: Any, part: int) -> Any:
        names = store.blobs_to_offer()
        sent = yield from plain(store, part)
        store.put_at_club(names, there=True)
        return sent

    patch.setattr(conversation, "offer_blobs", offer)


@fault
def only_one_conversation_in_two_comes_to_its_end(patch):
    patch.setattr(Club, "_welcome", lambda self, _, caller: messages.Refusal(Code.REVOKED))


@fault
def a_first_conversation_begins_at_the_end_of_the_log(patch):
    plain = Conversation._hello

    def hello(self: Any) -> Any:
        yield from plain(self)
        state = self._store.state()
        if state.cursor == NO_PLACE:
            self._store.put_state(replace(state, cursor=0))

    patch.setattr(Conversation, "_hello", hello)


@fault
def what_a_sister_device_brought_is_not_told_to_the_club(patch):
    def give(self: Any) -> Any:
        return
        yield

    patch.setattr(Conversation, "_give_back", give)


@fault
def an_accepted_change_is_hidden_until_it_is_pulled(patch):
    patch.setattr(own_changes, "_shows", lambda own, state: own.standing == Standing.WAITING)


@fault
def a_change_of_nobody_is_shown_to_everybody(patch):
    plain = Club._event

    def event(self: Any, line: Any, caller: Any) -> Any:
        if line.change:
            return Event(line.key, deciding._change_from(line.content), line.stamp)
        return plain(self, line, caller)

    patch.setattr(Club, "_event", event)


@fault
def a_dive_is_shown_to_whom_its_own_record_names(patch):
    patch.setattr(permissions, "_for_others", lambda key: True)

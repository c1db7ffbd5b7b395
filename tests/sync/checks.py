"""What must hold once a world is quiet. Each check names what a diver would have lost."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator

from logbook_app.sync.changes import blobs_named, kind_of, name_of, owner_of
from logbook_app.sync.device_store import OwnChange, Standing
from logbook_app.sync.merging import is_deleted
from logbook_app.sync.records import SIGNED_FIELDS
from logbook_app.sync.stamps import PATIENCE_MS, stamp_ms
from server.deciding import GRACE_MS
from tests.sync.world import INSTRUCTORS, Phone, World, knows

REFUSED = {"denied", "gone", "invalid"}


class Amiss(AssertionError):
    """Something a diver would have lost, or seen that was not theirs."""


def check(world: World) -> None:
    """Raise Amiss for the first thing that is not as it must be."""
    for phone in world.phones:
        if not phone.gone:
            _talked_to_the_end(world, phone)
            _sees_what_it_may(world, phone)
            _queue_is_empty(world, phone)
            _has_its_blobs(world, phone)
    _nothing_came_back(world)
    _nothing_came_twice(world)
    _no_stamp_from_the_future(world)
    _edits_are_current_or_replaced(world)
    _what_was_replaced_stays_replaced(world)
    _nobody_overheard(world)
    _holds(not world.removed_early, "lost record: removed before its time", world.removed_early)
    _acknowledged_edits_are_there(world)
    _verdicts_are_the_clubs(world)
    _divers_were_shown_the_truth(world)
    _only_instructors_signed(world)
    _repairs_had_a_reason(world)


def _holds(true: object, what: str, *more: object) -> None:
    if not true:
        raise Amiss(f"{what}: {more!r}"[:600])


def _talked_to_the_end(world: World, phone: Phone) -> None:
    _holds(phone.outcomes, "liveness: no conversation ever came to its end", phone.id)
    outcome = phone.outcomes[-1]
    _holds(outcome.ended == "", "liveness: a conversation does not come to its end", phone.id, outcome)
    _holds(outcome.counts_agree, "liveness: counts do not agree in quiet", phone.id, outcome)


def _sees_what_it_may(world: World, phone: Phone) -> None:
    club, decided = world.club_store, phone.store.tables.decided
    allowed = {key: club.record(key) for key in club.visible(phone.member, "", 10**6)}
    _holds(
        not decided.keys() - allowed, "privacy: a device holds what it may not see", decided.keys() - allowed
    )
    different = [key for key in allowed if decided.get(key) != allowed[key]]
    _holds(not different, "convergence: a device differs from the club", phone.id, different)
    seen = [key for key, record in world.visible(phone).items() if record != allowed.get(key)]
    waiting = {own.change.key(phone.member) for own in phone.store.own_standing(Standing.WAITING, 0, 10**6)}
    _holds(not set(seen) - waiting, "convergence: a diver sees something else", phone.id, seen)


def _queue_is_empty(world: World, phone: Phone) -> None:
    """Only what waits for an owner to bring back what a restore took may wait."""
    for own in phone.store.own_standing(Standing.WAITING, 0, 10**6):
        key = own.change.key(phone.member)
        lost = world.restores and owner_of(key) != phone.member
        _holds(lost, "liveness: a change never left the queue", own)
    _holds(not phone.store.carried(), "liveness: a record was never given back", phone.store.carried().keys())


def _has_its_blobs(world: World, phone: Phone) -> None:
    club = world.club_store.tables.blobs
    for key, record in phone.store.tables.decided.items():
        if is_deleted(record):
            continue
        for name in blobs_named(record):
            here = phone.store.tables.blobs.get(name)
            _holds(here is not None or name not in club, "blobs: a device lacks what the club has", key)
            may_put = owner_of(key) == phone.member
            _holds(
                here is None or name in club or not may_put, "blobs: the club lacks what its owner has", key
            )
            _holds(here == club.get(name, here), "blobs: the bytes differ", key)


def _nothing_came_back(world: World) -> None:
    erased, removed = set(world.ledger.erased_members()), set(world.ledger.removed_keys())
    tables = world.club_store.tables
    keys = {*tables.records, *(line.key for line in tables.log.values() if line.change)}
    _holds(not [key for key in keys if owner_of(key) in erased], "erasure: the club holds erased records")
    _holds(not keys & removed, "resurrection: a removed record is back", keys & removed)
    for phone in world.phones:
        _holds(
            phone.member not in erased or not phone.store.tables.decided,
            "erasure: a device holds erased records",
        )


def _nothing_came_twice(world: World) -> None:
    lines = Counter(line.change for line in world.club_store.tables.log.values() if line.change)
    twice = [change for change, count in lines.items() if count > 1]
    _holds(not twice, "duplicate: a change was taken twice", twice)


def _no_stamp_from_the_future(world: World) -> None:
    for key, record in world.club_store.tables.records.items():
        for name, field in record.items():
            ahead = [edit for edit in field.heads if stamp_ms(edit.stamp) > world.now_ms + PATIENCE_MS]
            _holds(not ahead, "clock: a stamp from the future won", key, name, ahead)


def _edits_are_current_or_replaced(world: World) -> None:
    """What the club holds as replaced was replaced by somebody who saw it, and by nobody else."""
    saw: dict[tuple[str, str], set[str]] = {}
    for author, change in world.made.values():
        for name, seen in change.saw.items():
            saw.setdefault((change.key(author), name), set()).update(seen)
    for key, record in world.club_store.tables.records.items():
        for name, field in record.items():
            unseen = field.past - saw.get((key, name), set())
            _holds(not unseen, "lost edit: replaced by nobody who saw it", key, name, unseen)


def _what_was_replaced_stays_replaced(world: World) -> None:
    """No edit stands beside one that saw it: nothing deleted is alive that nobody brought back."""
    for change_id, author in world.acknowledged.items():
        _, change = world.made[change_id]
        record = world.club_store.record(change.key(author))
        for name, seen in change.saw.items():
            if knows(record, name, change_id):
                alive = {edit.change for edit in record[name].heads} & set(seen)
                _holds(not alive, "resurrection: what was replaced stands again", change_id, name, alive)


def _nobody_overheard(world: World) -> None:
    _holds(not world.overheard, "privacy: shown to somebody who may not see it", world.overheard[:3])


def _acknowledged_edits_are_there(world: World) -> None:
    """Every edit that the club accepted is current, kept beside, or knowingly replaced."""
    for change_id, author in world.acknowledged.items():
        _, change = world.made[change_id]
        key = change.key(author)
        if world.ledger.removed(key) or world.ledger.erased(owner_of(key)):
            continue
        record = world.club_store.record(key)
        there = all(knows(record, name, change_id) for name in change.fields)
        _holds(
            there or _lost_with_every_copy(world, key, change_id), "lost edit: acknowledged", key, change_id
        )


def _lost_with_every_copy(world: World, key: str, change_id: str) -> bool:
    """After a restore of the club nobody is left who could give it back, or nobody who may."""
    if not world.restores:
        return False
    holders = world.holders.get(change_id, set())
    if not world.rots and any(phone.id in holders and not phone.gone for phone in world.phones):
        return False
    standings = {own.standing for own in _copies(world, change_id)}
    may_not_any_more = not standings - REFUSED or not world.club_store.record(key)
    waited_for = world.now_ms < world.club_store.state().restored_ms + GRACE_MS
    too_soon = "gone" in standings and waited_for
    return not too_soon and (may_not_any_more or standings == {Standing.WAITING})


def _copies(world: World, change_id: str) -> list[OwnChange]:
    """Return where the change still is, and its diver has not let it go."""
    found = [phone.store.own(change_id) for phone in world.phones if not phone.gone]
    return [own for own in found if own is not None and not own.standing.startswith(Standing.LET_GO)]


def _verdicts_are_the_clubs(world: World) -> None:
    """A device says of a change what the club says of it."""
    for phone in world.phones:
        for own in () if phone.gone else phone.store.tables.own.values():
            if own.standing.startswith(Standing.LET_GO):
                continue
            seen = world.club_store.seen(own.change.id)
            _holds(seen is None or seen.verdict == own.standing, "lost edit: another verdict", own, seen)


def _divers_were_shown_the_truth(world: World) -> None:
    _holds(not world.unfaithful, "lost edit: shown or claimed otherwise", world.unfaithful)


def _only_instructors_signed(world: World) -> None:
    for key, record in world.club_store.tables.records.items():
        if kind_of(key) == "signoff":
            _holds(owner_of(key) in INSTRUCTORS, "authority: signed by somebody who may not", key)
            content = [field for name, field in record.items() if name in SIGNED_FIELDS]
            authors = {edit.change for field in content for edit in field.heads}
            _holds(
                len(authors) <= 1 and not any(field.past for field in content),
                "authority: a sign-off was rewritten",
                key,
            )


def _repairs_had_a_reason(world: World) -> None:
    repaired = sum(outcome.repaired for phone in world.phones for outcome in phone.outcomes)
    _holds(world.rotted or not repaired, "convergence: only the last comparison put a record right", repaired)


def story_of(world: World) -> Iterator[str]:
    """Yield the end of a world as lines, to compare two runs of one seed."""
    for key, record in sorted(world.club_store.tables.records.items()):
        yield json.dumps([key, sorted((name, repr(field.heads)) for name, field in record.items())])
    for phone in world.phones:
        yield f"{phone.id} {phone.store.state()} {len(phone.store.tables.own)} {name_of('x/y:z')}"

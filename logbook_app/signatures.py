"""Signatures on the diver's dives: asking for one, and what the club's signers signed.

A request is a record that the club's members see; a signature is a record of its signer's own, and says
exactly for which content it was given. Both travel with the next sync.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime

from logbook_app.dive.problems import NoClub, RefusedRecord
from logbook_app.language import _
from logbook_app.store.logbook_store import LogbookStore
from logbook_app.store.sync_shelf import SyncShelf
from logbook_app.sync.changes import EVERYBODY, READERS, kind_of, owner_of
from logbook_app.sync.merging import DELETED, Record, is_deleted, values_of
from logbook_app.sync.own_changes import seen_record, write
from logbook_app.sync.records import SignOff, read_as, values_from
from logbook_app.sync.shown_dives import shown_name
from logbook_app.sync.sign_offs import (
    BUDDY,
    SIGN_OFF,
    SignOffRequest,
    changed_since,
    request_name,
)


@dataclass(frozen=True, slots=True)
class Signature:
    """What somebody signed for the diver.

    dive_id   of the dive that was signed, empty where it was a requirement, or the dive is not here
    rules, requirement   ids of the set and of the requirement in it, empty for a dive
    changed   whether what was signed says something else by now
    supervised   whether the signer stood over the dive
    """

    dive_id: str
    what: str
    rules: str
    requirement: str
    signer: str
    role: str
    on: date | None
    remark: str
    changed: bool
    supervised: bool = False


@dataclass(frozen=True, slots=True)
class DiveSignatures:
    """What was signed of one dive, and whether the diver asked for it."""

    signatures: tuple[Signature, ...]
    asked: bool


class Signatures:
    """The signatures of one logbook file.

    now   the clock; returns an aware instant
    """

    def __init__(self, store: LogbookStore, now: Callable[[], datetime]) -> None:
        self._store, self._now = store, now

    def ask(self, dive_id: str, what: str = "") -> None:
        """Ask the club's signers to sign a dive that they see.

        what   is to be confirmed, in the diver's words

        Raises UnknownDive, NoClub where there is nobody to ask, RefusedRecord where the club does not see it.
        """
        dive = self._store.dive(dive_id)
        shelf = self._shelf()
        if shelf is None:
            raise NoClub(_("There is nobody to ask for a signature: join a club first."))
        if shelf.shown_records.parts_of(dive.id) is None:
            raise RefusedRecord(_("Show the dive to the club first: nobody signs what they do not see."))
        member = shelf.state().member
        request = SignOffRequest(what=" ".join(what.split()), record=f"{member}/{shown_name(dive.id)}")
        said = {**values_from(request), READERS: [EVERYBODY], DELETED: False}
        with shelf.change():
            now_ms = int(self._now().timestamp() * 1000)
            write(shelf, f"{member}/{request_name(request)}", said, now_ms)

    def of_dive(self, dive_id: str) -> DiveSignatures:
        """Return what was signed of a dive, and whether somebody was asked. Raises UnknownDive."""
        dive, shelf = self._store.dive(dive_id), self._shelf()
        if shelf is None:
            return DiveSignatures((), False)
        member = shelf.state().member
        request = SignOffRequest(record=f"{member}/{shown_name(dive.id)}")
        asked = seen_record(shelf, f"{member}/{request_name(request)}")
        signed = tuple(each for each in self.signed() if each.dive_id == dive.id)
        return DiveSignatures(signed, bool(asked) and not is_deleted(asked))

    def signed(self) -> list[Signature]:
        """Return what was signed for the diver, the latest first."""
        shelf = self._shelf()
        if shelf is None:
            return []
        found = list(self._found(shelf))
        return sorted(found, key=lambda each: (each.on or date.min, each.dive_id, each.rules), reverse=True)

    def _found(self, shelf: SyncShelf) -> Iterator[Signature]:
        member = shelf.state().member
        dives = {f"{member}/{shown_name(dive.id)}": dive.id for dive in self._store.dives()}
        for key in shelf.decided_keys():
            record = seen_record(shelf, key) if kind_of(key) in (SIGN_OFF, BUDDY) else {}
            sign_off = _read(record)
            if sign_off is None or sign_off.whom != member or owner_of(key) == member:
                continue
            there = {each: seen_record(shelf, each) for each in (sign_off.record, *sign_off.evidence) if each}
            yield Signature(
                dives.get(sign_off.record, ""), sign_off.what, sign_off.rules, sign_off.requirement,
                sign_off.signer, sign_off.role, sign_off.on, sign_off.remark,
                changed_since(sign_off, there), sign_off.supervised,
            )  # fmt: skip

    def _shelf(self) -> SyncShelf | None:
        shelf = self._store.sync if self._store.shares else None
        return shelf if shelf is not None and shelf.state().member else None


def _read(record: Record) -> SignOff | None:
    if not record or is_deleted(record):
        return None
    try:
        return read_as(SignOff, values_of(record))
    except RefusedRecord:
        return None

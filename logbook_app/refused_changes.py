"""What the club did not accept: kept with all that it holds, until the diver has dealt with it.

A change is refused where the record that it was made to is gone for good, or is not the diver's to
change. Whatever it says is then in no record any more. The diver keeps it as a new record or lets it
go; either can be undone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from logbook_app.dive.changes import Changes
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Dive
from logbook_app.store.logbook_store import LogbookStore
from logbook_app.store.refused_records import KEPT_ANEW, RefusedRecords
from logbook_app.sync.changes import READERS, WRITERS
from logbook_app.sync.device_store import OwnChange
from logbook_app.sync.merging import DELETED
from logbook_app.sync.records import read_as

if TYPE_CHECKING:
    from logbook_app.store.sync_shelf import SyncShelf


@dataclass(frozen=True, slots=True)
class NotAccepted:
    """What was refused of one record.

    kind      of the record: dive, kit, signoff ...
    verdict   of the latest change
    fields    what was written, the latest value of each; `dive` reads them where it is one
    dive      as it would say what was refused, None where it is no dive or cannot be read
    can_keep  whether it can become a new record of the diver's
    """

    changes: tuple[str, ...]
    kind: str
    verdict: str
    fields: Mapping[str, Any]
    dive: Dive | None = None
    can_keep: bool = False


@dataclass(frozen=True, slots=True)
class DealtWith:
    """What was done with refused changes, to undo it.

    kept_as   name of the new record, empty where they were let go
    """

    changes: tuple[str, ...]
    touched: Changes
    kept_as: str = ""


class RefusedChanges:
    """What the club refused of the changes in one logbook file."""

    def __init__(self, store: LogbookStore) -> None:
        self._store = store

    def all(self) -> list[NotAccepted]:
        """Return what was refused and not dealt with, a line for each record, the first one first."""
        if not self._store.shares:
            return []
        records = self._store.sync.refused_records
        found: dict[tuple[str, str], list[OwnChange]] = defaultdict(list)
        for own in records.all():
            found[own.change.owner, own.change.record].append(own)
        return [self._told(records, changes) for changes in found.values()]

    def _told(self, records: RefusedRecords, refused: list[OwnChange]) -> NotAccepted:
        kind = refused[0].change.record.partition(":")[0]
        own = not refused[0].change.owner
        fields = {name: value for each in refused for name, value in each.change.fields.items()}
        told = {name: value for name, value in fields.items() if name not in (READERS, WRITERS)}
        whole = records.whole_with(refused) if own and kind in KEPT_ANEW else {}
        return NotAccepted(
            changes=tuple(each.change.id for each in refused),
            kind=kind,
            verdict=refused[-1].standing,
            fields=told,
            dive=_dive(whole) if kind == "dive" else None,
            can_keep=bool(whole) and set(told) != {DELETED},
        )

    def keep(self, changes: Iterable[str]) -> DealtWith:
        """Keep what refused changes of one record hold as a new record of the diver's.

        Raises RefusedRecord where it is no whole record, or was dealt with meanwhile.
        """
        ids, shelf = tuple(changes), self._store.sync
        records = shelf.refused_records
        name = records.keep_anew(ids)
        return DealtWith(ids, _touched(shelf, records), name)

    def let_go(self, changes: Iterable[str]) -> DealtWith:
        """Look at refused changes no more; they stay in the list of all changes."""
        ids, shelf = tuple(changes), self._store.sync
        records = shelf.refused_records
        records.let_go(ids)
        return DealtWith(ids, _touched(shelf, records))

    def take_back(self, dealt: DealtWith) -> Changes:
        """Let changes be as they were before they were dealt with."""
        shelf = self._store.sync
        records = shelf.refused_records
        records.take_up_again(dealt.changes, dealt.kept_as)
        return _touched(shelf, records)


def _touched(shelf: SyncShelf, records: RefusedRecords) -> Changes:
    return Changes(frozenset(shelf.shown | records.moved), totals=True, kit=True)


def _dive(whole: Mapping[str, Any]) -> Dive | None:
    try:
        return read_as(Dive, whole)
    except RefusedRecord:
        return None

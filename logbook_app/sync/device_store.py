"""What a device keeps for its sync: a handful of methods, and the tables behind them.

The rules of a sync (conversation.py, own_changes.py, bundle.py) know only `DeviceStore`. In the
logbook file it takes these tables, in the same database as the dives, so that a diver's edit, the
change that tells of it, and the clock that stamped it are one transaction:

    sync_state      one row: the fields of `DeviceState`
    sync_changes    place integer primary key, id text unique, owner, record, origin, number,
                    content text (the change as JSON), standing, stamp, seq
                    every change made here or brought by a sister device, kept for good: they are the
                    diver's history, and what a club that lost them gets again
                    index (owner, record); index (standing, place)
    sync_records    key text primary key, content text (the record, see packing.py), digest text
                    what the club has decided; written from its answers alone
    sync_staged     key text primary key, content text
                    a snapshot under way; takes the place of sync_records in one transaction
    sync_carried    record text primary key, content text
                    records of one's own that no club confirms yet: brought by a sister device, or
                    lost by a club that came back from a backup
    sync_blobs      sha256 text primary key, at_club integer, part blob (bytes of an incomplete one),
                    whole integer (1 where the bytes are complete and nothing else has them yet)
                    complete ones are where the app keeps them: profiles in `profiles`
    sync_named      key, sha256: the blobs that the club's records name
    sync_conflicts  key text primary key: names of records of one's own with two sides

A record as the diver sees it is their sum, see `own_changes.seen_record`. The tables of dives, sites
and kit are a projection of those sums and can be made again from them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from typing import Final, Protocol

from logbook_app.sync.changes import Change
from logbook_app.sync.merging import Record
from logbook_app.sync.stamps import StampClock

NO_PLACE: Final = -1  # of a device that has to take a snapshot before it can go on


class Standing:
    """What became of a change; anything else is the club's verdict, and the diver is shown it.

    LET_GO stands before the verdict of a refused change with which the diver has dealt.
    """

    WAITING: Final = "waiting"
    ACCEPTED: Final = "accepted"
    LET_GO: Final = "let go, "


@dataclass(frozen=True, slots=True)
class Staging:
    """A snapshot under way: of which epoch, from which place in the log, and the last key that came."""

    epoch: int
    seq: int
    after: str = ""


@dataclass(frozen=True, slots=True)
class DeviceState:
    """What a device keeps of itself.

    origin   under which it makes changes
    number   of its latest change
    member   of the club that it speaks for, empty before it has joined one
    epoch, cursor   the place in the club's log up to which it knows everything
    """

    origin: str
    number: int = 0
    member: str = ""
    clock: StampClock = field(default_factory=StampClock)
    epoch: int = 0
    cursor: int = NO_PLACE
    staging: Staging | None = None


@dataclass(frozen=True, slots=True)
class OwnChange:
    """A change that this device made or carries.

    place   in the order of arrival, 0 before it is kept
    stamp, seq   that the club gave it, "" and 0 before
    """

    change: Change
    standing: str = Standing.WAITING
    stamp: str = ""
    seq: int = 0
    place: int = 0


class DeviceStore(Protocol):
    """The device's side of a sync. Everything within one `change` is kept together or not at all."""

    def change(self) -> AbstractContextManager[None]:
        """Begin a transaction that is on the disk when it ends."""

    def state(self) -> DeviceState:
        """Return the device's state."""

    def put_state(self, state: DeviceState) -> None:
        """Keep the device's state."""

    def own(self, change_id: str) -> OwnChange | None:
        """Return a change, None where it is not here."""

    def put_own(self, own: OwnChange) -> None:
        """Keep a change; one that is here already keeps its place."""

    def own_of(self, owner: str, record: str) -> list[OwnChange]:
        """Return the changes of a record; the owner is empty for one's own."""

    def own_standing(self, standing: str, after: int, limit: int) -> list[OwnChange]:
        """Return the changes of this standing after this place, in order."""

    def accepted(self, origin: str) -> int:
        """Return how many changes of this origin were accepted."""

    def decided(self, key: str) -> Record:
        """Return what the club decided of a record, an empty one where it knows none."""

    def put_decided(self, key: str, record: Record) -> None:
        """Keep what the club decided; an empty record is forgotten."""

    def decided_keys(self) -> list[str]:
        """Return the keys of all records that the club showed."""

    def digests(self) -> Iterable[tuple[str, str]]:
        """Return key and digest of all records that the club showed."""

    def stage(self, records: Mapping[str, Record]) -> None:
        """Keep a page of a snapshot beside what is there."""

    def staged(self, key: str) -> Record:
        """Return a record of the snapshot under way."""

    def drop_staged(self) -> None:
        """Forget the snapshot under way."""

    def swap_staged(self) -> None:
        """Let the snapshot take the place of everything that the club had decided."""

    def carried(self) -> Mapping[str, Record]:
        """Return one's own records that have to be given to the club, by their names."""

    def put_carried(self, record_name: str, record: Record) -> None:
        """Keep a record to be given to the club; an empty one is taken off the list."""

    def blobs_to_offer(self) -> list[str]:
        """Return the blobs that are here and that the club is not known to have."""

    def blobs_to_get(self) -> list[str]:
        """Return the blobs that records name and that are not here."""

    def put_at_club(self, names: Iterable[str], there: bool) -> None:
        """Keep whether the club has blobs; no names mean all."""

    def blob_size(self, name: str) -> int | None:
        """Return the size of a blob that is here, None where it is not."""

    def blob_part(self, name: str, at: int, most: int) -> bytes:
        """Return bytes of a blob that is here."""

    def arrived(self, name: str) -> int:
        """Return how many bytes of an incomplete blob are here."""

    def put_part(self, name: str, at: int, data: bytes) -> None:
        """Keep bytes of an incomplete blob, which is cut at this place first."""

    def finish_blob(self, name: str) -> bool:
        """Make an incomplete blob complete where its bytes have this name, else drop it."""

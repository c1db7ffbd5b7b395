"""Two devices of one diver without a club: everything one of them knows in one file for the other.

The same rules as with a club: changes are known by their content and merge by what they saw, records
merge with what is there, blobs are what their name says or nothing. Taking a file in twice, or the
files of three devices in any order, comes to the same. Where a club is joined later, what came by
file goes to it as the device's own would.

A file holds one diver's own records. It says whose they are once a club has given the diver a name;
a file of another member is refused, because it would make their dives one's own.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Final

from logbook_app.dive.problems import RefusedMessage
from logbook_app.language import _
from logbook_app.sync.changes import ANY_OWNER, RECORD_NAME, SHA256, Change, name_of, owner_of
from logbook_app.sync.device_store import DeviceStore, OwnChange, Standing
from logbook_app.sync.merging import NO_RECORD, knows_all_of, merged
from logbook_app.sync.messages import Fields, MaybeStamp, canonical_bytes
from logbook_app.sync.wire import Matching, Within, parsed_json, reader_of, to_json

FORMAT: Final = "leadline changes"
VERSION: Final = 1
LARGEST_FILE: Final = 512 * 2**20
_MANY: Final = Within(0, 10_000_000)


@dataclass(frozen=True, slots=True)
class CarriedChange:
    """A change, and the stamp that a club gave it."""

    change: Change
    stamp: MaybeStamp = ""


@dataclass(frozen=True, slots=True)
class Bundle:
    """What one device hands to another.

    member    of a club whose records these are, empty where there is none yet
    changes   made on the device, or brought to it, save those that a club refused
    records   of the diver's own that a club showed it, by name
    blobs     the bytes that they name
    """

    member: Annotated[str, Matching(ANY_OWNER)]
    changes: Annotated[tuple[CarriedChange, ...], _MANY]
    records: Annotated[Mapping[Annotated[str, Matching(RECORD_NAME)], Fields], _MANY]
    blobs: Annotated[
        Mapping[Annotated[str, Matching(SHA256)], Annotated[bytes, Within(0, 20 * 2**20)]], _MANY
    ]


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What a file brought that was new here."""

    changes: int = 0
    records: int = 0
    blobs: int = 0


def bundle_of(store: DeviceStore, blobs: Mapping[str, bytes]) -> Bundle:
    """Return what this device knows of its diver's own records.

    blobs   the complete bytes that these records name, as far as they are here
    """
    member = store.state().member
    keys = [key for key in store.decided_keys() if owner_of(key) == member]
    records = {name_of(key): store.decided(key) for key in keys}
    for name, record in store.carried().items():
        records[name] = merged(records.get(name, NO_RECORD), record)
    standing = (Standing.WAITING, Standing.ACCEPTED)
    own = [each for name in standing for each in store.own_standing(name, 0, 10**9)]
    changes = [CarriedChange(each.change, each.stamp) for each in own if each.change.owner in ("", member)]
    return Bundle(member, tuple(changes), records, blobs)


def bundle_to_bytes(bundle: Bundle) -> bytes:
    """Return a bundle as the bytes of its file."""
    return canonical_bytes({"format": FORMAT, "version": VERSION, **to_json(bundle), "end": True})


def parse_bundle(data: bytes) -> Bundle:
    """Return the bundle in a file's bytes. Raises RefusedMessage for anything else, half a file included."""
    told = parsed_json(data, LARGEST_FILE)
    if not isinstance(told, dict) or told.get("format") != FORMAT:
        raise RefusedMessage(
            _('The file holds no changes of a logbook: its "format" is not "{form}".').format(form=FORMAT)
        )
    if told.get("version") != VERSION or told.get("end") is not True:
        raise RefusedMessage(
            _(
                "The file is of another version or not complete; update Leadline on both devices, write it"
                " again."
            )
        )
    bundle: Bundle = reader_of(Bundle)(told, "the file")
    for name, blob in bundle.blobs.items():
        if hashlib.sha256(blob).hexdigest() != name:
            raise RefusedMessage(
                _("The file is damaged: the samples {name} are not what was written.").format(name=name[:12])
            )
    return bundle


def take_in(store: DeviceStore, bundle: Bundle) -> TakenIn:
    """Keep what a bundle brings, all of it or none. Raises RefusedMessage for another member's.

    Afterwards the device has every record and change of the other; the other one needs this one's file
    to have the same.
    """
    member = store.state().member
    if bundle.member and member and bundle.member != member:
        raise RefusedMessage(_("The file is of another member of the club; nothing was taken in."))
    with store.change():
        changes = sum(_keep_change(store, each) for each in bundle.changes)
        records = sum(_keep_record(store, member, name, record) for name, record in bundle.records.items())
        blobs = sum(_keep_blob(store, name, data) for name, data in bundle.blobs.items())
        return TakenIn(changes, records, blobs)


def _keep_change(store: DeviceStore, brought: CarriedChange) -> bool:
    if store.own(brought.change.id) is not None:
        return False
    store.put_own(OwnChange(brought.change, stamp=brought.stamp))
    return True


def _keep_record(store: DeviceStore, member: str, name: str, record: Fields) -> bool:
    carried = store.carried().get(name, NO_RECORD)
    if knows_all_of(merged(store.decided(f"{member}/{name}"), carried), record):
        return False
    store.put_carried(name, merged(carried, record))
    return True


def _keep_blob(store: DeviceStore, name: str, data: bytes) -> bool:
    if store.blob_size(name) is not None:
        return False
    store.put_part(name, 0, data)
    return store.finish_blob(name)

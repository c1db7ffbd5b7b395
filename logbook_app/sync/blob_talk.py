"""Bytes that records name, to the club and from it, in parts that go on where they were cut."""

from __future__ import annotations

from logbook_app.sync.asking import HeardNo, Talk, ask
from logbook_app.sync.device_store import DeviceStore
from logbook_app.sync.messages import MOST_RECORDS, BlobPart, Blobs, Code, GetBlob, PutBlob, Wanted


def offer_blobs(store: DeviceStore, part: int) -> Talk[int]:
    """Send what the club wants of the blobs that are here, and return how many it has whole now.

    part   of a blob in one message [bytes]
    """
    names, sent = store.blobs_to_offer(), 0
    for at in range(0, len(names), MOST_RECORDS):
        answer = yield from ask(Blobs(tuple(names[at : at + MOST_RECORDS])), Wanted)
        for name, arrived in answer.names.items():
            sent += yield from _put_blob(store, name, arrived, part)
        if answer.there:
            with store.change():
                store.put_at_club(sorted(answer.there), there=True)
    return sent


def _put_blob(store: DeviceStore, name: str, at: int, part: int) -> Talk[bool]:
    size = store.blob_size(name)
    if size is None:
        return False
    while True:
        data = store.blob_part(name, at, part)
        answer = yield from ask(PutBlob(name, at, size, data), BlobPart)
        if answer.at <= at and answer.at != size:
            return False  # the club begins this blob again, the next time
        at = answer.at
        if at == size:
            break
    with store.change():
        store.put_at_club([name], there=True)
    return True


def get_blobs(store: DeviceStore) -> Talk[int]:
    """Fetch the blobs that records name and that are not here, and return how many came whole."""
    received = 0
    for name in store.blobs_to_get():
        try:
            received += yield from _get_blob(store, name)
        except HeardNo as heard:
            if heard.code != Code.MISSING:
                raise
    return received


def _get_blob(store: DeviceStore, name: str) -> Talk[bool]:
    while True:
        arrived = store.arrived(name)
        part = yield from ask(GetBlob(name, arrived), BlobPart)
        if (part.name, part.at) != (name, arrived):
            return False
        with store.change():
            store.put_part(name, part.at, part.data)
            if part.at + len(part.data) >= part.size:
                return store.finish_blob(name)
        if not part.data:
            return False

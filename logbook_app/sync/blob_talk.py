"""Bytes that records name, to the club and from it: small ones together, large ones in parts.

Parts go on where they were cut. A blob that is no longer than a part travels with others in one message,
which is one transaction at either end: ten thousand dives have ten thousand profiles.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from logbook_app.sync.asking import HeardNo, Talk, ask
from logbook_app.sync.device_store import DeviceStore
from logbook_app.sync.messages import (
    LARGEST_PART,
    MOST_BLOBS,
    MOST_RECORDS,
    BlobPart,
    BlobParts,
    Blobs,
    Code,
    GetBlob,
    GetBlobs,
    PutBlob,
    PutBlobs,
    Wanted,
)

FULL_MESSAGE = 4 * LARGEST_PART  # bytes of blobs; they grow by a third on their way


def offer_blobs(store: DeviceStore, part: int) -> Talk[int]:
    """Send what the club wants of the blobs that are here, and return how many it has whole now.

    part   of a blob in one message [bytes]
    """
    names, sent = store.blobs_to_offer(), 0
    for at in range(0, len(names), MOST_RECORDS):
        answer = yield from ask(Blobs(tuple(names[at : at + MOST_RECORDS])), Wanted)
        small, large = _by_size(store, answer.names, part)
        for together in _together(store, small):
            sent += yield from _put_together(store, together)
        for name in large:
            sent += yield from _put_blob(store, name, answer.names[name], part)
        if answer.there:
            with store.change():
                store.put_at_club(sorted(answer.there), there=True)
    return sent


def _by_size(store: DeviceStore, wanted: Mapping[str, int], part: int) -> tuple[dict[str, int], list[str]]:
    """Return the blobs that go whole, with their sizes, and those that go in parts or have begun to."""
    small: dict[str, int] = {}
    for name, arrived in wanted.items():
        size = store.blob_size(name)
        if size is not None and size <= part and not arrived:
            small[name] = size
    return small, [name for name in wanted if name not in small]


def _together(store: DeviceStore, sizes: Mapping[str, int]) -> Iterator[tuple[PutBlob, ...]]:
    parts: list[PutBlob] = []
    full = 0
    for name, size in sizes.items():
        if parts and (full + size > FULL_MESSAGE or len(parts) == MOST_BLOBS):
            yield tuple(parts)
            parts, full = [], 0
        parts.append(PutBlob(name, 0, size, store.blob_part(name, 0, size)))
        full += size
    if parts:
        yield tuple(parts)


def _put_together(store: DeviceStore, parts: tuple[PutBlob, ...]) -> Talk[int]:
    answer = yield from ask(PutBlobs(parts), BlobParts)
    sizes = {part.name: part.size for part in parts}
    whole = [told.name for told in answer.parts if told.at == sizes.get(told.name)]
    if whole:
        with store.change():
            store.put_at_club(whole, there=True)
    return len(whole)


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
    names = store.blobs_to_get()
    begun = [name for name in names if store.arrived(name)]
    received, long = yield from _get_together(store, sorted(set(names).difference(begun)))
    for name in (*begun, *long):
        try:
            received += yield from _get_blob(store, name)
        except HeardNo as heard:
            if heard.code != Code.MISSING:
                raise
    return received


def _get_together(store: DeviceStore, names: list[str]) -> Talk[tuple[int, list[str]]]:
    """Fetch blobs from their beginning; return how many came whole, and of which a part has come."""
    received, long = 0, list[str]()
    while names:
        asked = tuple(names[:MOST_BLOBS])
        answer = yield from ask(GetBlobs(asked), BlobParts)
        parts = [part for part in answer.parts if part.name in set(asked) and part.at == 0]
        with store.change():
            received += sum(_is_whole(store, part) for part in parts)
        long += [part.name for part in parts if 0 < len(part.data) < part.size]
        names = names[answer.done :]
    return received, long


def _is_whole(store: DeviceStore, part: BlobPart) -> bool:
    """Keep the beginning of a blob and return whether that was all of it."""
    store.put_part(part.name, 0, part.data)
    return len(part.data) >= part.size and store.finish_blob(part.name)


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

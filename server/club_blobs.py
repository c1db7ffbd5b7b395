"""Bytes that records name: taken in parts, kept under their SHA-256 or not at all, for who may see them."""

from __future__ import annotations

from typing import Final

from logbook_app.sync.changes import EVERYBODY
from logbook_app.sync.messages import (
    LARGEST_BLOB,
    BlobPart,
    BlobParts,
    Blobs,
    Code,
    GetBlob,
    GetBlobs,
    PutBlob,
    PutBlobs,
    Refusal,
    Reply,
    Wanted,
)
from server.club_store import ClubStore
from server.permissions import Caller, may_write

FULL_ANSWER: Final = 2**20  # bytes of blobs


class ClubBlobs:
    """One club's blobs.

    largest_part   of a blob, in one answer [bytes]
    """

    def __init__(self, store: ClubStore, largest_part: int) -> None:
        self._store, self._largest_part = store, largest_part

    def wanted(self, asked: Blobs, caller: Caller) -> Reply:
        """Answer which blobs the club wants and which it has, of those that the caller's records name."""
        missing = [name for name in asked.names if self._store.blob_size(name) is None]
        wanted = {name: self._store.arrived(name) for name in missing if self._may_put(name, caller)}
        there = {name for name in asked.names if name not in missing and self._may_get(name, caller)}
        return Wanted(wanted, frozenset(there))

    def put(self, part: PutBlob, caller: Caller) -> Reply:
        """Take a part; the answer says where the next one begins."""
        if not self._may_put(part.name, caller):
            return Refusal(Code.MISSING)
        if self._store.blob_size(part.name) is not None:
            return BlobPart(part.name, part.size, part.size)
        arrived = self._store.arrived(part.name)
        if part.at > arrived or part.at + len(part.data) > min(part.size, LARGEST_BLOB):
            return BlobPart(part.name, arrived, part.size)
        self._store.put_part(part.name, part.at, part.data)
        arrived = part.at + len(part.data)
        if arrived == part.size and not self._store.finish_blob(part.name):
            arrived = 0
        return BlobPart(part.name, arrived, part.size)

    def get(self, asked: GetBlob, caller: Caller) -> Reply:
        """Give a part of a blob that a record names which the caller may see."""
        size = self._store.blob_size(asked.name)
        if size is None or not self._may_get(asked.name, caller):
            return Refusal(Code.MISSING)
        data = self._store.blob_part(asked.name, asked.at, self._largest_part)
        return BlobPart(asked.name, asked.at, size, data)

    def put_many(self, asked: PutBlobs, caller: Caller) -> Reply:
        """Take the beginnings of many blobs."""
        answers = [self.put(part, caller) for part in asked.parts]
        parts = tuple(answer for answer in answers if isinstance(answer, BlobPart))
        return BlobParts(parts, len(asked.parts))

    def get_many(self, asked: GetBlobs, caller: Caller) -> Reply:
        """Give the beginnings of blobs, until there are enough for one answer."""
        parts, done, told = list[BlobPart](), 0, 0
        for name in asked.names:
            answer = self.get(GetBlob(name, 0), caller)
            done += 1
            if isinstance(answer, BlobPart):
                parts.append(answer)
                told += len(answer.data)
            if told > FULL_ANSWER:
                break
        return BlobParts(tuple(parts), done)

    def _may_get(self, name: str, caller: Caller) -> bool:
        who = {caller.member, EVERYBODY}
        return any(self._store.audience(key) & who for key in self._store.naming(name))

    def _may_put(self, name: str, caller: Caller) -> bool:
        keys = self._store.naming(name)
        return any(may_write(caller, key, self._store.record(key), ()) for key in keys)

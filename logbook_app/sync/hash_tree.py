"""Whether two ends hold the same records, and if not, which differ, without sending them.

Every record has a digest. Records fall into 256 buckets by their keys; a bucket's digest is over its
records, the root is over the buckets. Equal roots and counts mean equal records. Otherwise the
buckets that differ are listed, and only the records that differ in them are fetched: a club of a
million records finds one that rotted with three short questions.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from logbook_app.sync.changes import canonical
from logbook_app.sync.merging import Record

BUCKETS: Final = 256


@dataclass(frozen=True, slots=True)
class Tree:
    """The digests of many records: how many, over all, and of each bucket that is not empty."""

    count: int
    root: str
    buckets: Mapping[int, str]


def record_digest(record: Record) -> str:
    """Return the digest of one record: its heads, their stamps and values, and its past.

    Over what `to_json` gives, written out: it is done for every record that comes and that is written.
    """
    fields = {
        name: {
            "heads": [
                {"change": edit.change, "stamp": edit.stamp, "value": edit.value} for edit in field.heads
            ],
            "past": sorted(field.past),
        }
        for name, field in record.items()
    }
    return _digest(canonical(fields))


def bucket_of(key: str) -> int:
    """Return the bucket that a record of this key falls into."""
    return hashlib.sha256(key.encode()).digest()[0]


def tree_of(digests: Iterable[tuple[str, str]]) -> Tree:
    """Return the tree of records, given by key and digest in any order."""
    fallen: dict[int, list[str]] = defaultdict(list)
    for key, digest in digests:
        fallen[bucket_of(key)].append(f"{key} {digest}")
    buckets = {bucket: _digest("\n".join(sorted(lines))) for bucket, lines in sorted(fallen.items())}
    root = _digest("\n".join(f"{bucket} {digest}" for bucket, digest in buckets.items()))
    return Tree(sum(map(len, fallen.values())), root, buckets)


def differing_buckets(mine: Mapping[int, str], theirs: Mapping[int, str]) -> list[int]:
    """Return the buckets in which two trees differ."""
    return [bucket for bucket in range(BUCKETS) if mine.get(bucket) != theirs.get(bucket)]


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:32]

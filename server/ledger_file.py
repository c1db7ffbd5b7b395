"""The ledger in a file of its own: one line of JSON for everything that no backup may undo.

It lies beside the database and is not part of its backups. Lines are only ever added, and are on the
disk before what they tell of happens. A last line that was cut by a power failure tells of something
that had not happened yet, and is passed over.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from pathlib import Path


class FileLedger:
    """See `club_store.Ledger`.

    path   of the file; made with its first line
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._erased: dict[str, None] = {}
        self._removed: dict[str, None] = {}
        self._epoch = 1
        self._read()

    def _read(self) -> None:
        data = self._path.read_bytes() if self._path.exists() else b""
        whole = data[: data.rfind(b"\n") + 1]
        for line in whole.splitlines():
            self._take(json.loads(line))
        if len(whole) < len(data):
            os.truncate(self._path, len(whole))

    def _take(self, told: dict[str, str | int]) -> None:
        if "erased" in told:
            self._erased[str(told["erased"])] = None
        if "removed" in told:
            self._removed[str(told["removed"])] = None
        self._epoch = max(self._epoch, int(told.get("epoch", 1)))

    def _write(self, told: dict[str, str | int]) -> None:
        self._take(told)
        with self._path.open("ab") as file:
            file.write(json.dumps(told).encode() + b"\n")
            file.flush()
            os.fsync(file.fileno())

    def erased(self, member: str) -> bool:
        """See Ledger."""
        return member in self._erased

    def removed(self, key: str) -> bool:
        """See Ledger."""
        return key in self._removed

    def erased_members(self) -> Iterable[str]:
        """See Ledger."""
        return list(self._erased)

    def removed_keys(self) -> Iterable[str]:
        """See Ledger."""
        return list(self._removed)

    def write_erased(self, member: str) -> None:
        """See Ledger."""
        self._write({"erased": member})

    def write_removed(self, key: str) -> None:
        """See Ledger."""
        self._write({"removed": key})

    def next_epoch(self, at_least: int) -> int:
        """See Ledger."""
        self._write({"epoch": max(self._epoch + 1, at_least)})
        return self._epoch

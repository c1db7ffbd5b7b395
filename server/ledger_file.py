"""The ledger in a file of its own: one line of JSON for everything that no backup may undo.

It lies beside the database and is not part of its backups. Lines are only ever added, and are on the
disk before what they tell of happens. A last line that was cut by a power failure tells of something
that had not happened yet, and is passed over; it stays, marked by the line after it, because another
process may be writing at this moment.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from pathlib import Path
from typing import BinaryIO, Final

_CUT: Final = b"..."


class FileLedger:
    """See `club_store.Ledger`.

    path   of the file; made with its first line
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._erased: dict[str, None] = {}
        self._removed: dict[str, None] = {}
        self._revoked: dict[str, None] = {}
        self._epoch = 1
        self._read_to = 0
        self._read()

    def _read(self) -> None:
        """Take in what was added since, by this process or another."""
        if not self._path.exists() or self._path.stat().st_size == self._read_to:
            return
        with self._path.open("rb") as file:
            file.seek(self._read_to)
            data = file.read()
        whole = data[: data.rfind(b"\n") + 1]
        for line in whole.splitlines():
            if not line.endswith(_CUT):
                self._take(json.loads(line))
        self._read_to += len(whole)

    @property
    def epoch(self) -> int:
        """The latest epoch that was begun."""
        self._read()
        return self._epoch

    def _take(self, told: dict[str, str | int]) -> None:
        if "erased" in told:
            self._erased[str(told["erased"])] = None
        if "removed" in told:
            self._removed[str(told["removed"])] = None
        if "revoked" in told:
            self._revoked[str(told["revoked"])] = None
        self._epoch = max(self._epoch, int(told.get("epoch", 1)))

    def _write(self, told: dict[str, str | int]) -> None:
        with self._path.open("a+b") as file:
            file.write(self._end_of_a_cut_line(file) + json.dumps(told).encode() + b"\n")
            file.flush()
            os.fsync(file.fileno())
        self._read()

    def _end_of_a_cut_line(self, file: BinaryIO) -> bytes:
        if not file.seek(0, os.SEEK_END):
            return b""
        file.seek(-1, os.SEEK_END)
        return b"" if file.read() == b"\n" else _CUT + b"\n"

    def erased(self, member: str) -> bool:
        """See Ledger."""
        self._read()
        return member in self._erased

    def removed(self, key: str) -> bool:
        """See Ledger."""
        self._read()
        return key in self._removed

    def erased_members(self) -> Iterable[str]:
        """See Ledger."""
        self._read()
        return list(self._erased)

    def removed_keys(self) -> Iterable[str]:
        """See Ledger."""
        self._read()
        return list(self._removed)

    def revoked_devices(self) -> Iterable[str]:
        """See Ledger."""
        self._read()
        return list(self._revoked)

    def write_erased(self, member: str) -> None:
        """See Ledger."""
        self._write({"erased": member})

    def write_removed(self, key: str) -> None:
        """See Ledger."""
        self._write({"removed": key})

    def write_revoked(self, device: str) -> None:
        """See Ledger."""
        self._write({"revoked": device})

    def next_epoch(self, at_least: int) -> int:
        """See Ledger."""
        self._write({"epoch": max(self.epoch + 1, at_least)})
        return self._epoch

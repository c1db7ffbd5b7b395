"""Pictures in the logbook file, named by what is in them: kept once, never changed, never taken away.

They lie in the file itself and not in a folder beside it, so that a copy of the file is a copy of the
logbook: backup, restore and check take them along without knowing of them.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from hashlib import sha256 as digest_of
from pathlib import Path

from logbook_app.dive.problems import LogbookError
from logbook_app.language import _
from logbook_app.store.logbook_file import reading

KeptPicture = tuple[str, bytes, bytes]
"""Name, the picture as its file has it, and a small one (JPEG)."""


class PictureShelf:
    """The pictures of one logbook file.

    connection   to the file; `keep` runs within the caller's change
    """

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self._connection, self._path = connection, path

    def keep(self, pictures: Iterable[KeptPicture]) -> None:
        """Keep pictures that are not there yet, within a change."""
        self._connection.executemany(
            "INSERT OR IGNORE INTO pictures (sha256, image, thumbnail) VALUES (?, ?, ?)", pictures
        )

    def image(self, sha256: str) -> bytes:
        """Return a picture as its file had it. Raises LogbookError where it is missing or damaged."""
        with reading(self._connection, self._path):
            row = self._connection.execute("SELECT image FROM pictures WHERE sha256 = ?", [sha256]).fetchone()
        if row is None:
            raise LogbookError(
                _("This picture is not in the logbook; it may have been added on another device.")
            )
        if digest_of(row[0]).hexdigest() != sha256:
            raise LogbookError(_("This picture is damaged in the logbook; put back the last backup."))
        return bytes(row[0])

    def thumbnails(self, names: Sequence[str]) -> dict[str, bytes]:
        """Return the small pictures of those names that are there."""
        query = "SELECT thumbnail FROM pictures WHERE sha256 = ?"
        with reading(self._connection, self._path):
            found = {name: self._connection.execute(query, [name]).fetchone() for name in names}
        return {name: bytes(row[0]) for name, row in found.items() if row is not None}

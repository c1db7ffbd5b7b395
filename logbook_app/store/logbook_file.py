"""The logbook file as a file: whose it is, how it is opened, and what to say when it fails.

The file is an SQLite database that carries Leadline's own application id in its header. Anything
else is refused before SQLite is let near it, so that a mistyped path changes nothing.

Writing goes to a log beside the file (`-wal`) which SQLite syncs to the disk before a change counts
as made; a crash, a kill or a flat battery leaves either all of a change or none of it.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from logbook_app.dive.problems import LogbookError
from logbook_app.language import _, later

APPLICATION_ID = int.from_bytes(b"Lead", "big")

# A write waits this long for another program to finish its own. Our longest change, an import of
# several hundred dives, takes under a second on a tablet.
WAIT_FOR_OTHERS_S = 10.0

_LARGE_TABLES = frozenset({"profiles", "pictures", "derived", "history"})

_SQLITE_MAGIC = b"SQLite format 3\0"
_APPLICATION_ID_AT = 68  # https://www.sqlite.org/fileformat.html#the_database_header

_NOT_ALLOWED = later("the system does not allow it; check who owns the file and its folder")
_IN_USE = later("another program is writing to it; close that program or try again in a moment")
_READ_ONLY = later("it is read-only; allow writing to it and its folder, or choose another place")
_NO_PLACE = later("it cannot be opened; check that its folder is there and may be written to")
_BAD_DISK = later("the disk does not answer as it should; check it before anything else is saved")
_TROUBLE = {
    sqlite3.SQLITE_FULL: later("the disk is full; make room and try again, nothing of this change was kept"),
    sqlite3.SQLITE_READONLY: _READ_ONLY,
    sqlite3.SQLITE_PERM: _NOT_ALLOWED,
    sqlite3.SQLITE_AUTH: _NOT_ALLOWED,
    sqlite3.SQLITE_BUSY: _IN_USE,
    sqlite3.SQLITE_LOCKED: _IN_USE,
    sqlite3.SQLITE_NOTADB: later("it is damaged or no longer a logbook; put back the last backup"),
    sqlite3.SQLITE_CORRUPT: later("it is damaged; keep a copy of it as it is and put back the last backup"),
    sqlite3.SQLITE_CANTOPEN: _NO_PLACE,
    sqlite3.SQLITE_IOERR: _BAD_DISK,
    sqlite3.SQLITE_NOMEM: later("there is not enough memory; close other programs and try again"),
    sqlite3.SQLITE_TOOBIG: later("a value is too long to keep; shorten it and try again"),
}


class LogbookConnection(sqlite3.Connection):
    """A connection to a logbook file.

    closed_because   why nothing is written to the file any more, a sentence; empty while it may be
    """

    closed_because: str = ""


def open_logbook_file(path: Path, *, only_read: bool = False) -> LogbookConnection:
    """Return a connection to the logbook at `path`, made with its folder where there is none.

    The connection has no transactions of its own (`isolation_level=None`): `change` and `reading`
    open them. Its tables are the business of `migrations`.

    Raises LogbookError where the place cannot be used or holds something that is not a logbook;
    what is there is then left as it was.
    """
    try:
        _make_place_for(path)
        _refuse_what_is_not_ours(path)
    except OSError as error:
        reason = error.strerror or str(error)
        sentence = _("The logbook {path} cannot be used: {reason}. Choose another place.")
        raise LogbookError(sentence.format(path=path, reason=reason)) from error
    with trouble_in_words(path):
        return sqlite3.connect(
            f"{path.absolute().as_uri()}?mode={'ro' if only_read else 'rw'}",
            uri=True,
            timeout=WAIT_FOR_OTHERS_S,
            isolation_level=None,
            check_same_thread=False,
            factory=LogbookConnection,
        )


def prepare(connection: sqlite3.Connection) -> None:
    """Mark the file as a logbook and set how it is written. Raises sqlite3.Error.

    The mark is written before the log is switched on, so that it stands in the file itself from the
    first moment and the next opening finds it there.
    """
    (marked,) = connection.execute("PRAGMA application_id").fetchone()
    if marked != APPLICATION_ID:
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA fullfsync = ON")  # Apple's plain fsync stops at the drive's own cache
    connection.execute("PRAGMA foreign_keys = ON")


@contextmanager
def change(connection: LogbookConnection, path: Path) -> Iterator[None]:
    """Hold the logbook for writing: all of what is done within is kept, or none of it.

    A file that turns out to be damaged is not written to again.

    Raises LogbookError, in words, for whatever SQLite says; any other exception passes through.
    """
    if connection.closed_because:
        raise LogbookError(connection.closed_because)
    try:
        with trouble_in_words(path), _transaction(connection, "BEGIN IMMEDIATE"):
            yield
    except LogbookError as error:
        if _says_damaged(error.__cause__):
            connection.closed_because = str(error)
        raise


def damaged_table(connection: sqlite3.Connection) -> str:
    """Return what SQLite finds broken in the tables of words and numbers, empty where nothing is.

    Samples and pictures are many times as much, have checksums of their own, and are looked through when the
    logbook is backed up.

    Raises sqlite3.DatabaseError or UnicodeDecodeError where the dives cannot be read at all.
    """
    try:
        return _first_damaged(connection)
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        if not _says_damaged(error):
            raise
        connection.execute("PRAGMA writable_schema = ON")  # what can be read is not hidden by what cannot
        with suppress(sqlite3.Error):
            connection.execute("SELECT id FROM dives LIMIT 1").fetchall()
            return str(error)
        raise


def _first_damaged(connection: sqlite3.Connection) -> str:
    query = "SELECT name FROM sqlite_master WHERE type = 'table' AND sql LIKE 'CREATE TABLE%' ORDER BY name"
    for (table,) in connection.execute(query).fetchall():
        if table not in _LARGE_TABLES and not table.startswith("sync_"):
            (said,) = connection.execute(f"PRAGMA quick_check('{table}')").fetchone()
            if said != "ok":
                return str(said)
    return ""


def _says_damaged(error: BaseException | None) -> bool:
    if isinstance(error, UnicodeDecodeError):  # a name or a sentence of SQLite's own that is none any more
        return True
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    return code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


@contextmanager
def reading(connection: sqlite3.Connection, path: Path) -> Iterator[None]:
    """Show the logbook as it is at one instant, whatever another program writes meanwhile."""
    with trouble_in_words(path), _transaction(connection, "BEGIN"):
        yield


@contextmanager
def trouble_in_words(path: Path) -> Iterator[None]:
    """Turn what SQLite says into one sentence for the diver, as a LogbookError."""
    try:
        yield
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF  # the low byte; the rest are details
        what = _(_TROUBLE.get(code, "")) or _("{error}; check the file or put back the last backup").format(
            error=error
        )
        sentence = _("The logbook {path} cannot be used: {what}.")
        raise LogbookError(sentence.format(path=path, what=what)) from error
    except UnicodeDecodeError as error:
        sentence = _("The logbook {path} cannot be used: {what}.")
        what = _(_TROUBLE[sqlite3.SQLITE_CORRUPT])
        raise LogbookError(sentence.format(path=path, what=what)) from error


@contextmanager
def _transaction(connection: sqlite3.Connection, begin: str) -> Iterator[None]:
    connection.execute(begin)
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:  # a full disk makes SQLite roll back by itself
            connection.execute("ROLLBACK")
        raise


def _make_place_for(path: Path) -> None:
    """Make the folder and an empty file that only their owner can read."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    if not path.exists():
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))


def refuse_what_is_not_a_logbook(path: Path) -> None:
    """Raise LogbookError where a file is neither a logbook nor empty. Raises OSError."""
    if not path.is_file():
        raise LogbookError(_("{path} is not a file; choose a file for the logbook.").format(path=path))
    with path.open("rb") as file:
        header = file.read(100)
    if header and not header.startswith(_SQLITE_MAGIC):
        raise LogbookError(
            _("{path} is not a logbook and was left alone; choose another file.").format(path=path)
        )
    if header and int.from_bytes(header[_APPLICATION_ID_AT:][:4], "big") != APPLICATION_ID:
        raise LogbookError(
            _("{path} is the database of another program and was left alone; choose another file.").format(
                path=path
            )
        )


def _refuse_what_is_not_ours(path: Path) -> None:
    refuse_what_is_not_a_logbook(path)
    if not (os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)):
        raise LogbookError(
            _("The logbook {path} or its folder is read-only; allow writing or choose another place.").format(
                path=path
            )
        )

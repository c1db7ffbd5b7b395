"""What can still be read of a damaged logbook, saved into a new one.

The damaged file is never written to, not even by SQLite replaying its log: a copy is read. Each table is
read row by row from both ends, and where a page cannot be read, one row after the other. What is saved is
looked through like any backup: samples that are not what their name says are left out and told. A letter of
a note that became another letter cannot be noticed: only samples and photos have a checksum.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
import uuid
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from logbook_app.dive.problems import LogbookError
from logbook_app.language import _, ngettext
from logbook_app.store.backup import BESIDE, takes_the_name
from logbook_app.store.check import sound_picture, sound_samples
from logbook_app.store.dive_rows import read_dives
from logbook_app.store.logbook_file import trouble_in_words
from logbook_app.store.logbook_store import OF_THE_SYNC, LogbookStore

# Made anew in the new file, or worked out again.
_NOT_COPIED: Final = frozenset({"migrations", "derived", "logbook"})
_SEARCHED: Final = "dive_word"
_MOST_ROWS_TRIED: Final = 200_000

Row = Sequence[Any]


@dataclass(frozen=True, slots=True)
class Salvaged:
    """What was saved of a damaged logbook.

    path       of the new logbook
    dives      how many are in it, those in its bin included
    samples    how many recordings' samples
    lost       what was not saved, a sentence each; empty where all was
    """

    path: Path
    dives: int
    samples: int
    lost: tuple[str, ...] = ()


@dataclass(slots=True)
class _Reading:
    """One table on its way over.

    rows     how many are saved
    broken   True where some could not be read
    """

    rows: int = 0
    broken: bool = False


def salvage(damaged: Path, path: Path) -> Salvaged:
    """Save what can be read of a damaged logbook into a new one.

    path   of the new logbook, a file that is not there yet

    Raises LogbookError where nothing can be read, or the new file cannot be written; the damaged one stays
    as it is in any case.
    """
    if path.exists():
        raise LogbookError(_("{path} is there already; choose a new name.").format(path=path))
    with takes_the_name(path) as unfinished, tempfile.TemporaryDirectory(dir=path.parent) as beside:
        LogbookStore(unfinished).close()
        with closing(_copy_of(damaged, Path(beside))) as source, _written(unfinished) as target:
            lost = [*_carry_over(source, target), *_put_in_order(target)]
            target.execute("UPDATE logbook SET words_version = 0")  # cut anew at the next opening
        with closing(LogbookStore(unfinished)) as store:
            lost += [problem.sentence() for problem in store.damage()]
        with _written(unfinished) as target:
            dives, samples = (
                target.execute(f"SELECT count(*) FROM {table}").fetchone()[0]  # noqa: S608
                for table in ("dives", "profiles")
            )
            target.execute("PRAGMA journal_mode = DELETE")  # one file, with nothing beside it
    return Salvaged(path, dives, samples, tuple(lost))


@contextmanager
def _written(path: Path) -> Iterator[sqlite3.Connection]:
    with trouble_in_words(path), closing(sqlite3.connect(path, isolation_level=None)) as connection:
        yield connection


def _copy_of(damaged: Path, folder: Path) -> sqlite3.Connection:
    """Open a copy of a file, with what SQLite keeps beside it. Raises LogbookError."""
    try:
        copied = Path(shutil.copyfile(damaged, folder / "damaged"))
        for ending in BESIDE:
            there = damaged.with_name(damaged.name + ending)
            if there.exists():
                shutil.copyfile(there, folder / f"damaged{ending}")
    except OSError as error:
        reason = error.strerror or str(error)
        words = _("{path} cannot be used: {reason}. Choose another place.")
        raise LogbookError(words.format(path=damaged, reason=reason)) from error
    connection = sqlite3.connect(copied, isolation_level=None)
    connection.text_factory = _text
    connection.execute("PRAGMA writable_schema = ON")  # a table that cannot be read does not hide the others
    return connection


def _text(data: bytes) -> str:
    return data.decode("utf-8", "replace")


def _carry_over(source: sqlite3.Connection, target: sqlite3.Connection) -> Iterator[str]:
    """Copy every table as far as it can be read, and yield what could not."""
    tables = _tables(target)
    try:
        there = set(_tables(source))
    except sqlite3.DatabaseError as error:
        raise LogbookError(
            _("Nothing of the file can be read ({how}). Put back the last backup.").format(how=error)
        ) from error
    target.execute("PRAGMA foreign_keys = OFF")
    target.execute("BEGIN")
    readings = {table: _copy_table(source, target, table) for table in tables if table in there}
    readings.setdefault("dives", _Reading(broken=True))
    if any(readings[table].broken for table in OF_THE_SYNC if table in readings):
        for table in OF_THE_SYNC:
            target.execute(f"DELETE FROM {table}")  # noqa: S608
        yield _("What the sync with the club kept could not be read: join the club again.")
    else:  # as after a backup: what is written from now on is not what was written before
        target.execute("UPDATE sync_state SET origin = ?, number = 0", [uuid.uuid4().hex])
    _mend_references(target)
    target.execute("COMMIT")
    if readings["dives"].broken and not readings["dives"].rows:
        raise LogbookError(_("No dive can be read in the file any more. Put back the last backup."))
    for table in tables:
        if table not in there:
            continue
        if readings[table].broken and table not in OF_THE_SYNC:
            yield _("Part of the table “{table}” could not be read; {count} of its rows are saved.").format(
                table=table, count=readings[table].rows
            )


def _tables(connection: sqlite3.Connection) -> list[str]:
    """Return the tables that are copied: neither SQLite's own nor what is worked out anew."""
    rows = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY rowid").fetchall()
    return [
        name for (name,) in rows if name not in _NOT_COPIED and not name.startswith(("sqlite_", _SEARCHED))
    ]


def _copy_table(source: sqlite3.Connection, target: sqlite3.Connection, table: str) -> _Reading:
    mine = [name for _cid, name, *_rest in target.execute(f"PRAGMA table_info({table})")]
    theirs = {name for _cid, name, *_rest in source.execute(f"PRAGMA table_info({table})")}
    columns = [name for name in mine if name in theirs]
    reading = _Reading()
    put = f"INSERT OR IGNORE INTO {table} ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})"  # noqa: S608
    for row in _rows(source, table, columns, reading):
        try:
            reading.rows += max(0, target.execute(put, row).rowcount)
        except sqlite3.Error:  # a value that cannot be kept: it was damaged without breaking the page
            reading.broken = True
    return reading


def _rows(source: sqlite3.Connection, table: str, columns: Sequence[str], reading: _Reading) -> Iterator[Row]:
    """Yield the rows that can be read, some perhaps twice; those of a broken page are left out."""
    listed = ", ".join(columns)
    by_number = _has_rowid(source, table)
    key = "rowid" if by_number else ", ".join(_key_of(source, table))
    last: dict[str, int | None] = {}
    for order in ("ASC", "DESC"):
        ordered = ", ".join(f"{each.strip()} {order}" for each in key.split(","))
        first = "rowid" if by_number else "0"
        query = f"SELECT {first}, {listed} FROM {table} ORDER BY {ordered}"  # noqa: S608
        last[order] = None
        try:
            for number, *row in source.execute(query):
                last[order] = number
                yield row
            return  # all of it, or all that is left
        except (sqlite3.DatabaseError, sqlite3.OperationalError):
            reading.broken = True
    if by_number:
        yield from _one_by_one(source, table, listed, last["ASC"], last["DESC"])


def _one_by_one(
    source: sqlite3.Connection, table: str, listed: str, after: int | None, before: int | None
) -> Iterator[Row]:
    """Yield the rows between two that can be read, each asked for by its number."""
    begin = (after or 0) + 1
    end = before if before is not None else begin + _MOST_ROWS_TRIED
    for number in range(begin, min(end, begin + _MOST_ROWS_TRIED)):
        try:
            row = source.execute(f"SELECT {listed} FROM {table} WHERE rowid = ?", [number]).fetchone()  # noqa: S608
        except sqlite3.DatabaseError:
            continue
        if row is not None:
            yield row


def _has_rowid(connection: sqlite3.Connection, table: str) -> bool:
    try:
        connection.execute(f"SELECT rowid FROM {table} LIMIT 0")  # noqa: S608
    except sqlite3.OperationalError:
        return False
    return True


def _key_of(connection: sqlite3.Connection, table: str) -> list[str]:
    info = connection.execute(f"PRAGMA table_info({table})").fetchall()
    return [row[1] for row in sorted(info, key=lambda row: row[5]) if row[5]]


def _mend_references(target: sqlite3.Connection) -> None:
    """Let nothing name what is not there: a dive keeps all but the name, a part of nothing goes."""
    for table, rowid, _parent, place in target.execute("PRAGMA foreign_key_check").fetchall():
        named = {row[0]: row[3] for row in target.execute(f"PRAGMA foreign_key_list({table})")}
        if named[place] in _key_of(target, table):
            target.execute(f"DELETE FROM {table} WHERE rowid = ?", [rowid])  # noqa: S608
        else:
            target.execute(f"UPDATE {table} SET {named[place]} = NULL WHERE rowid = ?", [rowid])  # noqa: S608


def _put_in_order(target: sqlite3.Connection) -> Iterator[str]:
    """Take out what is damaged within, and yield what that was."""
    samples = target.execute("SELECT sha256, samples FROM profiles")
    bad = [name for name, data in samples if not sound_samples(name, data)]
    _take_out(target, "profiles", bad)
    yield from _without_samples(target)
    pictures = target.execute("SELECT sha256, image FROM pictures")
    bad = [name for name, data in pictures if not sound_picture(name, data)]
    _take_out(target, "pictures", bad)
    if bad:
        yield ngettext("{count} photo is damaged.", "{count} photos are damaged.", len(bad)).format(
            count=len(bad)
        )
    for (dive_id,) in target.execute("SELECT id FROM dives ORDER BY began_at").fetchall():
        try:
            read_dives(target, "dives.id = ?", [dive_id])
        except LogbookError as error:
            target.execute("DELETE FROM dives WHERE id = ?", [dive_id])
            yield str(error)
    _mend_references(target)


def _take_out(target: sqlite3.Connection, table: str, names: Sequence[str]) -> None:
    target.executemany(f"DELETE FROM {table} WHERE sha256 = ?", [(name,) for name in names])  # noqa: S608


def _without_samples(connection: sqlite3.Connection) -> Iterator[str]:
    query = (
        "SELECT substr(began_at, 1, 16) FROM recordings JOIN dives ON dives.id = dive_id WHERE profile_sha256"
        " IS NOT NULL AND profile_sha256 NOT IN (SELECT sha256 FROM profiles) ORDER BY began_at"
    )
    for (when,) in connection.execute(query).fetchall():
        yield _("The samples of the dive of {when} are lost; read their file again.").format(when=when)
    connection.execute(
        "UPDATE recordings SET profile_sha256 = NULL"
        " WHERE profile_sha256 NOT IN (SELECT sha256 FROM profiles)"
    )

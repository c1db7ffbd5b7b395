"""One club, copied alone between databases, of whichever kind: for backups, and to put them back.

A backup is a SQLite file that holds one club and nothing else, wherever the club lives.
"""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from logbook_app.dive.problems import LeadlineError
from server.sql_club import SqlClub, open_club
from server.sqlite_database import SqliteDatabase
from server.tables import TABLES

MOST_TROUBLES: Final = 10**9


def copy_club(source: SqlClub, target: SqlClub) -> None:
    """Let one club be what the other is at this moment, in one transaction; its number stays its own."""
    with source.database.moment(), target.change():
        for table in TABLES:
            _copy(table, source, target)
        target.put_state(source.state())


def _copy(table: str, source: SqlClub, target: SqlClub) -> None:
    columns = ["club", *(name for name in source.database.columns(table) if name != "club")]
    rows = source.database.each(f"SELECT {', '.join(columns)} FROM {table} WHERE club = ?", source.number)
    target.database.run(f"DELETE FROM {table} WHERE club = ?", target.number)
    target.database.load(table, columns, ((target.number, *row[1:]) for row in rows))


def write_backup(club: SqlClub, path: Path) -> None:
    """Write a club into a file, which takes its name when it is whole. The club goes on meanwhile.

    Raises LeadlineError where the file is there already, or cannot be written.
    """
    if path.exists():
        raise LeadlineError(f"{path} is there already; choose another name.")
    try:
        with TemporaryDirectory(dir=path.parent, prefix="unfinished-") as folder:
            unfinished = Path(folder) / path.name
            with closing(open_club(SqliteDatabase(unfinished))) as backup:
                copy_club(club, backup)
            unfinished.rename(path)
    except OSError as error:
        raise LeadlineError(f"{path} cannot be written ({error.strerror}).") from error


@contextmanager
def opened_backup(path: Path, beside: Path) -> Iterator[SqlClub]:
    """Open a copy of a backup, which may be changed and is gone afterwards.

    beside   folder for the copy

    Raises LeadlineError for what is no whole backup of a club, ValueError for one of a newer program.
    """
    with TemporaryDirectory(dir=beside, prefix="restoring-") as folder, ExitStack() as stack:
        copy = Path(folder) / "club.sqlite"
        shutil.copyfile(path, copy)
        try:
            database = stack.enter_context(closing(SqliteDatabase(copy)))
            _look_whether_whole(database, path)
            club = open_club(database)
        except sqlite3.DatabaseError as error:
            raise LeadlineError(f"{path} is no backup of a club, or damaged ({error}).") from error
        yield club


def _look_whether_whole(database: SqliteDatabase, path: Path) -> None:
    kept = {name for (name,) in database.all("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    if not kept & {"clubs", "state"} or not kept >= {"records", "members", "tokens"}:
        raise LeadlineError(f"{path} is no backup of a club.")
    for (words,) in database.each(f"PRAGMA integrity_check({MOST_TROUBLES})"):
        # In tables laid out by their key SQLite 3.40 takes columns for NULL that are not.
        if words != "ok" and not words.startswith("NULL value in "):
            raise LeadlineError(f"{path} is damaged ({words}); take another backup.")

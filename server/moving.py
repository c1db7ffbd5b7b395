"""One club, copied alone between databases, of whichever kind: for backups, and to put them back.

A backup is a SQLite file that holds one club and nothing else, wherever the club lives.
"""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from logbook_app.dive.problems import LeadlineError
from server.sql_club import SqlClub, open_club
from server.sqlite_database import SqliteDatabase
from server.tables import TABLES


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

    Raises LeadlineError where the file is there already.
    """
    if path.exists():
        raise LeadlineError(f"{path} is there already; choose another name.")
    unfinished = path.with_name(f"{path.name}.unfinished")
    unfinished.unlink(missing_ok=True)
    with closing(open_club(SqliteDatabase(unfinished))) as backup:
        copy_club(club, backup)
    unfinished.rename(path)

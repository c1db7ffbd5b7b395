"""Clubs in one SQLite file.

Write-ahead log, `synchronous = FULL`: what was answered is on the disk. One writer at a time, who takes
the lock when the transaction begins, because a lock that is taken later may be refused half way.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any, ClassVar, Final

from server.database import Row

PATIENCE_MS: Final = 20_000  # for whoever writes at the moment


class SqliteDatabase:
    """See `database.Database` for every method.

    connection   to the file
    """

    words: ClassVar[Mapping[str, str]] = {"text": "TEXT", "bytes": "BLOB", "by_key": " WITHOUT ROWID"}
    lock: ClassVar[str] = ""  # a transaction that changes something has the whole file

    def __init__(self, path: Path | str) -> None:
        self._path = path
        self.connection = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
        for pragma in (
            f"busy_timeout = {PATIENCE_MS}", "journal_mode = WAL", "synchronous = FULL",
            "trusted_schema = OFF",
        ):  # fmt: skip
            self.connection.execute(f"PRAGMA {pragma}")

    def again(self) -> SqliteDatabase:
        """See Database."""
        return SqliteDatabase(self._path)

    def close(self) -> None:
        """See Database."""
        self.connection.close()

    @contextmanager
    def _transaction(self, begin: str) -> Iterator[None]:
        self.connection.execute(begin)
        try:
            yield
            self.connection.execute("COMMIT")
        except BaseException:
            if self.connection.in_transaction:
                self.connection.execute("ROLLBACK")
            raise

    def change(self) -> AbstractContextManager[None]:
        """See Database."""
        return self._transaction("BEGIN IMMEDIATE")

    def alone(self) -> AbstractContextManager[None]:
        """See Database."""
        return self._transaction("BEGIN IMMEDIATE")

    def moment(self) -> AbstractContextManager[None]:
        """See Database."""
        return self._transaction("BEGIN")

    def run(self, query: str, *values: Any) -> None:
        """See Database."""
        self.connection.execute(query, values)

    def one(self, query: str, *values: Any) -> Row | None:
        """See Database."""
        row: Row | None = self.connection.execute(query, values).fetchone()
        return row

    def all(self, query: str, *values: Any) -> list[Row]:
        """See Database."""
        return self.connection.execute(query, values).fetchall()

    def each(self, query: str, *values: Any) -> Iterator[Row]:
        """See Database."""
        return iter(self.connection.execute(query, values))

    def columns(self, table: str) -> list[str]:
        """See Database."""
        return [column[0] for column in self.connection.execute(f"SELECT * FROM {table} LIMIT 0").description]

    def load(self, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
        """See Database."""
        places = ", ".join("?" * len(columns))
        self.connection.executemany(f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({places})", rows)

    def form(self) -> int:
        """See Database."""
        row = self.one("PRAGMA user_version")
        return int(row[0]) if row else 0

    def put_form(self, form: int) -> None:
        """See Database."""
        self.run(f"PRAGMA user_version = {form}")

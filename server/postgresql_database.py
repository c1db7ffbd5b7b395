"""Clubs in a PostgreSQL database, over one connection.

Everything that changes a club first locks the club's row, so a club has one writer at a time and clubs do
not wait for each other. Each statement then sees what was committed before it ran (`READ COMMITTED`):
of this club that is what the writer before left, and nothing moves until the transaction ends.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from functools import lru_cache
from itertools import count
from typing import Any, ClassVar, Final

import psycopg

from logbook_app.dive.problems import LeadlineError
from server.database import Row

AT_ONCE: Final = 1_000  # rows that come in one message
_FOR_TABLES: Final = 8_440  # names the lock under which tables are made
_SESSION: Final = (
    "SET lock_timeout = '20s'",  # for whoever changes the club at the moment
    "SET idle_in_transaction_session_timeout = '60s'",  # a process that hangs lets go of its club
    # What was answered is on the disk, whatever the server does for others; what is stricter stays.
    "SELECT set_config('synchronous_commit', 'on', false)"
    " WHERE current_setting('synchronous_commit') = 'off'",
)


class PostgresqlDatabase:
    """See `database.Database` for every method.

    address   postgresql://user@host/database

    Raises LeadlineError where it does not answer.
    """

    # Keys sort as Python and SQLite sort them, in whatever language the database was set up.
    words: ClassVar[Mapping[str, str]] = {"text": 'TEXT COLLATE "C"', "bytes": "BYTEA", "by_key": ""}
    lock: ClassVar[str] = " FOR UPDATE"

    def __init__(self, address: str) -> None:
        self._address = address
        self._within = False
        self._names = count()
        self._connection = self._connected()

    def _connected(self) -> psycopg.Connection[Row]:
        try:
            connection = psycopg.connect(self._address, autocommit=True, connect_timeout=10)
        except psycopg.Error as error:
            words = str(error).strip().splitlines()[-1]
            raise LeadlineError(f"The database does not answer ({words}); look at its address.") from error
        for statement in _SESSION:
            connection.execute(statement)
        return connection

    def again(self) -> PostgresqlDatabase:
        """See Database."""
        return PostgresqlDatabase(self._address)

    def close(self) -> None:
        """See Database."""
        self._connection.close()

    def _executed(self, query: str, values: Sequence[Any] = ()) -> psycopg.Cursor[Row]:
        """Run a statement; where the server was started anew since the last one, connect again."""
        try:
            return self._connection.execute(_with_its_marks(query), _storable(values))
        except psycopg.OperationalError:
            if self._within or not self._connection.closed:
                raise
        self._connection = self._connected()
        return self._connection.execute(_with_its_marks(query), _storable(values))

    @contextmanager
    def _transaction(self, begin: str) -> Iterator[None]:
        self._executed(begin)
        self._within = True
        try:
            yield
            self._executed("COMMIT")
        except BaseException:
            if not self._connection.closed:
                self._executed("ROLLBACK")
            raise
        finally:
            self._within = False

    def change(self) -> AbstractContextManager[None]:
        """See Database."""
        return self._transaction("BEGIN")

    @contextmanager
    def alone(self) -> Iterator[None]:
        """See Database."""
        with self._transaction("BEGIN"):
            self.run("SELECT pg_advisory_xact_lock(?)", _FOR_TABLES)
            yield

    def moment(self) -> AbstractContextManager[None]:
        """See Database."""
        return self._transaction("BEGIN ISOLATION LEVEL REPEATABLE READ, READ ONLY")

    def run(self, query: str, *values: Any) -> None:
        """See Database."""
        self._executed(query, values)

    def one(self, query: str, *values: Any) -> Row | None:
        """See Database."""
        return self._executed(query, values).fetchone()

    def all(self, query: str, *values: Any) -> list[Row]:
        """See Database."""
        return self._executed(query, values).fetchall()

    def each(self, query: str, *values: Any) -> Iterator[Row]:
        """See Database. Only within a transaction."""
        with self._connection.cursor(f"each_{next(self._names)}") as cursor:
            cursor.itersize = AT_ONCE
            yield from cursor.execute(_with_its_marks(query), _storable(values))

    def columns(self, table: str) -> list[str]:
        """See Database."""
        told = self._executed(f"SELECT * FROM {table} LIMIT 0").description
        return [column.name for column in told or ()]

    def load(self, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
        """See Database."""
        query = f"COPY {table} ({', '.join(columns)}) FROM STDIN"
        with self._connection.cursor() as cursor, cursor.copy(query) as copy:
            for row in rows:
                copy.write_row(_storable(row))

    def form(self) -> int:
        """See Database. It stands in a comment: a table of its own could not lead with a club."""
        row = self.one("SELECT obj_description(to_regclass('clubs'), 'pg_class')")
        return int(row[0].rpartition(" ")[2]) if row and row[0] else 0

    def put_form(self, form: int) -> None:
        """See Database."""
        self.run(f"COMMENT ON TABLE clubs IS 'Leadline, tables of form {int(form)}'")


@lru_cache(maxsize=500)
def _with_its_marks(query: str) -> str:
    return query.replace("?", "%s")


def _storable(values: Sequence[Any]) -> Sequence[Any]:
    """Return values without the character that PostgreSQL's texts cannot have: a name may be sent with it."""
    return [value.replace("\0", "") if isinstance(value, str) else value for value in values]

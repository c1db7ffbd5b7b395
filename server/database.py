"""A database that keeps clubs, whichever it is: plain SQL goes in, rows come out.

`sqlite_database.py` and `postgresql_database.py` are the two, and the only places that know how they
differ. Queries are written once, in what both understand, with `?` for a value. What is not the same in
both is a word that the database gives: `words` for the tables, `lock` for a row that is to be changed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from typing import Any, ClassVar, Protocol

Row = tuple[Any, ...]


class Database(Protocol):
    """One connection, for one thread at a time.

    words   for the definitions of tables: text, bytes, and how a table is laid out by its key
    lock    put after the query for a club's row, holds it until the transaction ends
    """

    words: ClassVar[Mapping[str, str]]
    lock: ClassVar[str]

    def change(self) -> AbstractContextManager[None]:
        """Begin a transaction that is on the disk when it ends, and leaves no trace where it fails."""

    def alone(self) -> AbstractContextManager[None]:
        """Begin a transaction in which nobody else makes tables or founds a club."""

    def moment(self) -> AbstractContextManager[None]:
        """Begin to read everything as it is at one moment."""

    def run(self, query: str, *values: Any) -> None:
        """Run a statement."""

    def one(self, query: str, *values: Any) -> Row | None:
        """Return the first row, None where there is none."""

    def all(self, query: str, *values: Any) -> list[Row]:
        """Return all rows."""

    def each(self, query: str, *values: Any) -> Iterator[Row]:
        """Return the rows one after the other, however many they are; within a transaction."""

    def columns(self, table: str) -> list[str]:
        """Return the columns of a table."""

    def load(self, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
        """Add many rows to a table."""

    def form(self) -> int:
        """Return the form of the tables, 0 where there are none."""

    def put_form(self, form: int) -> None:
        """Keep the form of the tables."""

    def again(self) -> Database:
        """Return another connection to the same, for another thread."""

    def close(self) -> None:
        """Close the connection."""

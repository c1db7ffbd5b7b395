"""The folder in which a club lives: its database, its ledger, and what officers do with them.

    club.sqlite   records, log, blobs, members
    ledger        what no backup may undo; keep it, and back it up apart from the database

Every command may be given while the club is being served.
"""

from __future__ import annotations

import shutil
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from logbook_app.dive.problems import LeadlineError
from server.accounts import Accounts, Member
from server.deciding import Club
from server.ledger_file import FileLedger
from server.sql_club import SqlClub, sole_club
from server.sqlite_database import SqliteDatabase

MS = 1_000


class ClubHome:
    """A club's folder, opened or made.

    now_ms   the club's clock

    Raises LeadlineError where the database is older than what the ledger knows.
    """

    def __init__(self, folder: Path, now_ms: Callable[[], int] = lambda: round(time.time() * MS)) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.folder, self.now_ms = folder, now_ms
        self.database = SqliteDatabase(folder / "club.sqlite")
        self.store = sole_club(self.database)
        self.ledger = FileLedger(folder / "ledger")
        self.club = Club(self.store, self.ledger)
        self.accounts = Accounts(self.database, self.store.number)
        if self.store.state().epoch < self.ledger.epoch:
            self.close()
            raise LeadlineError(
                f"The database in {folder} is older than its ledger: it was put back by hand. Move it away"
                " and put it back with the command restore, so that every device hears of it."
            )

    def close(self) -> None:
        """Close the club's files."""
        self.store.close()

    def invite(self, name: str, *, instructor: bool = False) -> tuple[Member, str]:
        """Return a member, new unless one of this name is there, and the code of an invitation."""
        with self.store.change():
            known = [member for member in self.accounts.members() if member.name == name]
            member = known[0] if known else self.accounts.add_member(name, instructor=instructor)
            return member, self.accounts.invite(member.id, self.now_ms())

    def erase(self, member_id: str) -> None:
        """Take away a member with every record of theirs, for good."""
        self.club.erase(member_id)
        with self.store.change():
            self.accounts.remove_member(member_id)

    def back_up(self, path: Path) -> None:
        """Write the database into a file. Raises LeadlineError where one is there already."""
        if path.exists():
            raise LeadlineError(f"{path} is there already; choose another name.")
        self.database.back_up(path)

    def restore(self, backup: Path) -> None:
        """Put a backup back, in a new epoch and without those who were erased since.

        The database as it was is kept beside it.
        """
        prepared = self.folder / "club.restoring.sqlite"
        shutil.copyfile(backup, prepared)
        database = SqliteDatabase(prepared)
        with closing(sole_club(database)) as store:
            Club(store, self.ledger).begin_epoch(self.now_ms())
            self._remove_erased(store)
            self.database.back_up(self.folder / f"club.before-{self.now_ms()}.sqlite")
            with closing(sqlite3.connect(self.folder / "club.sqlite")) as target:
                database.connection.backup(target)
        for left in self.folder.glob("club.restoring.sqlite*"):
            left.unlink()

    def _remove_erased(self, store: SqlClub) -> None:
        accounts = Accounts(store.database, store.number)
        for member in self.ledger.erased_members():
            accounts.remove_member(member)

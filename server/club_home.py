"""A club at home: its database, its ledger, and what officers do with them.

    club.sqlite   records, log, blobs, members
    ledger        what no backup may undo; keep it, and back it up apart from the database

Where the database is PostgreSQL, the ledger lies in the folder `club-NUMBER`. Every process that serves
the club needs the one file: they run on one machine, or the folder is on a disk that they share.
Every command may be given while the club is being served.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from logbook_app.dive.problems import LeadlineError
from server.accounts import Accounts
from server.database import Database
from server.deciding import Club
from server.ledger_file import FileLedger
from server.moving import copy_club, opened_backup, write_backup
from server.roles import ANYTHING, Member, Role, SignsAs
from server.sessions import Sessions
from server.sql_club import SqlClub, open_club
from server.sqlite_database import SqliteDatabase
from server.trail import COMMAND_LINE, Trail

MS = 1_000
FIRST_ADMIN = "Admin"


class ClubHome:
    """A club's folder, opened or made.

    now_ms     the club's clock
    database   where the clubs are kept, without one a file in the folder
    number     of the club, needed where the database keeps several
    restoring  whether a backup is about to be put back: the database need not be as new as the ledger

    Raises LeadlineError where the database is older than what the ledger knows, or the ledger is gone.
    """

    def __init__(
        self,
        folder: Path,
        now_ms: Callable[[], int] = lambda: round(time.time() * MS),
        *,
        database: Database | None = None,
        number: int | None = None,
        restoring: bool = False,
    ) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.now_ms, self._root, self._elsewhere = now_ms, folder, database is not None
        self.database = database or SqliteDatabase(folder / "club.sqlite")
        self.store = open_club(self.database, number)
        self.folder = folder / f"club-{self.store.number}" if database else folder
        self.folder.mkdir(exist_ok=True)
        self.ledger = FileLedger(self.folder / "ledger")
        self.club = Club(self.store, self.ledger)
        self.accounts = Accounts(self.database, self.store.number)
        self.sessions = Sessions(self.database, self.store.number)
        self.trail = Trail(self.database, self.store.number)
        if not restoring:
            self._check_epochs()

    def _check_epochs(self) -> None:
        epoch, told = self.store.state().epoch, self.ledger.epoch
        if epoch == told:
            return
        self.close()
        if epoch < told:
            raise LeadlineError(
                f"The database of {self.folder} is older than its ledger: it was put back by hand. Move it"
                " away and put it back with the command restore, so that every device hears of it."
            )
        raise LeadlineError(
            f"The ledger in {self.folder} is gone, or older than the database: put it back there. Without"
            " it nobody would know who was erased."
        )

    def close(self) -> None:
        """Close the club's files."""
        self.store.close()

    def again(self) -> ClubHome:
        """Return the same club opened once more, for another thread."""
        database = self.database.again() if self._elsewhere else None
        return ClubHome(self._root, self.now_ms, database=database, number=self.store.number)

    def invite(
        self, name: str, *, role: Role = Role.MEMBER, signs_as: SignsAs = SignsAs.NOTHING
    ) -> tuple[Member, str]:
        """Return a member and the code of an invitation, at the server's own machine.

        The member is new unless one of this name is there, who then gets the role and what to sign as
        where these are more than nothing.
        """
        with self.store.change():
            known = [member for member in self.accounts.members() if member.name == name]
            member = known[0] if known else self.accounts.add_member(name)
            if role != Role.MEMBER:
                self.accounts.give_role(member.id, role)
            if signs_as:
                self.accounts.give_signing(member.id, signs_as, frozenset({ANYTHING}))
            detail = " ".join(filter(None, (role if role != Role.MEMBER else "", signs_as)))
            self.trail.write(self.now_ms(), COMMAND_LINE, "invited", member.id, detail)
            code = self.accounts.invite(member.id, self.now_ms())
            return self.accounts.member(member.id) or member, code

    def first_admin_code(self) -> str:
        """Return the code of an invitation for a first admin, empty where somebody has ever come in as one.

        Asked for again before it is used, it gives another, and the one before is good for nobody.
        """
        admins = [each for each in self.accounts.members() if each.may_act_as(Role.ADMIN)]
        come = [
            each
            for each in admins
            if self.sessions.has_password(each.id) or self.accounts.devices_of(each.id)
        ]
        if come:
            return ""
        with self.store.change():
            for invitation in self.accounts.open_invitations(self.now_ms()):
                if any(each.id == invitation.member for each in admins):
                    self.accounts.withdraw(invitation.id)
        return self.invite(admins[0].name if admins else FIRST_ADMIN, role=Role.ADMIN)[1]

    def erase(self, member_id: str, actor: str = COMMAND_LINE) -> None:
        """Take away a member with every record of theirs, for good.

        actor   id of the member who did it, empty at the server's own machine
        """
        self.club.erase(member_id)
        with self.store.change():
            self.accounts.remove_member(member_id)
            self.sessions.forget(member_id)
            self.trail.write(self.now_ms(), actor, "erased", member_id)

    def catch_up(self) -> None:
        """Finish what the ledger says was begun and the power interrupted, before the club is served."""
        self.club.catch_up()
        with self.store.change():
            self._remove_erased(self.store)

    def back_up(self, path: Path) -> None:
        """Write the club into a file. Raises LeadlineError where one is there already."""
        write_backup(self.store, path)

    def restore(self, backup: Path) -> None:
        """Put a backup back, in a new epoch and without those who were erased since.

        The club as it was is kept in a file beside the ledger. Raises LeadlineError for what is no backup.
        """
        with opened_backup(backup, self.folder) as store:
            write_backup(self.store, self.folder / f"club.before-{self.now_ms()}.sqlite")
            Club(store, self.ledger).begin_epoch(self.now_ms())
            self._remove_erased(store)
            copy_club(store, self.store)

    def _remove_erased(self, store: SqlClub) -> None:
        accounts, sessions = Accounts(store.database, store.number), Sessions(store.database, store.number)
        for member in self.ledger.erased_members():
            accounts.remove_member(member)
            sessions.forget(member)

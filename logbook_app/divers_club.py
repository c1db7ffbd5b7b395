"""The diver's club, and files between two devices, as screens and commands ask for them.

Nothing here talks to a network but `join` and `sync`. Before one of them, or a file, is asked for,
nothing is kept for other devices either.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logbook_app.dive.changes import Changes
from logbook_app.dive.problems import (
    LeadlineError,
    LogbookError,
    NoClub,
    RefusedFile,
    RefusedMessage,
    RefusedRecord,
)
from logbook_app.dive.record import Dive
from logbook_app.files.picture import thumbnail_of
from logbook_app.files.whole_file import write_whole
from logbook_app.language import _
from logbook_app.store.logbook_store import LogbookStore
from logbook_app.store.own_records import KNOWN_AS
from logbook_app.sync.asking import Outcome
from logbook_app.sync.bundle import (
    LARGEST_FILE,
    TakenIn,
    bundle_of,
    bundle_to_bytes,
    parse_bundle,
    take_in,
)
from logbook_app.sync.changes import kind_of
from logbook_app.sync.conversation import Conversation
from logbook_app.sync.membership import LeftClubs, Membership, MembershipFile
from logbook_app.sync.merging import Conflict, values_of
from logbook_app.sync.messages import (
    Code,
    DeviceList,
    Devices,
    Join,
    Joined,
    KnownDevice,
    Refusal,
    RevokeDevice,
)
from logbook_app.sync.own_changes import begin_anew, seen_record
from logbook_app.sync.records import read_as
from logbook_app.sync.run import Progress, converse
from logbook_app.sync.shown_dives import SHOWN

if TYPE_CHECKING:
    from logbook_app.store.sync_shelf import SyncShelf
    from logbook_app.sync.transport import Transport


# Why a club does not listen to a device any more: it need not be told again that the diver has left.
DOES_NOT_LISTEN = frozenset({Code.REVOKED, Code.RETIRED, Code.UNKNOWN_DEVICE, Code.ACCOUNT_GONE})


@dataclass(frozen=True, slots=True)
class ClubState:
    """Where a logbook stands with its club.

    club, address   empty where none is joined
    waiting         records with changes that the club has not got yet
    waiting_dives   how many of them are dives, or what others see of dives
    not_accepted    records of which it refused changes; they are kept
    conflicts       fields with two sides
    last_at         when a sync was last tried, None where none was
    last_trouble    why that one did not come to its end, empty where it did
    """

    club: str = ""
    address: str = ""
    waiting: int = 0
    waiting_dives: int = 0
    not_accepted: int = 0
    conflicts: int = 0
    last_at: datetime | None = None
    last_trouble: str = ""

    @property
    def joined(self) -> bool:
        """Whether there is a club to talk to."""
        return bool(self.address)


@dataclass(frozen=True, slots=True)
class Tried:
    """One sync that was tried; `trouble` is empty where it came to its end."""

    at: datetime
    sent: int
    received: int
    trouble: str


@dataclass(frozen=True, slots=True)
class Side:
    """One value of a field, and the change that wrote it."""

    change: str
    value: Any


@dataclass(frozen=True, slots=True)
class TwoSides:
    """A field that two devices wrote apart from each other.

    sides   the one that shows first
    dive    that the field is of, None where it is no dive's
    """

    key: str
    name: str
    sides: tuple[Side, ...]
    dive: Dive | None


@dataclass(frozen=True, slots=True)
class Synced:
    """What a sync came to.

    trouble      why it did not come to its end, as a sentence; empty where it did
    unreadable   records that came and that this program cannot show
    """

    outcome: Outcome
    changes: Changes
    trouble: str = ""
    unreadable: int = 0


class DiversClub:
    """The club of one logbook file.

    now   the clock; returns an aware instant
    """

    def __init__(self, store: LogbookStore, now: Callable[[], datetime]) -> None:
        self._store, self._now = store, now
        self._file, self._left = MembershipFile(store.path), LeftClubs(store.path)

    def state(self) -> ClubState:
        """Return where the logbook stands with its club."""
        membership = self._file.read()
        if membership is None or not membership.member:
            return ClubState()
        if not self._store.shares:
            return ClubState(membership.club, membership.address)
        shelf = self._store.sync
        last = shelf.tries(1)
        return ClubState(
            membership.club,
            membership.address,
            *_counted(shelf.waiting()),
            shelf.refused_records.count(),
            len(shelf.conflicts()),
            *((last[0][0], str(last[0][1]["trouble"])) if last else ()),
        )

    def join(
        self,
        address: str,
        code: str,
        *,
        unencrypted: bool = False,
        device: str = "",
        cancelled: Callable[[], bool] = lambda: False,
    ) -> Membership:
        """Join a club with an invitation; everything that is here becomes the first changes.

        unencrypted   talk to the host of this address without TLS as well
        device        what the diver calls this device, for the list of them

        Raises NoClub where the club is not reached, refuses, or another one was joined before.
        """
        from logbook_app.sync.transport import club_address

        plain_host = _host_of(address) if unencrypted else ""
        address = club_address(address, plain_host=plain_host)
        before = self._file.read()
        if before and before.member and before.address != address:
            raise NoClub(_("You have joined {club}; leave it first.").format(club=before.club))
        asked_before = before and before.address == address and not before.member
        asked = before if before and asked_before else Membership.new(address, plain_host)
        if before is None or not before.member:
            self._file.write(
                asked
            )  # before it is asked: where the answer is lost, the same secret asks again
        joined, known_as = self._joined(asked, code, device, cancelled)
        if before and before.member and joined.member != before.member:
            raise NoClub(_("This invitation is for another member of the club; leave the club first."))
        self._store.begin_sharing()
        shelf = self._store.sync
        _speak_for(shelf, joined.member)
        begin_anew(shelf)
        self._store.keep_draft(KNOWN_AS, known_as)
        self._file.write(joined)
        return joined

    def _joined(
        self, asked: Membership, code: str, device: str, cancelled: Callable[[], bool]
    ) -> tuple[Membership, str]:
        transport = _transport(asked, cancelled)
        try:
            named = " ".join(device.split())[:80] or "Leadline"
            reply = transport.ask(Join(code.strip()[:80] or "-", asked.token, named))
        finally:
            transport.close()
        if isinstance(reply, Joined):
            joined = Membership(asked.address, asked.token, reply.member, reply.club, asked.plain_host)
            return joined, reply.name
        if isinstance(reply, Refusal) and reply.code == Code.BAD_INVITATION:
            raise NoClub(
                _("This invitation was used, is too old or was never made; ask the club for another.")
            )
        raise NoClub(_("The club at {address} does not answer as a club does.").format(address=asked.address))

    def sync(
        self,
        progress: Progress = lambda _asked, _outcome: None,
        cancelled: Callable[[], bool] = lambda: False,
    ) -> Synced:
        """Hold a conversation with the club, to its end or as far as it goes; what was tried is kept.

        Raises NoClub where none was joined or it is not reached, RefusedMessage where its answer is none,
        and Cancelled. What was sent and received until then is kept.
        """
        membership = self._membership()
        self._store.begin_sharing()
        shelf = self._store.sync
        _speak_for(shelf, membership.member)
        conversation = Conversation(shelf, self._now_ms, lambda: uuid.uuid4().hex)
        transport = _transport(membership, cancelled)
        trouble = ""
        try:
            outcome = converse(conversation, transport.ask, progress)
            trouble = _ended(outcome.ended)
        except LeadlineError as error:
            trouble = str(error)
            raise
        finally:
            transport.close()
            self._keep_pictures(shelf)
            self._follow(shelf)
            shelf.note_tried(self._now(), {**asdict(conversation.outcome), "trouble": trouble})
        changes = Changes(frozenset(shelf.shown), totals=True, settings=True, kit=True)
        return Synced(outcome, changes, trouble, len(shelf.unreadable))

    def leave(self) -> Membership | None:
        """Forget the club and everything kept for it, what other members showed as well; the logbook stays.

        Returns what was left, for `come_back`. The club is not told yet: see `tell_left`. What it has it
        keeps until its officers take it away.
        """
        membership = self._file.read()
        if membership and membership.member:
            self._left.add(membership)
        self._file.remove()
        self._store.stop_sharing()
        return membership if membership and membership.member else None

    def come_back(self, membership: Membership) -> None:
        """Be again in the club that was left. Raises NoClub where it was told already."""
        if membership not in self._left.all():
            raise NoClub(_("The club knows by now that you left; ask it for a new code and join it again."))
        self._file.write(membership)
        self._left.remove(membership)

    def tell_left(self, cancelled: Callable[[], bool] = lambda: False) -> list[tuple[Membership, str]]:
        """Tell each club that was left, so that it listens to this device no more.

        Returns the clubs, each with why it could not be told, empty where it was: it is told the next time.
        """
        return [(left, self._told_left(left, cancelled)) for left in self._left.all()]

    def _told_left(self, left: Membership, cancelled: Callable[[], bool]) -> str:
        transport = _transport(left, cancelled)
        try:
            reply = transport.ask(RevokeDevice())
        except LeadlineError as error:
            return str(error)
        finally:
            transport.close()
        if isinstance(reply, Refusal) and reply.code not in DOES_NOT_LISTEN:
            return _ended(reply.code)
        self._left.remove(left)
        return ""

    # The diver's devices

    def devices(self, cancelled: Callable[[], bool] = lambda: False) -> tuple[KnownDevice, ...]:
        """Return the diver's devices as the club knows them. Raises NoClub where it does not say."""
        return self._ask_devices(Devices(), cancelled)

    def shut_out(
        self, device_id: str, cancelled: Callable[[], bool] = lambda: False
    ) -> tuple[KnownDevice, ...]:
        """Let a device of the diver's that was lost speak for nobody any more; return all of them.

        Raises NoClub where the club does not do so.
        """
        return self._ask_devices(RevokeDevice(device_id), cancelled)

    def _ask_devices(
        self, request: Devices | RevokeDevice, cancelled: Callable[[], bool]
    ) -> tuple[KnownDevice, ...]:
        transport = _transport(self._membership(), cancelled)
        try:
            reply = transport.ask(request)
        finally:
            transport.close()
        if isinstance(reply, DeviceList):
            return reply.devices
        if isinstance(reply, Refusal) and reply.code == Code.UNREADABLE:
            raise NoClub(_("The club's server is older and lists no devices; ask who looks after it."))
        raise NoClub(_ended(reply.code) if isinstance(reply, Refusal) else _ended("?"))

    def _membership(self) -> Membership:
        membership = self._file.read()
        if membership is None or not membership.member:
            raise NoClub(_("You have joined no club. Ask one for an address and a code, and join it."))
        return membership

    def tries(self, count: int) -> list[Tried]:
        """Return the last syncs that were tried, the latest first."""
        if not self._store.shares:
            return []
        return [
            Tried(at, told["sent"], told["received"], told["trouble"])
            for at, told in self._store.sync.tries(count)
        ]

    # Two sides

    def two_sides(self) -> list[TwoSides]:
        """Return each field that has two sides, as the record reads it."""
        found: list[TwoSides] = []
        for key, conflict in self.conflicts():
            edits = (conflict.shown, *conflict.others)
            values = values_of(seen_record(self._store.sync, key))
            dive = _dive_of(key, values)
            read = [_dive_of(key, {**values, conflict.name: edit.value}) for edit in edits]
            sides = tuple(
                Side(edit.change, getattr(other, conflict.name, edit.value) if other else edit.value)
                for edit, other in zip(edits, read, strict=True)
            )
            found.append(TwoSides(key, conflict.name, sides, dive))
        return found

    def conflicts(self) -> list[tuple[str, Conflict]]:
        """Return each field that has two sides, with the key of its record."""
        return self._store.sync.conflicts() if self._store.shares else []

    def choose(self, key: str, name: str, change_id: str) -> Changes:
        """Let one side of a conflict stand alone: the one that this change wrote.

        Raises RefusedRecord where it was settled meanwhile.
        """
        shelf = self._store.sync
        shelf.choose(key, name, change_id)
        self._follow(shelf)
        return Changes(frozenset(shelf.shown), totals=True, settings=True, kit=True)

    # Files between two devices

    def write_bundle(self, path: Path) -> int:
        """Write everything that another device of the diver needs into a file; return how many changes.

        Raises LogbookError where it cannot be written.
        """
        if path.resolve() == self._store.path.resolve():
            raise LogbookError(
                _("{path} is the logbook itself; give the file another name.").format(path=path)
            )
        self._store.begin_sharing()
        shelf = self._store.sync
        bundle = bundle_of(shelf, shelf.blobs_here())
        data = bundle_to_bytes(bundle)
        if len(data) > LARGEST_FILE:
            raise LogbookError(
                _("The file would have more than {most} MB; sync with a club instead.").format(
                    most=LARGEST_FILE // 2**20
                )
            )
        write_whole(path, data)
        return len(bundle.changes)

    def take_bundle(self, path: Path) -> tuple[TakenIn, Changes]:
        """Take in what another device of the diver wrote, all of it or nothing.

        Raises RefusedFile where it cannot be read, RefusedMessage where it is no such file.
        """
        try:
            if path.stat().st_size > LARGEST_FILE:
                raise RefusedMessage(_("{path} is too large to be such a file.").format(path=path))
            data = path.read_bytes()
        except OSError as error:
            raise RefusedFile(
                _("{name} cannot be read: {reason}.").format(name=path.name, reason=error.strerror or error)
            ) from error
        bundle = parse_bundle(data)
        self._store.begin_sharing()
        shelf = self._store.sync
        taken = take_in(shelf, bundle)
        self._keep_pictures(shelf)
        self._follow(shelf)
        return taken, Changes(frozenset(shelf.shown), totals=True, settings=True, kit=True)

    def _follow(self, shelf: SyncShelf) -> None:
        """Let what others see say what dives say that came or were settled."""
        shelf.follow_dives(self._store.dives_named(shelf.shown))

    def _keep_pictures(self, shelf: SyncShelf) -> None:
        """Give pictures that came to the dives that name them, with a small one each."""
        for name in shelf.unkept_blobs():
            data = shelf.blob_part(name, 0, shelf.blob_size(name) or 0)
            if thumbnail := thumbnail_of(data):
                with shelf.change():
                    shelf.keep_picture(name, data, thumbnail)

    def _now_ms(self) -> int:
        return int(self._now().timestamp() * 1000)


def _transport(membership: Membership, cancelled: Callable[[], bool]) -> Transport:
    from logbook_app.sync.transport import Transport  # loads the HTTP library

    token = membership.token if membership.member else ""
    return Transport(membership.address, token, plain_host=membership.plain_host, cancelled=cancelled)


def _speak_for(shelf: SyncShelf, member: str) -> None:
    """Let a logbook speak for a member of the club. Raises RefusedMessage where it is another's."""
    with shelf.change():
        state = shelf.state()
        if state.member not in ("", member):
            raise RefusedMessage(_("This logbook belongs to another member of the club; nothing was sent."))
        if state.member != member:
            shelf.put_state(replace(state, member=member))


def _dive_of(key: str, values: Mapping[str, Any]) -> Dive | None:
    try:
        return read_as(Dive, values) if kind_of(key) == "dive" else None
    except RefusedRecord:
        return None


def _counted(waiting: Iterable[str]) -> tuple[int, int]:
    """Return how many records wait, a dive and what shows it counted once, and how many are dives."""
    kinds = {name.partition(":")[2]: name.partition(":")[0] in ("dive", SHOWN) for name in waiting}
    return len(kinds), sum(kinds.values())


def _host_of(address: str) -> str:
    from urllib.parse import urlsplit

    try:
        return urlsplit(address).hostname or ""
    except ValueError:
        return ""


def _ended(code: str) -> str:
    """Return why the club ended a conversation, as a sentence; empty where it came to its end."""
    if code in ("", Code.OTHER_EPOCH):
        return _("The club was put back from a backup just now; sync again.") if code else ""
    words = {
        Code.UNKNOWN_DEVICE: _("The club does not know this device; join it again with a new code."),
        Code.REVOKED: _("The club has shut out this device; ask it for a new code and join it again."),
        Code.RETIRED: _("This device was away too long; ask the club for a new code and join it again."),
        Code.ACCOUNT_GONE: _(
            "The club has taken away your account. Your logbook stays as it is; leave the club."
        ),
    }
    return words.get(code) or _("The club did not go on ({code}); try again later.").format(code=code)

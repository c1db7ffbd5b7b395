"""The logbook: every dive, profile, site and setting of one diver, in one file.

Every change is one transaction that is on the disk before the method returns; on any trouble the
whole of it is undone and a LogbookError says what happened. Nothing is ever deleted: a dive goes
to the bin and can come back. Derived figures are a cache and nothing else; a dive's own go when
it changes.
"""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logbook_app.dive.diver_settings import SETTINGS_THAT_TRAVEL
from logbook_app.dive.history import DELETE, EDIT, PRESENT, RESTORE, UNDO, FieldChange, changed_fields
from logbook_app.dive.problems import LogbookError, Problem, RefusedRecord, UnknownDive
from logbook_app.dive.profile import Profile, profile_digest, profile_from_bytes, profile_to_bytes
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.store.backup_places import copy_before_migrating
from logbook_app.store.book_rows import book_rows
from logbook_app.store.check import damage, oddities
from logbook_app.store.dive_rows import (
    instant_from_text,
    instant_to_text,
    read_dives,
    write_dives,
)
from logbook_app.store.history_rows import Told, read_change, read_history, write_history
from logbook_app.store.kept_changes import KeptChange, mark_undone, read_changes, write_change
from logbook_app.store.kit_shelf import KitShelf
from logbook_app.store.logbook_file import (
    change,
    damaged_table,
    open_logbook_file,
    prepare,
    reading,
    trouble_in_words,
)
from logbook_app.store.migrations import lacks_migrations, migrate, names_from_a_newer_program
from logbook_app.store.outbox import Outbox
from logbook_app.store.picture_shelf import KeptPicture, PictureShelf
from logbook_app.store.search_index import (
    has_full_text,
    places_with,
    put_words_right,
    words_are_right,
    write_words,
)

if TYPE_CHECKING:
    from logbook_app.store.sync_shelf import SyncShelf
    from logbook_app.sync.shown_dives import ShownDive

BackupStep = Callable[[int, int, int], None]

_AT_A_TIME = 500  # SQLite takes 999 question marks in its older builds
_TO_BIN = "UPDATE dives SET binned_at = ifnull(binned_at, ?2) WHERE id = ?1"
_FROM_BIN = "UPDATE dives SET binned_at = NULL WHERE id = ?1"
OF_THE_SYNC = (
    "sync_state", "sync_changes", "sync_records", "sync_staged", "sync_carried", "sync_named",
    "sync_conflicts", "sync_blobs",
)  # fmt: skip
_KEYS_KEPT = 4  # settings a diver goes back and forth between; older figures are worked out anew


class LogbookStore:
    """One logbook file, opened or made.

    path   of the file; its folder is made where there is none
    now    the clock by which the history tells when something was changed
    passing   the file is a copy on its way: no backup is made of it before it is brought up to date

    One object serves one thread at a time. Another object, thread or program may have the same file
    open: writers wait for each other, readers never wait.

    Raises LogbookError where the file cannot be used or is not a logbook; it is then left as it was. What a
    newer program wrote, and what is damaged and can still be read, is shown and not written to: see
    `closed_because`.
    """

    def __init__(
        self,
        path: Path | str,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
        *,
        passing: bool = False,
    ) -> None:
        self.path, self._passing = Path(path), passing
        self._now = now
        self._shown: tuple[int, list[Dive]] | None = None
        self.open_anew()

    def open_anew(self) -> None:
        """Open the file as it is now.

        What is newer or damaged is opened so that it cannot be written to: SQLite itself would write its log
        into it on closing.
        """
        self._connection = open_logbook_file(self.path, only_read=True)
        try:
            with trouble_in_words(self.path):
                if not (closed_because := self._damaged() or self._newer()):
                    self._connection.close()
                    self._connection = open_logbook_file(self.path)
                    prepare(self._connection)
                    self._bring_up_to_date()
                self._connection.closed_because = closed_because
                self._full_text = has_full_text(self._connection)
        except BaseException:
            self._connection.close()
            raise
        self._outbox = Outbox(self._connection, self._now)

    @property
    def closed_because(self) -> str:
        """Why nothing is written to the file, a sentence; empty where it may be written to."""
        return self._connection.closed_because

    @property
    def kit(self) -> KitShelf:
        """The diver's kit in this file."""
        return KitShelf(self._connection, self.path, self._change, self._outbox.kit)

    @property
    def shares(self) -> bool:
        """Whether the diver has joined a club or begun to share by file."""
        with trouble_in_words(self.path):
            return self._outbox.begun

    def begin_sharing(self) -> None:
        """Let everything that is here become the first changes for other devices, once."""
        from logbook_app.store.own_records import OwnRecords

        with change(self._connection, self.path):
            if not self._outbox.begun:
                OwnRecords(self._connection, self._now()).begin(uuid.uuid4().hex)

    def stop_sharing(self) -> None:
        """Forget everything that the sync kept; the logbook stays as it is."""
        with change(self._connection, self.path):
            for table in OF_THE_SYNC:
                self._connection.execute(f"DELETE FROM {table}")  # noqa: S608

    @property
    def sync(self) -> SyncShelf:
        """The device's side of a sync, once the diver shares; see `store.sync_shelf`."""
        from logbook_app.store.sync_shelf import SyncShelf

        return SyncShelf(
            self._connection, lambda: change(self._connection, self.path), _DiveTables(self), self._now
        )

    def would_show(self, dive: Dive, diver: str, parts: Collection[str]) -> ShownDive:
        """Return what others would see of a dive; see `sync.shown_dives`."""
        from logbook_app.sync.shown_dives import ShownSamples, shown_dive

        name = dive.profile_sha256
        return shown_dive(dive, diver, parts, ShownSamples(name) if name else None)

    def shown_by_others(self) -> list[Dive]:
        """Return the dives that other members of the club show, in order of their start; they are in no
        other list. Read once until something changes."""
        if not self.shares:
            return []
        revision = self.revision()
        if self._shown is None or self._shown[0] != revision:
            self._shown = (revision, self.sync.shown_records.of_others())
        return self._shown[1]

    def any_dive(self, dive_id: str) -> Dive:
        """Return a dive of the logbook, or one that another member of the club shows. Raises UnknownDive."""
        try:
            return self.dive(dive_id)
        except UnknownDive:
            shown = [dive for dive in self.shown_by_others() if dive.id == dive_id]
            if not shown:
                raise
            return shown[0]

    @property
    def pictures(self) -> PictureShelf:
        """The pictures of dives in this file."""
        return PictureShelf(self._connection, self.path)

    def close(self) -> None:
        """Close the file; the last one to close it folds the log beside it into it."""
        with trouble_in_words(self.path):
            self._connection.close()

    def damage(self) -> list[Problem]:
        """Return what is broken in the file, a sentence each; see `store.check`."""
        with reading(self._connection, self.path):
            return list(damage(self._connection))

    def oddities(self) -> list[Problem]:
        """Return what is odd in the file and does no harm."""
        with reading(self._connection, self.path):
            return list(oddities(self._connection))

    def copy_to(self, target: sqlite3.Connection, step: BackupStep) -> None:
        """Copy the whole file as it is at one instant into another database; see `store.backup`."""
        self._connection.backup(target, progress=step)

    def become(self, source: sqlite3.Connection, step: BackupStep) -> None:
        """Take everything from another logbook in place of what is here, all of it or none.

        The revision goes on from the higher of the two, so that nobody takes the new dives for the old.
        """
        before = self._revision()
        source.backup(self._connection, progress=step)
        prepare(self._connection)
        with change(self._connection, self.path):
            self._connection.execute("UPDATE logbook SET revision = max(revision, ?) + 1", [before])
            self._connection.execute(  # what is written from now on is not what was written after the backup
                "UPDATE sync_state SET origin = ?, number = 0", [uuid.uuid4().hex]
            )

    def save(self, entries: Iterable[tuple[Dive, Sequence[Profile]]], why: str = EDIT) -> int:
        """Keep dives with their profiles, inserted or replaced by id, all of them or none.

        entries   each dive with the profiles that its recordings name and that are not kept yet;
                  of two with the same id the later counts
        why       what the history tells of it; the number of the change is returned, 0 where nothing changed

        Raises LogbookError where a recording names a profile that is neither given nor kept.
        """
        dives, samples = _packed(entries)
        if not dives:
            return 0
        with self._change():
            return write_history(self._connection, self._write(dives, samples), self._now(), why)

    def save_together(
        self,
        entries: Iterable[tuple[Dive, Sequence[Profile]]],
        at: datetime,
        *,
        kept: KeptChange | None = None,
        undone: int | None = None,
        to_bin: Iterable[str] = (),
        from_bin: Iterable[str] = (),
    ) -> int:
        """Make one change that can be taken back, or take one back, all of it or none.

        entries           dives to keep, as `save` takes them
        at                the instant of the change
        kept              what is told of it; its id is returned, 0 where nothing is to be told
        undone            id of the change that is taken back
        to_bin, from_bin  ids of dives to put into the bin and to take out of it
        """
        dives, samples = _packed(entries)
        why = kept.kind if kept else UNDO if undone is not None else EDIT
        with self._change():
            told = [*self._write(dives, samples), *self._move(to_bin, from_bin, at)]
            write_history(self._connection, told, at, why)
            if undone is not None:
                mark_undone(self._connection, undone, at)
            return write_change(self._connection, kept) if kept else 0

    def rewrite(
        self,
        dives: Iterable[Dive],
        at: datetime,
        why: str,
        *,
        to_bin: Iterable[str] = (),
        from_bin: Iterable[str] = (),
        pictures: Iterable[KeptPicture] = (),
    ) -> int:
        """Change dives, and put some into the bin or take them out, all of it or none.

        Returns the number of the change in the history, 0 where nothing changed.
        """
        changed, _samples = _packed((dive, ()) for dive in dives)
        with self._change():
            self.pictures.keep(pictures)
            told = [*self._write(changed, {}), *self._move(to_bin, from_bin, at)]
            return write_history(self._connection, told, at, why)

    def history(self, dive_id: str) -> list[FieldChange]:
        """Return every change of a dive by field, the first one first. Raises UnknownDive."""
        with reading(self._connection, self.path):
            self._is_binned(dive_id)  # raises for one that is not there
            return read_history(self._connection, dive_id)

    def change_of(self, number: int) -> list[FieldChange]:
        """Return all that one change did, in every dive; nothing where there was none of this number."""
        with reading(self._connection, self.path):
            return read_change(self._connection, number)

    def changes(self) -> list[KeptChange]:
        """Return every change that can be or was taken back, the first one first."""
        with reading(self._connection, self.path):
            return read_changes(self._connection)

    def dive(self, dive_id: str) -> Dive:
        """Return one dive, in the bin or not. Raises UnknownDive."""
        with reading(self._connection, self.path):
            found = read_dives(self._connection, "dives.id = ?", [dive_id])
        if not found:
            raise _unknown(dive_id)
        return found[0]

    def dives(self, *, own_only: bool = False) -> list[Dive]:
        """Return the dives in order of their start, without those in the bin.

        own_only   leave out other divers' dives
        """
        where = "dives.binned_at IS NULL" + (" AND dives.diver = ''" if own_only else "")
        with reading(self._connection, self.path):
            return read_dives(self._connection, where)

    def dives_named(self, dive_ids: Iterable[str]) -> list[Dive]:
        """Return the dives of these ids in order of their start, each once, in the bin or not.

        Raises UnknownDive where one of them is not there.
        """
        wanted = list(dict.fromkeys(dive_ids))
        with reading(self._connection, self.path):
            found = self._as_they_are(wanted)
        for dive_id in wanted:
            if dive_id not in found:
                raise _unknown(dive_id)
        return sorted(found.values(), key=lambda dive: (dive.began_at, dive.id))

    def places_with(self, text: str) -> list[int] | None:
        """Return the places of the dives that have all words of a text; None where it has no word.

        Words are found from their beginning, whatever their case and accents; see `dive.search_words`.
        """
        with reading(self._connection, self.path):
            return places_with(self._connection, text, self._full_text)

    def places(self) -> dict[str, int]:
        """Return by what number each dive's words are kept: dive id -> place."""
        return dict(self._rows("SELECT dive_id, place FROM dive_words"))

    def book_rows(self) -> list[tuple[Any, ...]]:
        """Return the owner's dives as columns; see `store.book_rows`."""
        with reading(self._connection, self.path):
            return book_rows(self._connection)

    def profile(self, sha256: str) -> Profile:
        """Return the profile of this name. Raises LogbookError where it is missing or damaged."""
        return self.profiles([sha256])[sha256]

    def profile_of(self, dive: Dive) -> Profile | None:
        """Return the samples of a dive's leading recording, None where there are none.

        Raises LogbookError where they are missing or damaged.
        """
        return self.profile(dive.profile_sha256) if dive.profile_sha256 else None

    def profiles(self, sha256s: Iterable[str]) -> dict[str, Profile]:
        """Return the profiles of these names. Raises LogbookError where one is missing or damaged."""
        wanted = list(dict.fromkeys(sha256s))
        kept: dict[str, bytes] = {}
        with reading(self._connection, self.path):
            for at in range(0, len(wanted), _AT_A_TIME):
                kept.update(self._samples(wanted[at : at + _AT_A_TIME]))
        return {sha256: self._checked_profile(sha256, kept.get(sha256)) for sha256 in wanted}

    def fingerprints(self) -> dict[str, str]:
        """Return what has been read before: recording fingerprint -> dive id, the bin included.

        Where several dives hold a fingerprint, one that is not in the bin is named.
        """
        rows = self._rows(
            "SELECT fingerprint, dive_id FROM recordings JOIN dives ON dives.id = dive_id"
            " ORDER BY binned_at IS NULL, began_at, dive_id"
        )
        return dict(rows)

    def bin(self, dive_id: str, at: datetime) -> int:
        """Put a dive into the bin; one that is there already keeps its time. Raises UnknownDive.

        Returns the number of the change in the history, 0 where it was there already.
        """
        return self.rewrite((), at, DELETE, to_bin=[dive_id])

    def restore(self, dive_id: str) -> int:
        """Take a dive out of the bin, as it was. Raises UnknownDive.

        Returns the number of the change in the history, 0 where it was not there.
        """
        return self.rewrite((), self._now(), RESTORE, from_bin=[dive_id])

    def is_binned(self, dive_id: str) -> bool:
        """Return whether a dive lies in the bin. Raises UnknownDive."""
        with reading(self._connection, self.path):
            return self._is_binned(dive_id)

    def binned(self) -> list[tuple[Dive, datetime]]:
        """Return the dives in the bin with the instant each went there, the latest first."""
        with reading(self._connection, self.path):
            dives = read_dives(self._connection, "dives.binned_at IS NOT NULL")
            at = dict(self._connection.execute("SELECT id, binned_at FROM dives WHERE binned_at IS NOT NULL"))
        pairs = [(dive, instant_from_text(at[dive.id])) for dive in dives]
        return sorted(pairs, key=lambda pair: pair[1], reverse=True)

    def settings(self) -> dict[str, str]:
        """Return every setting that was ever set, by name."""
        return dict(self._rows("SELECT name, value FROM settings ORDER BY name"))

    def set_settings(self, values: Mapping[str, str]) -> None:
        """Keep settings by name, all of them or none.

        They are read anew wherever they count, and no dive is another for it: the revision stays.
        """
        with self._change(counts=False):
            self._connection.executemany(
                "INSERT INTO settings VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
                values.items(),
            )
            if any(name in values for name in SETTINGS_THAT_TRAVEL):
                self._outbox.settings(values)

    def keep_draft(self, name: str, text: str) -> None:
        """Keep what is half written, under a name among the settings.

        No dive and no choice is another for it, so the revision stays: who types has nothing read anew. Where
        nothing may be written, nothing is kept: the diver was told.
        """
        if self.closed_because:
            return
        with self._change(counts=False):
            self._connection.execute(
                "INSERT INTO settings VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
                (name, text),
            )

    def derived(self, key: str) -> dict[str, bytes]:
        """Return the derived figures kept under this key: dive id -> what was saved.

        key   the version of the model and the settings that the figures rest on
        """
        return dict(self._rows("SELECT dive_id, figures FROM derived WHERE key = ?", [key]))

    def save_derived(self, key: str, figures: Mapping[str, bytes], *, at_revision: int | None = None) -> None:
        """Keep derived figures; they are a cache, so the revision stays as it is.

        figures       dive id -> bytes; ids that are not in the logbook are passed over
        at_revision   the revision they were worked out at: where the logbook has changed since,
                      nothing is kept, because the figures may rest on dives that are no longer so

        Figures under all but the last few keys are dropped. Where nothing may be written, nothing is kept.
        """
        if self.closed_because:
            return
        with change(self._connection, self.path):
            if at_revision is not None and self._revision() != at_revision:
                return
            self._connection.executemany(
                "INSERT OR REPLACE INTO derived (key, dive_id, figures)"
                " SELECT ?, id, ? FROM dives WHERE id = ?",
                ((key, data, dive_id) for dive_id, data in figures.items()),
            )
            self._connection.execute(
                "DELETE FROM derived WHERE key NOT IN"
                " (SELECT key FROM derived GROUP BY key ORDER BY max(rowid) DESC LIMIT ?)",
                [_KEYS_KEPT],
            )

    def revision(self) -> int:
        """Return a number that grows by one with every change to a dive."""
        with trouble_in_words(self.path):
            return self._revision()

    @contextmanager
    def _change(self, *, counts: bool = True) -> Iterator[None]:
        try:
            with change(self._connection, self.path):
                yield
                if counts:
                    self._connection.execute("UPDATE logbook SET revision = revision + 1")
        except UnicodeEncodeError as error:
            raise LogbookError(
                _(
                    "The text {object!a} has half a character in it and cannot be kept; correct it and "
                    "save again. Nothing was saved."
                ).format(object=error.object[:60])
            ) from error

    def _rows(self, query: str, values: Sequence[Any] = ()) -> list[tuple[Any, Any]]:
        with trouble_in_words(self.path):
            return self._connection.execute(query, values).fetchall()

    def _revision(self) -> int:
        return int(self._connection.execute("SELECT revision FROM logbook").fetchone()[0])

    def _bring_up_to_date(self) -> None:
        if lacks_migrations(self._connection) and not self._passing:
            copy_before_migrating(self._connection, self.path, self._now())
        migrate(self._connection)
        full_text = has_full_text(self._connection)
        if not words_are_right(self._connection, full_text):
            with change(self._connection, self.path):
                put_words_right(self._connection, full_text)

    def _newer(self) -> str:
        """Return why a file of a newer program is only read, empty for any other.

        Raises LogbookError where it lacks what this program reads.
        """
        newer = names_from_a_newer_program(self._connection)
        if not newer:
            return ""
        words = _(
            "The logbook {path} was written by a newer Leadline ({migrations}). It is shown and not written"
            " to; update this one."
        ).format(path=self.path, migrations=", ".join(sorted(newer)))
        if lacks_migrations(self._connection):
            raise LogbookError(words)
        return words

    def _damaged(self) -> str:
        """Return why a damaged file is only read, empty for a sound one."""
        if not (how := damaged_table(self._connection)):
            return ""
        return _(
            "The logbook {path} is damaged ({how}). It is shown as far as it can be read, and not written to:"
            " put back the last backup, or save what can be read into a new file."
        ).format(path=self.path, how=how.splitlines()[-1])

    def _refuse_missing_profiles(self, dives: Iterable[Dive]) -> None:
        for dive in dives:
            for recording in dive.recordings:
                name = recording.profile_sha256
                if name is not None and not self._samples_kept(name):
                    raise LogbookError(
                        _(
                            "The dive of {began_local} names samples that are not in the logbook ({name}); "
                            "read its file again. Nothing was saved."
                        ).format(began_local=f"{dive.began_local:%Y-%m-%d %H:%M}", name=name[:12])
                    )

    def _samples_kept(self, sha256: str) -> bool:
        found = self._connection.execute("SELECT 1 FROM profiles WHERE sha256 = ?", [sha256])
        return found.fetchone() is not None

    def _samples(self, sha256s: Sequence[str]) -> list[tuple[str, bytes]]:
        marks = ", ".join("?" * len(sha256s))
        query = (
            f"SELECT sha256, samples FROM profiles WHERE sha256 IN ({marks})"  # noqa: S608
            f" UNION ALL SELECT sha256, part FROM sync_blobs WHERE whole = 1 AND sha256 IN ({marks})"
        )
        return self._connection.execute(query, [*sha256s, *sha256s]).fetchall()

    def _checked_profile(self, sha256: str, data: bytes | None) -> Profile:
        if data is None:
            raise LogbookError(
                _("The logbook {path} holds no samples {sha256}; read their file again.").format(
                    path=self.path, sha256=sha256[:12]
                )
            )
        try:
            if profile_digest(data) != sha256:
                raise RefusedRecord(_("The bytes are not those that were saved."))
            return profile_from_bytes(data)
        except RefusedRecord as error:
            raise LogbookError(
                _("The samples {sha256} in the logbook {path} are damaged; put back the last backup.").format(
                    sha256=sha256[:12], path=self.path
                )
            ) from error

    def _drop_derived(self, dive_ids: Iterable[str]) -> None:
        """Drop the figures of changed dives.

        What a dive changes for later ones is for their readers to see: see `analysis.chain_of_dives`.
        """
        self._connection.executemany(
            "DELETE FROM derived WHERE dive_id = ?", ((dive_id,) for dive_id in dive_ids)
        )

    def _write(self, dives: Mapping[str, Dive], samples: Mapping[str, bytes]) -> list[Told]:
        """Keep what the diver changed within a change, with all that follows; return what changed."""
        if not dives:
            return []
        self._connection.executemany("INSERT OR IGNORE INTO profiles VALUES (?, ?)", samples.items())
        self._refuse_missing_profiles(dives.values())
        before = self._as_they_are(list(dives))
        told = self._put(dives, before)
        self._outbox.dives(before, dives.values())
        return told

    def _put(self, dives: Mapping[str, Dive], before: Mapping[str, Dive]) -> list[Told]:
        self._drop_derived(dives)
        write_dives(self._connection, list(dives.values()))
        write_words(self._connection, dives.values(), self._full_text)
        return [
            (dive_id, *told)
            for dive_id, dive in dives.items()
            for told in changed_fields(before.get(dive_id), dive)
        ]

    def _as_they_are(self, dive_ids: Sequence[str]) -> dict[str, Dive]:
        """Return those of the dives that are in the logbook, in the bin or not."""
        found: list[Dive] = []
        for at in range(0, len(dive_ids), _AT_A_TIME):
            some = dive_ids[at : at + _AT_A_TIME]
            marks = ", ".join("?" * len(some))
            found += read_dives(self._connection, f"dives.id IN ({marks})", some)
        return {dive.id: dive for dive in found}

    def _move(self, to_bin: Iterable[str], from_bin: Iterable[str], at: datetime) -> list[Told]:
        """Put dives into the bin and take others out as the diver wants; return which of them moved."""
        told = self._put_away(to_bin, from_bin, at)
        self._outbox.presence(told)
        return told

    def _put_away(self, to_bin: Iterable[str], from_bin: Iterable[str], at: datetime) -> list[Told]:
        into = [told for dive_id in to_bin for told in self._move_in_change(dive_id, _TO_BIN, "false", at)]
        out = [told for dive_id in from_bin for told in self._move_in_change(dive_id, _FROM_BIN, "true")]
        return [*into, *out]

    def _move_in_change(
        self, dive_id: str, statement: str, present: str, *instants: datetime
    ) -> Iterator[Told]:
        before = "false" if self._is_binned(dive_id) else "true"
        self._connection.execute(statement, [dive_id, *map(instant_to_text, instants)])
        self._drop_derived([dive_id])
        if before != present:
            yield dive_id, PRESENT, before, present

    def _is_binned(self, dive_id: str) -> bool:
        found = self._connection.execute("SELECT binned_at FROM dives WHERE id = ?", [dive_id]).fetchone()
        if found is None:
            raise _unknown(dive_id)
        return found[0] is not None


class _DiveTables:
    """What comes from other devices, written as every dive is, but told to none of them."""

    def __init__(self, store: LogbookStore) -> None:
        self._store = store

    def put(self, dives: Sequence[Dive]) -> list[Told]:
        wanted = {dive.id: dive for dive in dives}
        return self._store._put(wanted, self._store._as_they_are(list(wanted)))

    def put_away(self, to_bin: Iterable[str], from_bin: Iterable[str]) -> list[Told]:
        return self._store._put_away(to_bin, from_bin, self._store._now())


def _packed(entries: Iterable[tuple[Dive, Sequence[Profile]]]) -> tuple[dict[str, Dive], dict[str, bytes]]:
    dives: dict[str, Dive] = {}
    samples: dict[str, bytes] = {}
    for dive, profiles in entries:
        dives[dive.id] = dive
        for data in map(profile_to_bytes, profiles):
            samples[profile_digest(data)] = data
    return dives, samples


def _unknown(dive_id: str) -> UnknownDive:
    return UnknownDive(
        _("There is no dive {dive_id} in the logbook; it may have been made on another device.").format(
            dive_id=dive_id
        )
    )

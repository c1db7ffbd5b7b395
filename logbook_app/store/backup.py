"""The logbook as one file to carry away, and such a file put back in its place.

Both ways the database is copied by SQLite's online backup, which is right whoever writes meanwhile
and leaves, after a crash, what was there before. A file takes a name only when it is whole; a
backup takes the place of the logbook only when it has been looked through, and what it replaces is
kept beside it as a backup of its own.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import monotonic

from logbook_app.dive.problems import LogbookError, Problem
from logbook_app.language import _
from logbook_app.store.logbook_file import (
    WAIT_FOR_OTHERS_S,
    refuse_what_is_not_a_logbook,
    trouble_in_words,
)
from logbook_app.store.logbook_store import BackupStep, LogbookStore

BESIDE = ("-wal", "-shm")  # what SQLite keeps beside a file that is in use


@dataclass(frozen=True, slots=True)
class Backup:
    """One backup that was written.

    path        where it lies
    size_bytes  how large it is
    dives       how many dives are in it, without those in its bin
    problems    what is damaged in it, as it is in the logbook
    """

    path: Path
    size_bytes: int
    dives: int
    problems: tuple[Problem, ...] = ()


def write_backup(store: LogbookStore, path: Path) -> Backup:
    """Write the whole logbook to a file, which takes the place of an earlier backup there.

    Raises LogbookError where the place cannot be used, holds something else, or holds a backup while
    the logbook itself is damaged: a sound backup is worth more than a copy of the damage.
    """
    _refuse_place(store.path, path)
    with takes_the_name(path) as unfinished:
        with trouble_in_words(path), closing(sqlite3.connect(unfinished)) as copy:
            store.copy_to(copy, _patience(path))
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, with nothing beside it
        problems = tuple(store.damage())
        if problems and path.exists():
            raise LogbookError(
                _(
                    "The logbook is damaged, so the earlier backup {path} was left alone. Choose another"
                    " name to keep a copy of the logbook as it is. {what}"
                ).format(path=path, what=problems[0].what)
            )
        _on_the_disk(unfinished)
    return Backup(path, path.stat().st_size, 0 if problems else len(store.dives()), problems)


def put_back(store: LogbookStore, path: Path, aside: Path) -> None:
    """Let a backup take the place of everything in the logbook.

    aside   a path that is not there yet: what was in the logbook is kept there, as a backup

    Raises LogbookError where the backup cannot be read, is damaged or is no logbook; nothing is
    changed then.
    """
    with _looked_through(path, store.path) as sound:
        write_backup(store, aside)
        with trouble_in_words(store.path), closing(sqlite3.connect(sound)) as source:
            store.become(source, _patience(store.path))


def put_back_unopened(logbook_path: Path, path: Path, aside: Path) -> None:
    """Let a backup take the place of a logbook that cannot be opened any more.

    aside   a path that is not there yet: the file is moved there as it is

    Raises LogbookError as `put_back` does.
    """
    with _looked_through(path, logbook_path) as sound, _disk_in_words(logbook_path):
        for ending in ("", *BESIDE):
            there = logbook_path.with_name(logbook_path.name + ending)
            if there.exists():
                there.replace(aside.with_name(aside.name + ending))
        sound.replace(logbook_path)


@contextmanager
def _looked_through(path: Path, logbook_path: Path) -> Iterator[Path]:
    """Give a sound copy of a backup, brought up to date, beside the logbook; it goes afterwards.

    Raises LogbookError where the backup is none, is damaged or comes from a newer program.
    """
    if not path.exists():
        raise LogbookError(_("There is no file {path}; choose a backup.").format(path=path))
    with _disk_in_words(path):
        refuse_what_is_not_a_logbook(path)
        same = logbook_path.exists() and path.samefile(logbook_path)
    if same:
        raise LogbookError(_("{path} is the logbook itself; choose a backup.").format(path=path))
    with _unfinished_beside(logbook_path, ".restored") as copied:
        with (
            trouble_in_words(path),
            closing(_read_only(path)) as source,
            closing(sqlite3.connect(copied)) as copy,
        ):
            source.backup(copy, progress=_patience(path))
        with closing(LogbookStore(copied, passing=True)) as store:
            problems, newer = store.damage(), store.closed_because
        if problems:
            raise LogbookError(
                _("The backup {path} is damaged and nothing was changed; choose another one. {what}").format(
                    path=path, what=problems[0].what
                )
            )
        if newer:
            raise LogbookError(newer)
        yield copied


def _read_only(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)


def _refuse_place(logbook_path: Path, path: Path) -> None:
    with _disk_in_words(path):
        if path.exists() and path.samefile(logbook_path):
            raise LogbookError(
                _("{path} is the logbook itself; give the backup another name.").format(path=path)
            )
        if path.exists():
            refuse_what_is_not_a_logbook(path)


def _patience(path: Path) -> BackupStep:
    """Return what a copy calls at every step: SQLite would wait for another program without an end."""
    until = monotonic() + WAIT_FOR_OTHERS_S

    def step(status: int, _remaining: int, _total: int) -> None:
        if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) and monotonic() > until:
            raise LogbookError(
                _("Another program is writing to {path}; close it and try again.").format(path=path)
            )

    return step


@contextmanager
def takes_the_name(path: Path) -> Iterator[Path]:
    """Give an empty file beside a path, which takes its name when all is done, and is removed when not."""
    with _unfinished_beside(path, ".unfinished") as unfinished:
        yield unfinished
        unfinished.replace(path)


@contextmanager
def _unfinished_beside(path: Path, ending: str) -> Iterator[Path]:
    """Give an empty file of the owner's alone beside a path, and remove what is left of it."""
    unfinished = path.with_name(path.name + ending)
    try:
        with _disk_in_words(path):
            unfinished.unlink(missing_ok=True)
            os.close(os.open(unfinished, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
            yield unfinished
    finally:
        for left in ("", *BESIDE):
            unfinished.with_name(unfinished.name + left).unlink(missing_ok=True)


def _on_the_disk(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


@contextmanager
def _disk_in_words(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        reason = error.strerror or str(error)
        raise LogbookError(
            _("{path} cannot be used: {reason}. Choose another place.").format(path=path, reason=reason)
        ) from error

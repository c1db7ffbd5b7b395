"""The care of the logbook file: when it was last backed up and where to, and a backup put back.

The store copies and looks; here is what the diver sees of it. The last backup is remembered in the
logbook itself, and outlives a backup that is put back.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from itertools import count
from pathlib import Path

from logbook_app.dive.changes import Changes
from logbook_app.store.backup import Backup, put_back, put_back_unopened, write_backup
from logbook_app.store.logbook_store import LogbookStore

ENDING = ".leadline"
_AT, _WHERE = "last_backup_at", "last_backup_path"


@dataclass(frozen=True, slots=True)
class LastBackup:
    """When the logbook was last backed up, and the file."""

    at: datetime
    path: Path


@dataclass(frozen=True, slots=True)
class PutBack:
    """What putting a backup back did.

    kept_aside   the logbook as it was before: putting that back undoes it
    """

    changes: Changes
    kept_aside: Path


def back_up(store: LogbookStore, place: Path, at: datetime) -> Backup:
    """Write a backup to a file, or under the day's name into a folder. Raises LogbookError."""
    named = f"leadline backup {at:%Y-%m-%d %H%M}"
    made = write_backup(store, free_path(place, named) if place.is_dir() else place)
    store.set_settings({_AT: at.isoformat(), _WHERE: str(made.path.absolute())})
    return made


def last_backup(store: LogbookStore) -> LastBackup | None:
    """Return the last backup, None where there was none."""
    kept = store.settings()
    try:
        return LastBackup(datetime.fromisoformat(kept[_AT]), Path(kept[_WHERE]))
    except (KeyError, ValueError):
        return None


def restore(store: LogbookStore, path: Path, at: datetime) -> PutBack:
    """Put a backup in the place of everything in the logbook, and keep what was there beside it.

    Raises LogbookError where the backup is not sound; nothing is changed then.
    """
    if store.closed_because:
        store.close()
        try:
            aside = restore_unopened(store.path, path, at)
        finally:
            store.open_anew()
        every = frozenset(dive.id for dive in store.dives())
        return PutBack(Changes(every, totals=True, settings=True), aside)
    before = {dive.id for dive in store.dives()}
    remembered = {name: value for name, value in store.settings().items() if name in (_AT, _WHERE)}
    aside = _aside(store.path, at)
    put_back(store, path, aside)
    store.set_settings(remembered)
    after = {dive.id for dive in store.dives()}
    return PutBack(Changes(frozenset(before | after), totals=True, settings=True), aside)


def restore_unopened(logbook_path: Path, path: Path, at: datetime) -> Path:
    """Put a backup in the place of a logbook that cannot be opened; return where that is kept.

    Raises LogbookError where the backup is not sound; nothing is changed then.
    """
    aside = _aside(logbook_path, at)
    put_back_unopened(logbook_path, path, aside)
    return aside


def free_path(folder: Path, stem: str) -> Path:
    """Return the path of a logbook file that is not there yet: with a number where the name is taken."""
    names = (stem if number == 1 else f"{stem} ({number})" for number in count(1))
    return next(path for path in (folder / f"{name}{ENDING}" for name in names) if not path.exists())


def _aside(logbook_path: Path, at: datetime) -> Path:
    return free_path(logbook_path.parent, f"{logbook_path.stem} before {at:%Y-%m-%d %H%M}")

"""Backups that nobody has to think of: one a day, and one before anything that touches many dives.

They lie in a folder beside the logbook that only its owner can read, and the older ones go. A damaged logbook
is never backed up this way: the sound copies of yesterday are worth more.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from logbook_app.dive.problems import LogbookError, Problem
from logbook_app.store.backup import Backup, write_backup
from logbook_app.store.backup_places import (
    BEFORE,
    DAILY,
    ENDING,
    backup_path,
    backups_folder,
    make_backups_folder,
)
from logbook_app.store.logbook_store import LogbookStore

KEPT: Final = {DAILY: 7, BEFORE: 5}
_REVISION: Final = "automatic_backup_of"


@dataclass(frozen=True, slots=True)
class Automatic:
    """What became of an automatic backup.

    made       None where none was needed, or none could be made
    problems   what is damaged in the logbook; no backup is made then
    trouble    why none could be written, empty where one was
    """

    made: Backup | None = None
    problems: tuple[Problem, ...] = ()
    trouble: str = ""


def daily_backup(store: LogbookStore, now: datetime) -> Automatic:
    """Back up a logbook that has changed since the last automatic backup, once a day."""
    today = backup_path(store.path, DAILY, f"{now:%Y-%m-%d}")
    return Automatic() if today.exists() else _back_up(store, today)


def backup_before(store: LogbookStore, now: datetime) -> Automatic:
    """Back up a logbook that has changed since the last automatic backup, before many dives are touched."""
    return _back_up(store, backup_path(store.path, BEFORE, f"{now:%Y-%m-%d %H%M%S}"))


def automatic_backups(logbook_path: Path) -> list[Path]:
    """Return the automatic backups of a logbook, the newest first."""
    return sorted(_there(logbook_path), key=lambda path: path.stat().st_mtime, reverse=True)


def _back_up(store: LogbookStore, path: Path) -> Automatic:
    revision = str(store.revision())
    if store.closed_because or store.revision() == 0 or store.settings().get(_REVISION) == revision:
        return Automatic()
    if problems := tuple(store.damage()):
        return Automatic(problems=problems)
    try:
        make_backups_folder(store.path)
        made = write_backup(store, path)
    except (LogbookError, OSError) as error:  # no room for it: the diver's own work goes on
        return Automatic(trouble=str(error))
    store.keep_draft(_REVISION, revision)
    _let_go(store.path)
    return Automatic(made)


def _there(logbook_path: Path, kind: str = "") -> Iterator[Path]:
    start = f"{logbook_path.stem} {kind}"
    folder = backups_folder(logbook_path)
    return (path for path in folder.glob(f"*{ENDING}") if path.name.startswith(start))


def _let_go(logbook_path: Path) -> None:
    """Remove the oldest of each kind beyond what is kept; their names sort as time does."""
    for kind, kept in KEPT.items():
        for path in sorted(_there(logbook_path, kind))[:-kept]:
            path.unlink(missing_ok=True)

"""Where the automatic backups of a logbook lie, and the copy made before a file is brought up to date."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from datetime import datetime
from pathlib import Path
from typing import Final

from logbook_app.dive.problems import LogbookError
from logbook_app.language import _

ENDING: Final = ".leadline"
DAILY: Final = "daily"
BEFORE: Final = "before"
_FOLDER_ENDING: Final = " backups"


def backups_folder(logbook_path: Path) -> Path:
    """Return where the automatic backups of a logbook lie."""
    return logbook_path.with_name(logbook_path.stem + _FOLDER_ENDING)


def backup_path(logbook_path: Path, kind: str, when: str) -> Path:
    """Return the name of an automatic backup; those of one kind sort as time does."""
    return backups_folder(logbook_path) / f"{logbook_path.stem} {kind} {when}{ENDING}"


def make_backups_folder(logbook_path: Path) -> None:
    """Make the folder, which only its owner can read. Raises OSError."""
    backups_folder(logbook_path).mkdir(mode=0o700, exist_ok=True)


def copy_before_migrating(connection: sqlite3.Connection, path: Path, now: datetime) -> None:
    """Keep a logbook as it is before a newer program changes how it is kept.

    Raises LogbookError where no copy can be written: the file is then left as it is.
    """
    copied = backup_path(path, BEFORE, f"{now:%Y-%m-%d %H%M%S}")
    unfinished = copied.with_name(copied.name + ".unfinished")
    try:
        make_backups_folder(path)
        os.close(os.open(unfinished, os.O_CREAT | os.O_TRUNC | os.O_RDWR, 0o600))
        with closing(sqlite3.connect(unfinished)) as target:
            connection.backup(target)
            target.execute("PRAGMA journal_mode = DELETE")
        unfinished.replace(copied)
    except (OSError, sqlite3.Error) as error:
        with suppress(OSError):
            unfinished.unlink()
        raise LogbookError(
            _(
                "The logbook {path} is of an earlier version and cannot be copied before it is brought up to"
                " date: {why}. Make room beside it; it was left as it is."
            ).format(path=path, why=error)
        ) from error

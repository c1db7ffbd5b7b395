"""What the app prints, and where it puts it: somewhere the diver finds it again. No Kivy; run in the worker.

A logbook in the data folder of the system, where nobody looks, prints into the diver's documents. A
logbook that somebody keeps elsewhere has its papers beside it. Nothing printed earlier is overwritten.
"""

from __future__ import annotations

import os
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logbook_app.logbook import Logbook


def print_accident_sheet(logbook: Logbook, now: datetime) -> Path:
    """Print the sheet for an accident and return where it lies. Raises LogbookError."""
    path = free_path(papers_folder(logbook.path), f"accident sheet {now:%Y-%m-%d %H%M}")
    logbook.accident_sheet(path, now)
    return path


def print_dive(logbook: Logbook, dive_id: str) -> Path:
    """Print the page of one dive and return where it lies. Raises UnknownDive and LogbookError."""
    dive = logbook.dive(dive_id)
    named = f"dive {dive.number}" if dive.number is not None else f"dive {dive.began_local:%Y-%m-%d %H%M}"
    path = free_path(papers_folder(logbook.path), named)
    logbook.export(path, [dive_id])
    return path


def papers_folder(logbook_path: Path) -> Path:
    """Return the folder that papers of a logbook go to."""
    from platformdirs import user_data_path, user_documents_path

    if logbook_path.parent != user_data_path("leadline", appauthor=False):
        return logbook_path.parent
    documents = user_documents_path()
    return documents if os.access(documents, os.W_OK) else logbook_path.parent


def free_path(folder: Path, stem: str) -> Path:
    """Return the path of a PDF that is not there yet: `dive 214.pdf`, then `dive 214 (2).pdf`."""
    names = (stem if number == 1 else f"{stem} ({number})" for number in count(1))
    return next(path for path in (folder / f"{name}.pdf" for name in names) if not path.exists())

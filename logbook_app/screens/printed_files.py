"""What the app prints and exports, and where it puts it: somewhere the diver finds it again.

No Kivy; run in the worker.

A logbook in the data folder of the system, where nobody looks, prints into the diver's documents. A
logbook that somebody keeps elsewhere has its papers beside it. Nothing that was
written earlier is overwritten.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from logbook_app.analysis.spoken_units import spoken_dives
from logbook_app.language import _

if TYPE_CHECKING:
    from logbook_app.analysis.dive_plan import DivePlan
    from logbook_app.logbook import Logbook


def print_accident_sheet(logbook: Logbook, now: datetime) -> Path:
    """Print the sheet for an accident and return where it lies. Raises LogbookError."""
    path = free_path(
        papers_folder(logbook.path), _("accident sheet {now}").format(now=f"{now:%Y-%m-%d %H%M}")
    )
    logbook.accident_sheet(path, now)
    return path


def print_slate(logbook: Logbook, plan: DivePlan, now: datetime) -> Path:
    """Write the card of a plan and return where it lies. Raises LogbookError."""
    path = free_path(papers_folder(logbook.path), _("plan {now}").format(now=f"{now:%Y-%m-%d %H%M}"))
    logbook.write_slate(path, plan)
    return path


def write_dive(logbook: Logbook, dive_id: str, ending: str, *, with_contacts: bool = False) -> Path:
    """Write one dive to a file with this ending and return where it lies; `.csv` has its samples.

    with_contacts   whether a page to print shows the emergency contacts on its pre-dive card

    Raises UnknownDive, RefusedRecord where there are no samples to write, and LogbookError.
    """
    dive = logbook.dive(dive_id)
    named = (
        _("dive {number}").format(number=dive.number)
        if dive.number is not None
        else _("dive {began_local}").format(began_local=f"{dive.began_local:%Y-%m-%d %H%M}")
    )
    path = free_path(papers_folder(logbook.path), named, ending)
    if ending == ".csv":
        logbook.export_samples_of(path, dive_id)
    else:
        logbook.export(path, [dive_id], with_contacts=with_contacts)
    return path


def export_dives(
    logbook: Logbook,
    dive_ids: Sequence[str],
    ending: str,
    now: datetime,
    progress: Callable[[int, int, str], None],
    cancelled: Callable[[], bool],
) -> Path:
    """Write dives to a file with this ending and return where it lies.

    Raises UnknownDive, Cancelled and LogbookError; no file is then left.
    """
    named = f"{spoken_dives(len(dive_ids))} {now:%Y-%m-%d}"
    path = free_path(papers_folder(logbook.path), named, ending)
    logbook.export(path, dive_ids, progress=progress, cancelled=cancelled)
    return path


def papers_folder(logbook_path: Path) -> Path:
    """Return the folder that papers of a logbook go to."""
    from platformdirs import user_data_path, user_documents_path

    if logbook_path.parent != user_data_path("leadline", appauthor=False):
        return logbook_path.parent
    documents = user_documents_path()
    return documents if os.access(documents, os.W_OK) else logbook_path.parent


def free_path(folder: Path, stem: str, ending: str = ".pdf") -> Path:
    """Return the path of a file that is not there yet: `dive 214.pdf`, then `dive 214 (2).pdf`."""
    names = (stem if number == 1 else f"{stem} ({number})" for number in count(1))
    return next(path for path in (folder / f"{name}{ending}" for name in names) if not path.exists())

"""The dives of a logbook leave in the form that the ending of the file names."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from logbook_app.analysis.dive_analysis import DiveAnalysis
from logbook_app.analysis.gas_use import GasUse
from logbook_app.dive.problems import UnknownForm
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.files.dives_csv import write_dives_csv
from logbook_app.files.logbook_json import Entry, write_logbook_json
from logbook_app.files.uddf.writer import write_uddf


@dataclass(frozen=True, slots=True)
class Leaving:
    """The dives that leave, in order of their start, and where the rest of each comes from in its turn.

    profiles_of  gives the samples of each recording of a dive
    analysis_of  gives what a dive did to the diver
    written_at   aware
    """

    dives: Sequence[Dive]
    profiles_of: Callable[[Dive], Sequence[Profile | None]]
    analysis_of: Callable[[Dive], tuple[DiveAnalysis, GasUse]]
    written_at: datetime


def form_of(path: Path) -> str:
    """Return the ending that names the form of a file. Raises UnknownForm where it names none."""
    ending = path.suffix.lower()
    if ending not in _WRITERS:
        *others, last = _WRITERS
        raise UnknownForm(
            f"{path.name}: this ending is not written. "
            f"Name a file that ends in {', '.join(others)} or {last}."
        )
    return ending


def write_dives(path: Path, leaving: Leaving) -> None:
    """Write dives to a file, whole or not at all.

    Raises UnknownForm where its ending names no form, LogbookError where it cannot be written.
    """
    _WRITERS[form_of(path)](path, leaving)


def _write_json(path: Path, leaving: Leaving) -> None:
    write_logbook_json(path, (_entry(dive, leaving) for dive in leaving.dives), leaving.written_at)


def _entry(dive: Dive, leaving: Leaving) -> Entry:
    analysis, gas = leaving.analysis_of(dive)
    profiles = leaving.profiles_of(dive)
    return Entry(dive, profiles[0] if profiles else None, analysis, gas, profiles[1:])


def _write_uddf(path: Path, leaving: Leaving) -> None:
    write_uddf(path, leaving.dives, leaving.profiles_of, leaving.written_at)


def _write_csv(path: Path, leaving: Leaving) -> None:
    write_dives_csv(path, leaving.dives)


_WRITERS: Final[dict[str, Callable[[Path, Leaving], None]]] = {
    ".json": _write_json,
    ".csv": _write_csv,
    ".uddf": _write_uddf,
}

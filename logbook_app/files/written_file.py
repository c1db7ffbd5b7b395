"""The dives of a logbook leave in the form that the ending of the file names."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.problems import UnknownForm
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.files.dives_csv import write_dives_csv
from logbook_app.files.logbook_json import Entry, write_logbook_json
from logbook_app.files.pdf.paper_size import PaperSize
from logbook_app.files.read_dive import ReadKit
from logbook_app.files.uddf.writer import write_uddf
from logbook_app.files.whole_file import write_whole
from logbook_app.language import _


@dataclass(frozen=True, slots=True)
class Leaving:
    """The dives that leave, in order of their start, and where the rest of each comes from in its turn.

    profiles_of  gives the samples of each recording of a dive
    view_of      gives a dive with what it did to the diver
    written_at   aware, local
    units        of the diver, for forms that are read by people
    paper        for forms that are printed
    kit          the diver's kit that goes with them
    with_contacts  whether pages to print show the emergency contacts on pre-dive cards
    """

    dives: Sequence[Dive]
    profiles_of: Callable[[Dive], Sequence[Profile | None]]
    view_of: Callable[[Dive], DiveView]
    written_at: datetime
    units: SpokenUnits
    paper: PaperSize
    kit: ReadKit = ReadKit()  # noqa: RUF009 (frozen)
    with_contacts: bool = False


def form_of(path: Path) -> str:
    """Return the ending that names the form of a file. Raises UnknownForm where it names none."""
    ending = path.suffix.lower()
    if ending not in _WRITERS:
        *others, last = _WRITERS
        raise UnknownForm(
            _("{name}: this ending is not written. Name a file that ends in {others} or {last}.").format(
                name=path.name, others=", ".join(others), last=last
            )
        )
    return ending


def write_dives(path: Path, leaving: Leaving) -> None:
    """Write dives to a file, whole or not at all.

    Raises UnknownForm where its ending names no form, LogbookError where it cannot be written.
    """
    _WRITERS[form_of(path)](path, leaving)


def _write_json(path: Path, leaving: Leaving) -> None:
    entries = (_entry(dive, leaving) for dive in leaving.dives)
    write_logbook_json(path, entries, leaving.written_at, leaving.kit)


def _entry(dive: Dive, leaving: Leaving) -> Entry:
    view = leaving.view_of(dive)
    profiles = leaving.profiles_of(dive)
    return Entry(dive, profiles[0] if profiles else None, view.analysis, view.gas, profiles[1:])


def _write_uddf(path: Path, leaving: Leaving) -> None:
    items = {item.id: item for item in leaving.kit.items}
    write_uddf(path, leaving.dives, leaving.profiles_of, leaving.written_at, items)


def _write_csv(path: Path, leaving: Leaving) -> None:
    write_dives_csv(path, leaving.dives)


def _write_pdf(path: Path, leaving: Leaving) -> None:
    # Here and not above: the PDF library is slow to load, and most who export never print.
    from logbook_app.files.pdf.logbook_pages import logbook_pages

    views = (leaving.view_of(dive) for dive in leaving.dives)
    pages = logbook_pages(
        views, leaving.units, leaving.paper, leaving.written_at, with_contacts=leaving.with_contacts
    )
    write_whole(path, pages)


_WRITERS: Final[dict[str, Callable[[Path, Leaving], None]]] = {
    ".json": _write_json,
    ".csv": _write_csv,
    ".uddf": _write_uddf,
    ".pdf": _write_pdf,
}

"""What an import did, in words: a heading, the counts, and one sentence for everything odd."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from logbook_app.analysis.spoken_units import SpokenUnits, spoken_duration
from logbook_app.dive.record import Dive
from logbook_app.screens.wording import clock_time, full_date

LARGEST_SHOWN_AS_BYTES = 1000


@dataclass(frozen=True, slots=True)
class DiveLine:
    """A dive that an import added or joined, as the report names it."""

    dive_id: str
    heading: str
    line: str


@dataclass(frozen=True, slots=True)
class ReportWords:
    """A whole report in words.

    dives   the dives added, then those joined
    notes   everything odd, one sentence each, none left out
    """

    heading: str
    counts: tuple[tuple[str, str], ...]
    dives: tuple[DiveLine, ...]
    notes: tuple[str, ...]


def report_words(report: Any, dives: Iterable[Dive], units: SpokenUnits) -> ReportWords:
    """Return an `ImportReport` in words.

    dives   the records of the dives added and joined, in that order
    """
    return ReportWords(
        heading=heading(report),
        counts=(
            ("Added", str(len(report.added))),
            ("Already there", str(len(report.already_there))),
            ("Joined", str(len(report.joined))),
        ),
        dives=tuple(dive_line(dive, units) for dive in dives),
        notes=tuple(problem.sentence() for problem in report.problems),
    )


def heading(report: Any) -> str:
    """Return in one sentence what came of the import."""
    added, known = len(report.added), len(report.already_there)
    stopped = "Stopped; what was finished is kept. " if report.cancelled else ""
    if added:
        return f"{stopped}{_dives(added)} added."
    if report.joined:
        return f"{stopped}{_dives(len(report.joined))} joined by a second recording."
    if known:
        were_there = "the dive was" if known == 1 else f"all {known} dives were"
        return f"{stopped}Nothing new: {were_there} there already."
    return f"{stopped}No dive was added."


def dive_line(dive: Dive, units: SpokenUnits) -> DiveLine:
    """Return how a report names a dive."""
    name = f"Dive {dive.number}" if dive.number is not None else dive.diver or "Dive"
    place = f" · {dive.site.name}" if dive.site and dive.site.name else ""
    when = f"{full_date(dive.began_local)}, {clock_time(dive.began_local)}"
    return DiveLine(
        dive.id,
        f"{name}{place}",
        f"{when} · {units.depth(dive.max_depth_m)} · {spoken_duration(dive.duration_min)}",
    )


def file_size(size_bytes: int) -> str:
    """Return the size of a file.

    >>> file_size(84_200), file_size(312)
    ('84 kB', '312 bytes')
    """
    if size_bytes < LARGEST_SHOWN_AS_BYTES:
        return f"{size_bytes} bytes"
    if size_bytes < LARGEST_SHOWN_AS_BYTES**2:
        return f"{size_bytes / 1e3:.0f} kB"
    return f"{size_bytes / 1e6:.1f} MB"


def endings_words(endings: Sequence[str]) -> str:
    """Return the endings of the files that can be read.

    >>> endings_words((".uddf", ".csv", ".txt"))
    '.uddf, .csv and .txt'
    """
    return " and ".join(part for part in (", ".join(endings[:-1]), endings[-1]) if part)


def _dives(count: int) -> str:
    return "1 dive" if count == 1 else f"{count} dives"

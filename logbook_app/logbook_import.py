"""Bringing recordings in: what is new is added, what was read before is recognised.

Nothing is joined, passed over or refused in silence: the report says each in a sentence. Dives
are saved in whole batches, so an import that is cancelled or cut off keeps what was finished, and
reading the same files again picks up the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from logbook_app.analysis.same_dive import overlapping, same_dive
from logbook_app.dive.problems import Cancelled, LeadlineError, Problem
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.files.read_dive import ReadDive, ReadOptions
from logbook_app.files.recording_file import read_recording, told_name
from logbook_app.store.logbook_store import LogbookStore

SAVED_AT_ONCE = 100  # dives a transaction


@dataclass(frozen=True, slots=True)
class Changes:
    """What a change touched, so that a screen refreshes that and nothing else."""

    dives: frozenset[str] = frozenset()
    totals: bool = False
    settings: bool = False


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What an import did: ids of dives added, found again and joined, and everything odd."""

    added: tuple[str, ...] = ()
    already_there: tuple[str, ...] = ()
    joined: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    cancelled: bool = False

    @property
    def changes(self) -> Changes:
        return Changes(frozenset(self.added + self.joined), totals=bool(self.added))


class ImportRun:
    """One run of an import into a logbook file.

    progress    called with bytes read, bytes in all and the name of the file
    cancelled   asked now and then; True ends the work
    """

    def __init__(
        self,
        store: LogbookStore,
        options: ReadOptions,
        progress: Callable[[int, int, str], None],
        cancelled: Callable[[], bool],
    ) -> None:
        self._store, self._options = store, options
        self._progress, self._cancelled = progress, cancelled
        self._known = store.fingerprints()
        self._binned = {dive.id for dive, _ in store.binned()}
        self._dives = {dive.id: dive for dive in store.dives()}
        self._waiting: dict[str, tuple[Dive, list[Profile]]] = {}
        self._added: list[str] = []
        self._already: list[str] = []
        self._joined: list[str] = []
        self._problems: list[Problem] = []

    def run(self, paths: list[Path]) -> ImportReport:
        """Read the files one after the other and return what was done."""
        was_cancelled = False
        sizes = [_size(path) for path in paths]
        try:
            for index, path in enumerate(paths):
                self._read(path, sum(sizes[:index]), sum(sizes))
        except Cancelled:
            was_cancelled = True
        finally:
            self._save()
        added = sorted(self._added, key=lambda dive_id: self._dives[dive_id].began_at)
        return ImportReport(
            tuple(added),
            tuple(dict.fromkeys(self._already)),
            tuple(dict.fromkeys(self._joined)),
            tuple(self._problems),
            was_cancelled,
        )

    def _read(self, path: Path, before: int, in_all: int) -> None:
        def progress(done: int, _of_file: int) -> None:
            self._progress(before + done, in_all, told_name(path))

        try:
            for item in read_recording(path, self._options, progress, self._cancelled):
                if isinstance(item, Problem):
                    self._problems.append(item)
                else:
                    self._take(item, path)
        except Cancelled:
            raise
        except LeadlineError as refusal:
            self._problems.append(Problem(told_name(path), "", str(refusal)))

    def _take(self, read: ReadDive, path: Path) -> None:
        known_id = self._known_as(read)
        if known_id is not None:
            self._already.append(known_id)
            if known_id in self._binned:
                what = "is in the bin, where you put it; take it out under Logbook, Deleted."
                self._problems.append(Problem(told_name(path), _told(read.dive), what))
            return
        other = overlapping(read.dive, self._dives.values())
        if other is not None and same_dive(other, read.dive):
            self._join(other, read, path)
        else:
            if other is not None:
                what = (
                    f"overlaps {_told(other)}; both are kept and both count in the load until you delete one."
                )
                self._problems.append(Problem(told_name(path), _told(read.dive), what))
            self._add(read)
        if len(self._waiting) >= SAVED_AT_ONCE:
            self._save()

    def _known_as(self, read: ReadDive) -> str | None:
        """Return the dive of the logbook that this is, by what was recorded, else by its id."""
        for recording in read.dive.recordings:
            if recording.fingerprint in self._known:
                return self._known[recording.fingerprint]
        kept = self._dives.keys() | self._binned
        return next((name for name in (read.dive.id, read.known_as) if name in kept), None)

    def _add(self, read: ReadDive) -> None:
        self._keep(read.dive, read.profiles)
        self._added.append(read.dive.id)

    def _join(self, other: Dive, read: ReadDive, path: Path) -> None:
        joined = replace(other, recordings=other.recordings + read.dive.recordings)
        self._keep(joined, read.profiles)
        self._joined.append(other.id)
        what = (
            f"is a second recording of {_told(other)} and was joined to it; the first recording still leads."
        )
        self._problems.append(Problem(told_name(path), _told(read.dive), what))

    def _keep(self, dive: Dive, profiles: list[Profile]) -> None:
        _, before = self._waiting.get(dive.id, (dive, []))
        self._waiting[dive.id] = (dive, before + profiles)
        self._dives[dive.id] = dive
        self._known |= {recording.fingerprint: dive.id for recording in dive.recordings}

    def _save(self) -> None:
        waiting = sorted(self._waiting.values(), key=lambda entry: entry[0].began_at)
        number = next_number(self._dives.values())
        for index, (dive, profiles) in enumerate(waiting):
            if dive.own and dive.number is None:
                numbered = replace(dive, number=number)
                waiting[index], self._dives[dive.id] = (numbered, profiles), numbered
                number += 1
        self._store.save(waiting)
        self._waiting.clear()


def next_number(dives: Iterable[Dive]) -> int:
    """Return the number after the highest of the owner's dives."""
    return max((dive.number or 0 for dive in dives if dive.own), default=0) + 1


def _told(dive: Dive) -> str:
    """Return a dive as a diver would name it in a sentence."""
    began = f"{dive.began_local:%Y-%m-%d %H:%M}"
    return f"dive {dive.number} ({began})" if dive.number is not None else f"the dive of {began}"


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0

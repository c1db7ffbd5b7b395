"""Bringing recordings in: what is new is added, what was read before is recognised.

A series that holds several dives is split; a second recording of a dive is joined to it; what only
seems to be one dive twice, or recorded by a wrong clock, is offered. Nothing is joined, split, passed
over or refused in silence: the report says each in a sentence.

Dives are saved in whole batches, so an import that is cancelled or cut off keeps what was finished,
and reading the same files again picks up the rest. What the import did is kept with each batch, so
that it can be taken back as a whole.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import accumulate
from math import ceil
from pathlib import Path

from logbook_app.analysis.clock_shift import shapes_agree, shift_offers
from logbook_app.analysis.import_report import ImportReport, Offer, report_to_text
from logbook_app.analysis.same_dive import (
    join_offers,
    overlapping,
    same_dive,
    same_dive_by_hand,
    told_dive,
)
from logbook_app.analysis.split_recording import split_recording
from logbook_app.analysis.spoken_units import spoken_duration
from logbook_app.dive.joined_dive import joined
from logbook_app.dive.problems import Cancelled, LeadlineError, Problem, RefusedFile
from logbook_app.dive.profile import Profile, profile_digest, profile_to_bytes
from logbook_app.dive.record import LONGEST_DIVE_MIN, Dive
from logbook_app.files.read_dive import ReadDive, ReadKit, ReadOptions
from logbook_app.files.recording_file import read_recording, told_name
from logbook_app.language import _, ngettext
from logbook_app.store.kept_changes import KeptChange
from logbook_app.store.logbook_store import LogbookStore

SAVED_AT_ONCE = 100  # dives a transaction
_LARGE_BYTES = 1_000_000  # a file of a few hundred dives
LONGEST_DIVE_DAYS = ceil(LONGEST_DIVE_MIN / (24 * 60))


class ImportRun:
    """One run of an import into a logbook file.

    progress    called with bytes read, bytes in all and the name of the file
    cancelled   asked now and then; True ends the work
    at          the instant of the import
    columns_of  what the columns of a file are, empty where nothing is told of it
    """

    def __init__(
        self,
        store: LogbookStore,
        options: ReadOptions,
        progress: Callable[[int, int, str], None],
        cancelled: Callable[[], bool],
        at: datetime,
        columns_of: Callable[[Path], str] = lambda _path: "",
    ) -> None:
        self._store, self._options, self._at = store, options, at
        self._columns_of = columns_of
        self._progress, self._cancelled = progress, cancelled
        self._known = store.fingerprints()
        self._free_number = next_free_number(store)
        self._binned = {dive.id for dive, _ in store.binned()}
        self._taken_back = taken_back(store)
        self._dives = {dive.id: dive for dive in store.dives()}
        self._on_day: dict[int, list[str]] = defaultdict(list)
        for dive in self._dives.values():
            self._on_day[_day(dive)].append(dive.id)
        self._before: dict[str, Dive] = {}
        self._waiting: dict[str, tuple[Dive, list[Profile]]] = {}
        self._from_bin: list[str] = []
        self._added: list[str] = []
        self._already: list[str] = []
        self._joined: list[str] = []
        self._problems: list[Problem] = []
        self._notes: list[Problem] = []
        self._kit: list[str] = []
        self._kit_told = True
        self._import_id = 0

    def run(self, paths: list[Path]) -> ImportReport:
        """Read the files one after the other and return what was done."""
        was_cancelled = False
        sizes = [_size(path) for path in paths]
        in_all = sum(sizes)
        try:
            for path, before in zip(paths, accumulate(sizes, initial=0), strict=False):
                self._read(path, before, in_all)
        except Cancelled:
            was_cancelled = True
        finally:
            self._save()
        report = replace(self._report(), cancelled=was_cancelled, offers=(*self._offers(),))
        if self._import_id:
            self._store.save_together([], self._at, kept=self._kept(report))
        return report

    def _report(self) -> ImportReport:
        return ImportReport(
            added=tuple(sorted(self._added, key=lambda dive_id: self._dives[dive_id].began_at)),
            already_there=tuple(dict.fromkeys(self._already)),
            joined=tuple(dict.fromkeys(self._joined)),
            problems=tuple(self._problems),
            notes=tuple(self._notes),
            import_id=self._import_id,
        )

    def _kept(self, report: ImportReport) -> KeptChange:
        return KeptChange(
            kind="import",
            at=self._at,
            added=report.added,
            changed=tuple((before, self._dives[dive_id]) for dive_id, before in self._before.items()),
            kit=tuple(self._kit),
            report=report_to_text(report),
            id=self._import_id,
        )

    def _offers(self) -> list[Offer]:
        added = [self._dives[dive_id] for dive_id in self._added]
        everyone = list(self._dives.values())
        return [*join_offers(added, everyone), *shift_offers(added, everyone, self._store.profile_of)]

    def _read(self, path: Path, before: int, in_all: int) -> None:
        def progress(done: int, _of_file: int) -> None:
            self._progress(before + done, in_all, told_name(path))

        columns = self._options.csv_columns or self._columns_of(path) or None
        options = replace(self._options, csv_columns=columns)
        try:
            for item in read_recording(path, options, progress, self._cancelled):
                if isinstance(item, Problem):
                    self._problems.append(item)
                elif isinstance(item, ReadKit):
                    self._take_kit(item, path)
                else:
                    self._take(item, path)
        except Cancelled:
            raise
        except LeadlineError as refusal:
            remedy = refusal.remedy if isinstance(refusal, RefusedFile) else ""
            self._problems.append(Problem(told_name(path), "", str(refusal), remedy))

    def _take(self, read: ReadDive, path: Path) -> None:
        parts = self._parts(read)
        whole = [read.profile] if read.profile is not None and len(parts) > 1 else []
        new = [part for part in parts if not self._found_again(part, path)]
        for samples in whole if new else ():
            length = spoken_duration(float(samples.time_s[-1] - samples.time_s[0]) / 60)
            what = _(
                "is one recording of {length} that holds {count} dives; each is a dive of its own now."
            ).format(length=length, count=len(parts))
            self._note(path, read.dive, what)
        for place, part in enumerate(new):
            self._take_new(part, path, whole if place == 0 else [])
        if len(self._waiting) >= SAVED_AT_ONCE:
            self._save()

    def _parts(self, read: ReadDive) -> list[ReadDive]:
        """Return the dives of one recording; what a logbook wrote or was read whole before stays whole."""
        if read.profile is None or read.known_as or self._known_as(read) is not None:
            return [read]
        return [ReadDive(dive, samples) for dive, samples in split_recording(read.dive, read.profile)]

    def _found_again(self, read: ReadDive, path: Path) -> bool:
        known_id = self._known_as(read)
        if known_id is None:
            return False
        if known_id in self._taken_back:
            self._put_back(known_id)
            return True
        self._already.append(known_id)
        if known_id in self._binned:
            what = _("is in the bin, where you put it; take it out under Logbook, Deleted.")
            self._problem(path, read.dive, what)
        return True

    def _put_back(self, dive_id: str) -> None:
        """Add a dive again that went when an import was taken back, with all that was written in it."""
        dive = self._dives[dive_id] = self._taken_back.pop(dive_id)
        self._on_day[_day(dive)].append(dive_id)
        self._binned.discard(dive_id)
        self._from_bin.append(dive_id)
        self._added.append(dive_id)

    def _take_new(self, read: ReadDive, path: Path, whole: list[Profile]) -> None:
        other = overlapping(read.dive, self._about(read.dive))
        if other is not None and same_dive(other, read.dive) and self._alike(other, read):
            self._join(other, read, path, whole)
            return
        if other is not None and not same_dive_by_hand(other, read.dive):
            what = _(
                "overlaps {dive}; both are kept and both count in the load until you delete one."
            ).format(dive=told_dive(other))
            self._problem(path, read.dive, what)
        self._add(read, whole)

    def _known_as(self, read: ReadDive) -> str | None:
        """Return the dive of the logbook that this is, by what was recorded, else by its id."""
        for recording in read.dive.recordings:
            if recording.fingerprint in self._known:
                return self._known[recording.fingerprint]
        names = (read.dive.id, read.known_as)
        return next((name for name in names if name in self._dives or name in self._binned), None)

    def _about(self, dive: Dive) -> list[Dive]:
        """Return the dives that began so near that one of the two could still last when the other begins."""
        days = range(_day(dive) - LONGEST_DIVE_DAYS, _day(dive) + LONGEST_DIVE_DAYS + 1)
        return [self._dives[dive_id] for day in days for dive_id in self._on_day.get(day, ())]

    def _alike(self, other: Dive, read: ReadDive) -> bool:
        """Tell whether two recordings show one shape: a wrong clock may lay two dives over each other."""
        waiting = {
            profile_digest(profile_to_bytes(one)): one for one in self._waiting.get(other.id, (other, []))[1]
        }
        led_by = other.profile_sha256 or ""
        theirs = waiting.get(led_by) or self._store.profile_of(other)
        return theirs is None or read.profile is None or shapes_agree(theirs, read.profile)

    def _add(self, read: ReadDive, whole: list[Profile]) -> None:
        self._keep(read.dive, read.profiles + whole)
        self._added.append(read.dive.id)

    def _join(self, other: Dive, read: ReadDive, path: Path, whole: list[Profile]) -> None:
        if other.id not in self._added:
            self._before.setdefault(other.id, other)
        self._keep(joined(other, read.dive), read.profiles + whole)
        self._joined.append(other.id)
        what = _(
            "is a second recording of {dive} and was joined to it; the first recording still leads."
        ).format(dive=told_dive(other))
        self._note(path, read.dive, what)

    def _keep(self, dive: Dive, profiles: list[Profile]) -> None:
        _, before = self._waiting.get(dive.id, (dive, []))
        self._waiting[dive.id] = (dive, before + profiles)
        if dive.id not in self._dives:
            self._on_day[_day(dive)].append(dive.id)
        self._dives[dive.id] = dive
        self._known |= {recording.fingerprint: dive.id for recording in dive.recordings}

    def _save(self) -> None:
        waiting = sorted(self._waiting.values(), key=lambda entry: entry[0].began_at)
        number = max(self._free_number, next_number(self._dives.values()))
        for index, (dive, profiles) in enumerate(waiting):
            if dive.own and dive.number is None:
                numbered = replace(dive, number=number)
                waiting[index], self._dives[dive.id] = (numbered, profiles), numbered
                number += 1
        if waiting or self._from_bin or not self._kit_told:
            self._kit_told = True
            kept = self._kept(self._report())
            self._import_id = self._store.save_together(waiting, self._at, kept=kept, from_bin=self._from_bin)
        self._waiting.clear()
        self._from_bin.clear()

    def _take_kit(self, kit: ReadKit, path: Path) -> None:
        """Keep the kit that is new here; what is known stays as it is, and care is added to it."""
        shelf = self._store.kit
        known, gone = shelf.known_ids(), self._kit_taken_back()
        new = [item for item in kit.items if item.id not in known]
        again = [item.id for item in kit.items if item.id in gone]
        sets = [each for each in kit.sets if each.id not in known]
        shelf.take_in(new, kit.care, sets, from_bin=again)
        came = [*(item.id for item in new), *again]
        if came:
            self._kit += came
            self._kit_told = False
            words = ngettext(
                "{count} piece of kit came with it.", "{count} pieces of kit came with it.", len(came)
            )
            self._notes.append(Problem(told_name(path), "", words.format(count=len(came))))

    def _kit_taken_back(self) -> set[str]:
        """Return the pieces in the bin that went there when the import that brought them was taken back."""
        binned = self._store.kit.binned_at()
        undone = (change for change in self._store.changes() if change.undone_at) if binned else ()
        return {
            item_id for change in undone for item_id in change.kit if binned.get(item_id) == change.undone_at
        }

    def _problem(self, path: Path, dive: Dive, what: str) -> None:
        self._problems.append(Problem(told_name(path), told_dive(dive), what))

    def _note(self, path: Path, dive: Dive, what: str) -> None:
        self._notes.append(Problem(told_name(path), told_dive(dive), what))


def taken_back(store: LogbookStore) -> dict[str, Dive]:
    """Return the dives that lie in the bin because the import that brought them was taken back."""
    binned = store.binned()
    if not binned:
        return {}  # and no need to read every change
    undone = {
        (dive_id, change.undone_at)
        for change in store.changes()
        if change.kind == "import"
        for dive_id in change.added
    }
    return {dive.id: dive for dive, binned_at in binned if (dive.id, binned_at) in undone}


def may_be_many(paths: Sequence[Path]) -> bool:
    """Return whether so many dives may come of these that the logbook is backed up before."""
    return len(paths) > 1 or any(path.is_dir() or _size(path) > _LARGE_BYTES for path in paths)


def next_free_number(store: LogbookStore) -> int:
    """Return the number after the highest that is taken, by dives in the bin too: they may come back.

    Those of an import that was taken back never came, and leave their numbers free.
    """
    never_came = taken_back(store)
    binned = (dive for dive, _ in store.binned() if dive.id not in never_came)
    return next_number([*store.dives(own_only=True), *binned])


def next_number(dives: Iterable[Dive]) -> int:
    """Return the number after the highest of the owner's dives."""
    return max((dive.number or 0 for dive in dives if dive.own), default=0) + 1


def _day(dive: Dive) -> int:
    return dive.began_at.toordinal()


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0

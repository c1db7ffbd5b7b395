"""The one object that the screens and the command line hold.

It puts the rooms together: files are read, dives analysed with what the dives before them left,
and kept. Every change is on the disk before its method returns, and says what it changed.
A `Logbook` belongs to one thread; a second one may have the same file open.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any

from logbook_app.analysis.accident_record import (
    AccidentRecord,
    RecentDive,
    in_window,
    interval_before_min,
    local_to,
)
from logbook_app.analysis.breathed_samples import surface_pressure_of
from logbook_app.analysis.compared_dives import Comparison, Limits, compared
from logbook_app.analysis.dive_analysis import Rules, analyse
from logbook_app.analysis.dive_catalogue import DiveCatalogue, FoundDives
from logbook_app.analysis.dive_filter import EVERY_DIVE, DiveFilter, DiveOrder, Grouping
from logbook_app.analysis.dive_plan import DIVES_FOR_USUAL_GAS, DivePlan, Leg, PlanConditions, planned
from logbook_app.analysis.dive_row import DiveRow, dive_row
from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.findings import findings
from logbook_app.analysis.gas_use import gas_use
from logbook_app.analysis.import_report import ImportReport, PastChange
from logbook_app.analysis.known_words import KnownWords, known_words
from logbook_app.analysis.next_dive import USUAL_DEPTHS_FT_M, USUAL_DEPTHS_M, NextDive, next_dive
from logbook_app.analysis.next_dive_table import NextDiveTable, best_mix, depth_rows
from logbook_app.analysis.repetitive_dives import carried_to
from logbook_app.analysis.same_dive import JoinOffer, join_offers, overlapping, told_dive
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.analysis.suggestions import Suggestions, suggestions_from
from logbook_app.analysis.surface_state import FlyTime, SurfaceState, fly_time, surface_state
from logbook_app.analysis.surface_view import SurfaceView
from logbook_app.analysis.way_up_series import WayUpSeries, way_up_series
from logbook_app.buddy_dives import BuddyDives
from logbook_app.dive.changes import Changes
from logbook_app.dive.diver_settings import DiverSettings, settings_from_text, settings_to_text
from logbook_app.dive.hand_entry import HandEntry, dive_by_hand
from logbook_app.dive.history import BY_HAND, EDIT, LEAD, FieldChange
from logbook_app.dive.joined_dive import lead_with
from logbook_app.dive.problems import LogbookError, Problem, RefusedRecord
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive, Recording, Site
from logbook_app.dive_edits import change_dive, change_site, dives_at_site_of, put_back
from logbook_app.dive_edits import take_back as take_back_edit
from logbook_app.dive_photos import add_photos
from logbook_app.diver_history import DiverHistory, mended_samples
from logbook_app.divers_experience import DiversExperience
from logbook_app.divers_kit import DiversKit
from logbook_app.files.code_picture import CODE_PHOTO_ENDINGS, HandedOver, can_read_codes, handed_over
from logbook_app.files.pdf.paper_size import PAPER_SIZES, PaperSize, paper_for
from logbook_app.files.picture import PICTURE_ENDINGS
from logbook_app.files.read_dive import ReadDive, ReadOptions
from logbook_app.files.recording_file import FORMATS, may_hold_dives, read_recording
from logbook_app.files.samples_csv import write_samples_csv, write_samples_of
from logbook_app.files.table_preview import ColumnUse, TablePreview, columns_text, units_of
from logbook_app.files.whole_file import write_whole
from logbook_app.files.written_file import Leaving, form_of, write_dives
from logbook_app.joins_and_shifts import join_dives, past_changes, shift_clock
from logbook_app.kept_columns import KeptColumns, remember_columns
from logbook_app.language import _
from logbook_app.leaving_dives import dives_to_leave, kit_to_leave, leaving_one_by_one, samples_to_leave
from logbook_app.logbook_import import ImportRun, may_be_many, next_free_number
from logbook_app.physics.ambient_pressure import surface_pressure_bar
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.pre_dive_cards import PreDiveCards
from logbook_app.several_dives import delete_dives, tag_dives
from logbook_app.store.automatic_backups import Automatic, automatic_backups, backup_before, daily_backup
from logbook_app.store.backup import Backup
from logbook_app.store.care import LastBackup, PutBack, back_up, last_backup, restore
from logbook_app.store.logbook_store import LogbookStore
from logbook_app.store.taking_back import take_back
from logbook_app.sync.membership import LeftClubs, MembershipFile
from logbook_app.whole_book import WholeBook

if TYPE_CHECKING:
    from logbook_app.divers_club import DiversClub
    from logbook_app.dives_for_others import DivesForOthers
    from logbook_app.refused_changes import RefusedChanges
    from logbook_app.signatures import Signatures

__all__ = [
    "CODE_PHOTO_ENDINGS",
    "FORMATS",
    "PAPER_SIZES",
    "PICTURE_ENDINGS",
    "Changes",
    "ColumnUse",
    "DiveRow",
    "DiveView",
    "FieldChange",
    "HandedOver",
    "ImportReport",
    "KnownWords",
    "Logbook",
    "PastChange",
    "ReadOptions",
    "Suggestions",
    "SurfaceView",
    "TablePreview",
    "can_read_codes",
    "columns_text",
    "units_of",
]


class Logbook:
    """One diver's logbook, opened.

    store   the logbook file
    now     the clock; returns an aware instant
    """

    def __init__(self, store: LogbookStore, now: Callable[[], datetime]) -> None:
        self._store = store
        self._now = now
        self._history = DiverHistory(store)
        self._catalogue: tuple[int, DiveCatalogue] | None = None
        self._usual_l_min: tuple[int, float | None] | None = None
        self.kit = DiversKit(store, now)
        self.book = WholeBook(store, now)
        self.experience = DiversExperience(
            store, now, self._history.own_dives, lambda: self.signatures.signed() if store.shares else []
        )
        self.buddies = BuddyDives(store)
        self.pre_dive = PreDiveCards(store, now, self._history.own_dives)

    @classmethod
    def open(cls, path: Path | str, *, now: Callable[[], datetime] | None = None) -> Logbook:
        """Open or make the logbook file. Raises LogbookError where it cannot be used."""
        now = now or (lambda: datetime.now(UTC))
        return cls(LogbookStore(path, now), now)

    def close(self) -> None:
        """Close the file."""
        self._store.close()

    @property
    def path(self) -> Path:
        """Where the logbook file lies."""
        return self._store.path

    @property
    def club(self) -> DiversClub:
        """The diver's club, and files between two devices."""
        from logbook_app.divers_club import DiversClub  # loads the rules of the sync

        return DiversClub(self._store, self._now)

    @property
    def has_club(self) -> bool:
        """Whether there may be a club, told without loading the rules of the sync."""
        return MembershipFile(self.path).path.exists()

    @property
    def has_left(self) -> bool:
        """Whether a club was left that does not know it yet, told in the same way."""
        return LeftClubs(self.path).path.exists()

    @property
    def for_others(self) -> DivesForOthers:
        """What the club sees of the diver's dives, and what its other members show."""
        from logbook_app.dives_for_others import DivesForOthers  # loads the rules of the sync

        return DivesForOthers(self._store, self._now)

    @property
    def signatures(self) -> Signatures:
        """What the club's signers signed for the diver, and asking them to."""
        from logbook_app.signatures import Signatures  # loads the rules of the sync

        return Signatures(self._store, self._now)

    @property
    def refused(self) -> RefusedChanges:
        """What the club did not accept."""
        from logbook_app.refused_changes import RefusedChanges  # loads the rules of the sync

        return RefusedChanges(self._store)

    # Bringing dives in

    def import_files(
        self,
        paths: Sequence[Path | str],
        options: ReadOptions = ReadOptions(),  # noqa: B008 (frozen)
        progress: Callable[[int, int, str], None] = lambda _done, _all, _name: None,
        cancelled: Callable[[], bool] = lambda: False,
        columns: Mapping[Path, str] = {},
    ) -> ImportReport:
        """Read recordings into the logbook. Reading the same file again adds nothing.

        progress    called with bytes read, bytes in all and the name of the file
        cancelled   asked now and then; True ends the work and keeps what is finished
        columns     what the columns of single files are; for the others what `remember_columns` kept
        A file that cannot be read becomes a problem; the other files are read all the same.
        """
        read = [Path(path) for path in paths]
        if may_be_many(read):
            self._keep_a_copy()
        kept = KeptColumns(self._store)
        run = ImportRun(
            self._store,
            replace(options, owner=self.settings().name),
            progress,
            cancelled,
            self._now(),
            columns_of=lambda path: columns.get(path) or kept.of_file(path),
        )
        return self._with_card(run.run(read))

    def _keep_a_copy(self) -> None:
        """Back the logbook up before many dives come in. Raises LogbookError where it is damaged."""
        kept = backup_before(self._store, self._now())
        if kept.problems:
            words = _("Nothing was read in, because the logbook is damaged. {what}")
            raise LogbookError(words.format(what=kept.problems[0].what))

    def may_hold_dives(self, path: Path) -> bool:
        """Tell whether a file in a folder is worth choosing; see `recording_file`."""
        return may_hold_dives(path)

    def columns_for(self, path: Path | str) -> TablePreview | None:
        """Return the first rows of a table of samples and what its columns are taken for: what was decided
        for its header before, else what the header tells. None where the file is no such table.

        Raises RefusedFile where it cannot be opened.
        """
        return KeptColumns(self._store).preview(path)

    def dive_in_table(self, path: Path | str, columns: str) -> Dive:
        """Return the dive that a table gives when its columns are these; nothing is kept.

        Raises RefusedFile where there is none.
        """
        found = read_recording(path, ReadOptions(csv_columns=columns))
        return next(item.dive for item in found if isinstance(item, ReadDive))

    def remember_columns(self, header_digest: str, columns: str) -> None:
        """Read every table with this header so from now on; see `TablePreview` and `columns_text`."""
        remember_columns(self._store, header_digest, columns)

    def hand_over(self, dive_id: str, name: str = "") -> HandedOver:
        """Return a dive as a picture code, for another device to read from a photo.

        name   whose dive it is where it is the owner's; empty takes the name in the settings

        Raises UnknownDive, and RefusedRecord where there are no samples, no name, or too much for a code.
        """
        dive = self._store.dive(dive_id)
        return handed_over(dive, self._store.profile_of(dive), dive.diver or name or self.settings().name)

    def add_by_hand(self, entry: HandEntry) -> tuple[Dive, Changes]:
        """Keep a dive written down by hand, with the next number. Raises RefusedRecord."""
        dive = replace(dive_by_hand(entry), number=next_free_number(self._store))
        self._refuse_a_second_place(dive)
        changes = self.keep_dives([dive], BY_HAND)
        with_card = self.pre_dive.attach() or dive
        return self._store.dive(dive.id), replace(changes, dives=changes.dives | {with_card.id})

    def keep_dives(self, dives: Sequence[Dive], why: str = EDIT) -> Changes:
        """Keep records without samples as they are, all of them or none; the history tells why."""
        number = self._store.save([(dive, ()) for dive in dives], why)
        return Changes(frozenset(dive.id for dive in dives), totals=True, change_id=number)

    # Changing what is there

    def change_dive(self, dive_id: str, **given: Any) -> Changes:
        """Give fields of a dive anew, under their names in the record; one change, kept in the history.

        given   see `dive.edited_dive.edited`

        Raises UnknownDive, and RefusedRecord where the dive would contradict itself; nothing is then changed.
        """
        return change_dive(self._store, dive_id, given, self._now())

    def change_site(self, dive_id: str, site: Site | None, *, everywhere: bool = False) -> Changes:
        """Say anew where a dive was.

        everywhere   what differs from the dive's site is changed in every dive there, in one change

        Raises as `change_dive` does.
        """
        return change_site(self._store, dive_id, site, everywhere, self._now())

    def dives_at_site_of(self, dive_id: str) -> int:
        """Return how many dives were at the site of this one, itself among them. Raises UnknownDive."""
        return dives_at_site_of(self._store, dive_id)

    def history(self, dive_id: str) -> list[FieldChange]:
        """Return every change of a dive by field, the first one first. Raises UnknownDive."""
        return self._store.history(dive_id)

    def add_photos(self, dive_id: str, paths: Sequence[Path | str]) -> tuple[Changes, tuple[Problem, ...]]:
        """Add pictures to a dive, in one change; what is no picture or too large becomes a problem.

        A picture that is there already is not added twice. `change_dive(photos=...)` takes some away.

        Raises UnknownDive.
        """
        return add_photos(self._store, dive_id, [Path(path) for path in paths], self._now())

    def photo(self, sha256: str) -> bytes:
        """Return a picture as its file had it. Raises LogbookError where it is missing or damaged."""
        return self._store.pictures.image(sha256)

    def thumbnails(self, dive: Dive) -> dict[str, bytes]:
        """Return a small picture (JPEG) of each photo of a dive that is in the logbook, by its name."""
        return self._store.pictures.thumbnails([photo.sha256 for photo in dive.photos])

    def take_back(self, change_id: int) -> Changes:
        """Take back one change of the history, in every field that nobody has changed since.

        Raises UnknownChange where there is none of this number.
        """
        return take_back_edit(self._store, change_id, self._now())

    def put_back(self, dive_id: str, ids: Iterable[int]) -> Changes:
        """Let fields of a dive say again what they said before a change; that is a change as well.

        ids   of lines of its history

        Raises UnknownDive, UnknownChange where its history has no such line, and RefusedRecord where what
        they said would contradict the dive as it is.
        """
        return put_back(self._store, dive_id, ids, self._now())

    def delete_dive(self, dive_id: str) -> Changes:
        """Put a dive into the bin; `restore_dive` takes it out again. Raises UnknownDive."""
        number = self._store.bin(dive_id, self._now())
        self.pre_dive.come_back_from([dive_id])
        return Changes(frozenset({dive_id}), totals=True, change_id=number)

    def delete_dives(self, dive_ids: Sequence[str]) -> Changes:
        """Put dives into the bin, all of them or none; `undo_import` of its `undo_id` takes it back.

        Raises UnknownDive.
        """
        changes = delete_dives(self._store, dive_ids, self._now())
        self.pre_dive.come_back_from(dive_ids)
        return changes

    def tag_dives(
        self, dive_ids: Sequence[str], add: Sequence[str] = (), remove: Sequence[str] = ()
    ) -> Changes:
        """Give dives tags and take tags from them, all of them or none, so that it can be taken back.

        Raises UnknownDive, and RefusedRecord for a tag without a word.
        """
        return tag_dives(self._store, dive_ids, add, remove, self._now())

    def restore_dive(self, dive_id: str) -> Changes:
        """Take a dive out of the bin. Raises UnknownDive."""
        number = self._store.restore(dive_id)
        self.pre_dive.attach()
        return Changes(frozenset({dive_id}), totals=True, change_id=number)

    def binned(self) -> list[tuple[Dive, datetime]]:
        """Return the dives in the bin with the instant each went there, the latest first."""
        return self._store.binned()

    # One dive twice, and clocks that were wrong

    def lead_with(self, dive_id: str, fingerprint: str) -> Changes:
        """Let another recording of a dive lead, with its start, depths and gases.

        Raises UnknownDive, and RefusedRecord where the dive has no recording of this name.
        """
        return self.keep_dives([lead_with(self._store.dive(dive_id), fingerprint)], LEAD)

    def doubles(self, dive_ids: Sequence[str] | None = None) -> list[JoinOffer]:
        """Return what seems to be one dive kept as two, among all dives or for some of them."""
        everyone = self._store.dives()
        wanted = everyone if dive_ids is None else [dive for dive in everyone if dive.id in set(dive_ids)]
        return join_offers(wanted, everyone)

    def join_dives(self, keep_id: str, other_id: str) -> Changes:
        """Make two records of one dive one, under the first one's id; the other goes to the bin.

        Raises UnknownDive, and RefusedRecord where they are two divers', the same record, or no one dive.
        """
        return join_dives(self._store, keep_id, other_id, self._now())

    def shift_clock(self, dive_ids: Sequence[str], minutes: float) -> Changes:
        """Move the starts of dives whose recorder's clock was wrong, all of them or none.

        Raises UnknownDive, and RefusedRecord where a dive would begin in a year that cannot be.
        """
        return shift_clock(self._store, dive_ids, minutes, self._now())

    def imports(self) -> list[PastChange]:
        """Return every import, join and shift of clocks, the latest first."""
        return past_changes(self._store)

    def undo_import(self, import_id: int) -> Changes:
        """Take back an import, a join or a shift of clocks: what it added goes to the bin, and every dive
        that it changed is as it was, but for what was changed in it since.

        Raises UnknownChange where there is none of this id or it was taken back before.
        """
        changes = take_back(self._store, import_id, self._now())
        binned = {dive.id for dive, _at in self._store.binned()}
        self.pre_dive.come_back_from(binned & changes.dives)
        return changes

    # Looking

    def dives(self) -> list[Dive]:
        """Return every dive in order of its start, without those in the bin."""
        return self._store.dives()

    def own_dives(self) -> list[Dive]:
        """Return the owner's dives in order of their start, read once until something changes."""
        return self._history.own_dives()

    def rows(self) -> list[DiveRow]:
        """Return every dive as the list shows it, the newest first."""
        return list(reversed(self.catalogue().rows))

    def catalogue(self, *, pictures: bool = True) -> DiveCatalogue:
        """Return all dives ready to be filtered and sorted, read once until something changes.

        pictures   False leaves the small pictures out, which are drawn once from the samples
        """
        revision = self._store.revision()
        if self._catalogue is None or self._catalogue[0] != revision:
            dives = self._store.dives()
            shapes = self._history.outlines(dives) if pictures else {}
            rows = [dive_row(dive, shapes.get(dive.id, b"")) for dive in dives]
            made = DiveCatalogue(dives, rows, self._store.places())
            if not pictures:
                return made
            self._catalogue = (revision, made)
        return self._catalogue[1]

    def find_dives(
        self,
        wanted: DiveFilter = EVERY_DIVE,
        order: DiveOrder = DiveOrder.NEWEST,
        grouping: Grouping = Grouping.NONE,
    ) -> FoundDives:
        """Return the dives that are wanted, in their order, with what they add up to."""
        return self.catalogue().find(wanted, order, grouping, self.places_with(wanted.text))

    def places_with(self, text: str) -> list[int] | None:
        """Return where the words of a text are written, as `DiveCatalogue.find` takes it."""
        return self._store.places_with(text)

    def dive(self, dive_id: str) -> Dive:
        """Return one record. Raises UnknownDive."""
        return self._store.dive(dive_id)

    def profile_of(self, dive: Dive) -> Profile | None:
        """Return the samples of a dive's leading recording, None where there are none."""
        return self._store.profile_of(dive)

    def other_profiles(self, dive: Dive) -> list[tuple[Recording, Profile]]:
        """Return the recordings of a dive that do not lead and have samples, each with them."""
        kept = [(each, each.profile_sha256) for each in dive.recordings[1:] if each.profile_sha256]
        profiles = self._store.profiles([sha256 for _, sha256 in kept])
        return [(recording, profiles[sha256]) for recording, sha256 in kept]

    def dive_view(self, dive_id: str) -> DiveView:
        """Return one dive, analysed with what the dives before it left. Raises UnknownDive.

        A dive that another member of the club shows is looked at in the same way.
        """
        dive = self._store.any_dive(dive_id)
        profile, rules = self.profile_of(dive), self.rules()
        samples, mended = mended_samples(profile)
        analysis = analyse(dive, samples, self._history.carried_into(dive, rules), rules)
        gas = gas_use(dive, samples)
        units, before = SpokenUnits(self.settings().units), self._history.before_on_the_day(dive)
        found = findings(dive, analysis, gas, rules, units, mended, before)
        return DiveView(dive, profile, analysis, gas, found, rules, mended)

    def compare(
        self,
        dive_ids: Sequence[str],
        limits: Limits = Limits(),  # noqa: B008 (frozen)
        lags_s: Mapping[str, float] = {},
    ) -> Comparison:
        """Return dives that were made together beside the first of them, see `compared`.

        Raises UnknownDive, and RefusedRecord where one has no samples or there are too many.
        """
        leader, *others = [self.dive_view(dive_id) for dive_id in dive_ids]
        return compared(leader, others, limits, lags_s)

    def plan(self, legs: Sequence[Leg], conditions: PlanConditions = PlanConditions()) -> DivePlan:  # noqa: B008 (frozen)
        """Return a plan that begins with what the diver carries then, see `planned`.

        Raises RefusedRecord with a sentence for legs that cannot be dived as they stand.
        """
        rules = self.rules()
        at = conditions.at or self._now()
        finished = self._history.finished(at, rules)
        state = surface_state(finished, at, rules)
        dive = conditions.dive(at, state.surface_bar)
        carried = carried_to(surface_pressure_of(dive), at, state.after)
        minute_volume = conditions.minute_volume_l_min or self.usual_minute_volume_l_min()
        return planned(legs, dive, carried, rules, minute_volume, finished)

    def write_slate(self, path: Path | str, plan: DivePlan) -> None:
        """Write a plan as a small card (PDF). Raises LogbookError where the file cannot be written."""
        from logbook_app.files.pdf.plan_slate import plan_slate  # loads the PDF library

        self._refuse_to_write_over_itself(path)
        write_whole(Path(path), plan_slate(plan, SpokenUnits(self.settings().units)))

    def usual_minute_volume_l_min(self) -> float | None:
        """Return the median of the owner's last dives that have one, None where none has. [L/min]

        Worked out once until something changes: where no dive has one, all of them are looked at.
        """
        revision = self._store.revision()
        if self._usual_l_min is None or self._usual_l_min[0] != revision:
            self._usual_l_min = (revision, self._median_minute_volume())
        return self._usual_l_min[1]

    def _median_minute_volume(self) -> float | None:
        known: list[float] = []
        for dive in reversed(self._history.own_dives()):
            used = gas_use(dive, self._history.samples_of(dive))
            if used.minute_volume_l_min is not None:
                known.append(used.minute_volume_l_min)
            if len(known) == DIVES_FOR_USUAL_GAS:
                break
        return median(known) if known else None

    def way_up(self, view: DiveView) -> WayUpSeries:
        """Return the time to the surface along a dive, and the stops where it was longest."""
        samples, _ = mended_samples(view.profile)
        return way_up_series(view.dive, samples, view.analysis, view.rules)

    def time_to_go_up(self, elevation_m: float, at: datetime | None = None) -> FlyTime | None:
        """Return when a pass or a cabin at an elevation may be reached, None before any dive.

        elevation_m   above sea level, up to 5,500 m [m]
        """
        at = at or self._now()
        rules = self.rules()
        finished = self._history.finished(at, rules)
        return fly_time(finished, rules, elevation_m) if finished else None

    def surface(self, at: datetime | None = None) -> SurfaceState:
        """Return the diver's state at an instant, now unless said otherwise."""
        at = at or self._now()
        rules = self.rules()
        return surface_state(self._history.finished(at, rules), at, rules)

    def limits(
        self,
        at: datetime | None = None,
        gas: BreathingGas = AIR,
        depths_m: Sequence[float] | None = None,
        elevation_m: float | None = None,
    ) -> NextDive:
        """Return the next dive's limits for the gas at an instant, now unless said otherwise.

        elevation_m   of the next dive's surface; that of the last dive unless said otherwise [m]
        """
        return self._limits(self.surface(at), gas, depths_m, elevation_m)

    def next_dive_table(
        self,
        at: datetime | None = None,
        gas: BreathingGas = AIR,
        depths_m: Sequence[float] | None = None,
        elevation_m: float | None = None,
        best_for_m: float = 30.0,
    ) -> NextDiveTable:
        """Return `limits` with all else that is known of the next dive at each depth.

        best_for_m   the depth that the richest mix is told for [m]
        """
        state, rules = self.surface(at), self.rules()
        limits = self._limits(state, gas, depths_m, elevation_m)
        carried = carried_to(limits.surface_bar, state.at, state.after)
        return NextDiveTable(
            limits=limits,
            carried=carried,
            load=state.load_now,
            interval_min=state.surface_interval_min,
            rows=depth_rows(limits, carried.table),
            best=best_mix(best_for_m, state.at, carried, limits.surface_bar, rules),
        )

    def surface_view(self, at: datetime | None = None) -> SurfaceView:
        """Return everything the page between dives shows at an instant."""
        state = self.surface(at)
        last = self._store.dive(state.last_dive_id) if state.last_dive_id else None
        later = self.surface(state.at + timedelta(hours=1))
        return SurfaceView(
            state, last, self._limits(state, AIR, None), self._limits(later, AIR, None), self.rules()
        )

    def last_dives(self, count: int) -> list[Dive]:
        """Return the owner's last dives, the newest first."""
        return self._history.own_dives()[: -count - 1 : -1]

    def now(self) -> datetime:
        """Return what the device's clock shows."""
        return self._now()

    def dives_to_come(self, at: datetime) -> int:
        """Return how many of the owner's dives end after an instant, and so are in no state at it."""
        return sum(dive.ended_at > at for dive in self._history.own_dives())

    def suggestions(self) -> Suggestions:
        """Return what the last dives offer to a new entry."""
        return suggestions_from(self._history.own_dives())

    def known_words(self) -> KnownWords:
        """Return what the owner's dives say already, to be chosen again."""
        return known_words(self._history.own_dives())

    # The diver's choices

    def settings(self) -> DiverSettings:
        """Return the diver's choices."""
        return settings_from_text(self._store.settings())

    def change_settings(self, settings: DiverSettings) -> Changes:
        """Keep the diver's choices, all of them or none."""
        self._store.set_settings(settings_to_text(settings))
        return Changes(settings=True, totals=True)

    def rules(self) -> Rules:
        """Return the choices that figures rest on."""
        settings = self.settings()
        return Rules(settings.factors, settings.ascent_limit_m_min, settings.ppo2_limit_bar)

    def draft(self) -> str:
        """Return the half-made hand entry that was kept, empty where there is none."""
        return self._store.settings().get("draft", "")

    def keep_draft(self, text: str) -> None:
        """Keep a half-made hand entry over a restart."""
        self._store.keep_draft("draft", text)

    def plan_draft(self) -> str:
        """Return what was entered for a plan, empty where nothing was."""
        return self._store.settings().get("plan", "")

    def keep_plan_draft(self, text: str) -> None:
        """Keep what was entered for a plan over a restart."""
        self._store.keep_draft("plan", text)

    def list_choice(self) -> tuple[DiveOrder, Grouping]:
        """Return how the list of dives was ordered and parted last."""
        order, _space, grouping = self._store.settings().get("list", "").partition(" ")
        try:
            return DiveOrder(order), Grouping(grouping)
        except ValueError:  # never chosen, or by a newer program
            return DiveOrder.NEWEST, Grouping.NONE

    def keep_list_choice(self, order: DiveOrder, grouping: Grouping) -> None:
        """Keep how the list of dives is ordered and parted over a restart."""
        self._store.keep_draft("list", f"{order} {grouping}")

    # The care of the file

    def back_up(self, place: Path | str) -> Backup:
        """Write the whole logbook to a file, or under the day's name into a folder. Raises LogbookError."""
        return back_up(self._store, Path(place), self._now())

    @property
    def closed_because(self) -> str:
        """Why the file is shown and not written to, a sentence; empty where it may be written to."""
        return self._store.closed_because

    def daily_backup(self) -> Automatic:
        """Back the logbook up beside itself, once a day and only where it changed."""
        return daily_backup(self._store, self._now())

    def automatic_backups(self) -> list[Path]:
        """Return the backups that were made without being asked for, the newest first."""
        return automatic_backups(self._store.path)

    def last_backup(self) -> LastBackup | None:
        """Return when the logbook was last backed up and where to, None where it never was."""
        return last_backup(self._store)

    def restore(self, path: Path | str) -> PutBack:
        """Put a backup in the place of everything here; what was here is kept beside it as a backup.

        Raises LogbookError where the backup is damaged or none; nothing is changed then.
        """
        done = restore(self._store, Path(path), self._now())
        self._history = DiverHistory(self._store)
        return done

    def check(self) -> list[Problem]:
        """Return what is wrong with the file, what is damaged before what is only odd."""
        return self._store.damage() or self._store.oddities()

    # Taking dives out

    def export(
        self,
        path: Path | str,
        dive_ids: Sequence[str] | None = None,
        paper: PaperSize | None = None,
        progress: Callable[[int, int, str], None] = lambda _done, _all, _name: None,
        cancelled: Callable[[], bool] = lambda: False,
        *,
        with_contacts: bool = False,
    ) -> int:
        """Write dives to a file in the form that its ending names; return how many.

        The forms are .uddf, .csv, .json, and .pdf for printing.

        dive_ids   only these, each once; every dive where None
        paper      for printing; what goes with the diver's units where None
        progress   called with how many dives are written, how many there are, and the name of the file
        cancelled  asked before each dive; True ends the work, and no file is there
        with_contacts  whether pages to print show the emergency contacts on pre-dive cards

        Raises UnknownForm, UnknownDive, Cancelled, and LogbookError where the file cannot be written.
        """
        form_of(Path(path))
        self._refuse_to_write_over_itself(path)
        dives, units = dives_to_leave(self._store, dive_ids), self.settings().units
        next_one = leaving_one_by_one(dives, Path(path).name, progress, cancelled)
        leaving = Leaving(
            dives=dives,
            profiles_of=lambda dive: samples_to_leave(self._store, next_one(dive)),
            view_of=lambda dive: self.dive_view(next_one(dive).id),
            written_at=self._now(),
            units=SpokenUnits(units),
            paper=paper or paper_for(units),
            kit=kit_to_leave(self._store, dives, whole=dive_ids is None),
            with_contacts=with_contacts,
        )
        write_dives(Path(path), leaving)
        return len(dives)

    def accident_sheet(
        self, path: Path | str, at: datetime | None = None, paper: PaperSize | None = None
    ) -> AccidentRecord:
        """Write the one page that tells those who treat a diver what was recorded; return that record.

        at      the instant it speaks of, now where None
        paper   what goes with the diver's units where None

        Raises LogbookError where the file cannot be written.
        """
        from logbook_app.files.pdf.accident_sheet import accident_sheet  # loads the PDF library

        self._refuse_to_write_over_itself(path)
        record, settings = self.accident_record(at), self.settings()
        units, factors = SpokenUnits(settings.units), settings.factors.name
        page = accident_sheet(record, units, factors, paper or paper_for(settings.units))
        write_whole(Path(path), page)
        return record

    def accident_record(self, at: datetime | None = None) -> AccidentRecord:
        """Return the owner's dives of the last days, and the state they left, at an instant."""
        at, own = at or self._now(), self._history.own_dives()
        recent = in_window(own, at)
        dives = [RecentDive(self.dive_view(dive.id), interval_before_min(dive, own)) for dive in recent]
        return AccidentRecord(local_to(recent, at), tuple(dives), self.surface(at))

    def export_samples(self, folder: Path | str, dive_ids: Sequence[str] | None = None) -> int:
        """Write the samples of each dive as a table of its own; return how many had some.

        Raises UnknownDive, and LogbookError where a file cannot be written.
        """
        return write_samples_csv(Path(folder), dives_to_leave(self._store, dive_ids), self.profile_of)

    def export_samples_of(self, path: Path | str, dive_id: str) -> None:
        """Write the samples of one dive as a table.

        Raises UnknownDive, RefusedRecord where it has none, and LogbookError where it cannot be written.
        """
        dive = self._store.dive(dive_id)
        profile = self.profile_of(dive)
        if profile is None:
            raise RefusedRecord(_("This dive has no samples to write; take it out as UDDF or JSON."))
        write_samples_of(Path(path), dive, profile)

    def _with_card(self, report: ImportReport) -> ImportReport:
        """Give the waiting pre-dive card to its dive, where that has come, and say so."""
        dive = self.pre_dive.attach()
        if dive is None:
            return report
        said = Problem("", told_dive(dive), _("has your pre-dive card now; move or remove it on its page."))
        return replace(report, notes=(*report.notes, said))

    def _refuse_to_write_over_itself(self, path: Path | str) -> None:
        if Path(path).resolve() == self.path.resolve():
            raise LogbookError(
                _("{path} is the logbook itself; give the export another name.").format(path=path)
            )

    def _refuse_a_second_place(self, dive: Dive) -> None:
        other = overlapping(dive, self._history.own_dives())
        if other is not None:
            raise RefusedRecord(
                _(
                    "This dive overlaps {dive}, and nobody is in two places at once. Change its start or "
                    "its time."
                ).format(dive=told_dive(other))
            )

    def _limits(
        self,
        state: SurfaceState,
        gas: BreathingGas,
        depths_m: Sequence[float] | None,
        elevation_m: float | None = None,
    ) -> NextDive:
        if depths_m is None:
            metric = SpokenUnits(self.settings().units).metric
            depths_m = USUAL_DEPTHS_M if metric else USUAL_DEPTHS_FT_M
        surface_bar = state.surface_bar if elevation_m is None else surface_pressure_bar(elevation_m)
        carried = carried_to(surface_bar, state.at, state.after)
        return next_dive(state.at, carried, surface_bar, gas, self.rules(), depths_m)

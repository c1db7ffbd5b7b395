"""What an import did, in words: a heading, the counts, and one sentence for everything odd."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from logbook_app.analysis.clock_shift import spoken_shift
from logbook_app.analysis.import_report import ImportReport, Offer
from logbook_app.analysis.same_dive import JoinOffer
from logbook_app.analysis.spoken_times import clock_time, full_date
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives, spoken_duration
from logbook_app.dive.problems import TELL_COLUMNS, TELL_OFFSET, Problem
from logbook_app.dive.record import Dive
from logbook_app.language import _, later, number

if TYPE_CHECKING:
    from logbook_app.logbook import PastChange

LARGEST_SHOWN_AS_BYTES = 1000
TAKEN_BACK = {
    "import": later("The import is taken back. Bring the same files in again to have it back."),
    "join": later("They are two dives again."),
    "shift": later("The clock is as it was."),
    "delete": later("The dives are back in the logbook."),
    "tags": later("The tags are as they were."),
}
_REMEDIES = {
    TELL_OFFSET: later("If that is wrong, touch the dive and correct its start there."),
    TELL_COLUMNS: later("Touch Columns beside the file to say what its columns are."),
}


@dataclass(frozen=True, slots=True)
class DiveLine:
    """A dive that an import added or joined, as the report names it."""

    dive_id: str
    heading: str
    line: str


@dataclass(frozen=True, slots=True)
class OfferLine:
    """Something that the diver may want done, and what a touch does about it.

    offer   as the report has it (`JoinOffer` or `ShiftOffer`)
    done    what came of it in words, empty while nobody accepted it
    """

    offer: Offer
    words: str
    accept: str
    done: str = ""


@dataclass(frozen=True, slots=True)
class ReportWords:
    """A whole report in words.

    counts      how many dives were added and so on, in one line
    dives       the dives added, then those joined
    doings      what was done beyond adding dives, one sentence each
    notes       everything odd, one sentence each, none left out
    offers      what seems to be one dive twice or recorded by a wrong clock
    import_id   takes the import back; 0 where there is nothing to take back
    """

    heading: str = ""
    counts: str = ""
    dives: tuple[DiveLine, ...] = ()
    doings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    offers: tuple[OfferLine, ...] = ()
    import_id: int = 0


@dataclass(frozen=True, slots=True)
class PastLine:
    """An import, a join or a shift of clocks, as the list of earlier ones names it.

    has_report   True where its report can be read again
    standing     True where it was not taken back
    taken_back   what to say once it is taken back
    """

    change_id: int
    heading: str
    line: str
    has_report: bool
    standing: bool
    taken_back: str


def report_words(
    report: ImportReport, dives: Iterable[Dive], units: SpokenUnits, settled: Iterable[Offer] = ()
) -> ReportWords:
    """Return an `ImportReport` in words.

    dives     the records of the dives added and joined, in that order
    settled   offers that were accepted meanwhile
    """
    done = list(settled)
    return ReportWords(
        heading=heading(report),
        counts=counts_words(report),
        dives=tuple(dive_line(dive, units) for dive in dives),
        doings=tuple(note.sentence() for note in report.notes),
        notes=tuple(problem_words(problem) for problem in report.problems),
        offers=tuple(offer_line(offer, done=offer in done) for offer in report.offers),
        import_id=report.import_id,
    )


def problem_words(problem: Problem) -> str:
    """Return a problem in a line or two, with what to touch where something can be done about it."""
    sentence, remedy = problem.sentence(), _(_REMEDIES.get(problem.remedy, ""))
    return f"{sentence}{'' if sentence.endswith('.') else '.'} {remedy}" if remedy else sentence


def counts_words(report: ImportReport) -> str:
    """Return the counts of a report in one line."""
    counts = (
        (_("Added"), report.added),
        (_("Already there"), report.already_there),
        (_("Joined"), report.joined),
    )
    return " · ".join(f"{words} {len(dives)}" for words, dives in counts)


def offer_line(offer: Offer, *, done: bool = False) -> OfferLine:
    """Return an offer with the words of its button."""
    if isinstance(offer, JoinOffer):
        accept, came = _("Make them one"), _("The two records are one dive now.")
    else:
        shift = spoken_shift(offer.minutes)
        accept, came = (
            _("Move the clock by {shift}").format(shift=shift),
            _("The clock was moved by {shift}.").format(shift=shift),
        )
    return OfferLine(offer, offer.words, accept, came if done else "")


def settled_offers(report: ImportReport, changes: Iterable[PastChange], gone: Collection[str]) -> list[Offer]:
    """Return the offers of a report that there is nothing to do about any more.

    changes   every change of the logbook; one after the import may be the offer, accepted
    gone      ids of the dives in the bin
    """
    later = [change for change in changes if change.undone_at is None and change.id > report.import_id]

    def is_settled(offer: Offer) -> bool:
        kind = "join" if isinstance(offer, JoinOffer) else "shift"
        dives = offer_dives(offer)
        return not dives.isdisjoint(gone) or any(c.kind == kind and dives <= c.dives for c in later)

    return [offer for offer in report.offers if is_settled(offer)]


def offer_dives(offer: Offer) -> frozenset[str]:
    """Return the ids of the dives that an offer is about."""
    return frozenset({offer.keep_id, offer.other_id} if isinstance(offer, JoinOffer) else offer.dive_ids)


def past_line(change: PastChange, now: datetime) -> PastLine:
    """Return how the list of earlier changes names one, by the clock on the dock."""
    local = change.at.astimezone(now.tzinfo)
    many = spoken_dives(len(change.dives))
    if change.report is not None:
        stopped = "Stopped. " if change.report.cancelled else ""
        line = f"{stopped}{counts_words(change.report)}."
    elif change.kind == "join":
        line = _("Two records made one dive.")
    elif change.kind == "shift":
        line = _("The clock of {many} moved.").format(many=many)
    else:
        line = (
            _("{many} deleted.").format(many=many)
            if change.kind == "delete"
            else _("Tags of {many} changed.").format(many=many)
        )
    if change.undone_at is not None:
        undone = change.undone_at.astimezone(now.tzinfo)
        line = _("{line} Taken back on {full_date}, {clock_time}.").format(
            line=line, full_date=full_date(undone), clock_time=clock_time(undone)
        )
    return PastLine(
        change_id=change.id,
        heading=f"{full_date(local)}, {clock_time(local)}",
        line=line,
        has_report=change.report is not None and change.undone_at is None,
        standing=change.undone_at is None,
        taken_back=_(TAKEN_BACK[change.kind]),
    )


def heading(report: ImportReport) -> str:
    """Return in one sentence what came of the import."""
    added, known = len(report.added), len(report.already_there)
    stopped = _("Stopped; what was finished is kept.") + " " if report.cancelled else ""
    if added:
        return _("{stopped}{dives} added.").format(stopped=stopped, dives=spoken_dives(added))
    if report.joined:
        return _("{stopped}{dives} joined by a second recording.").format(
            stopped=stopped, dives=spoken_dives(len(report.joined))
        )
    if known:
        were_there = _("the dive was") if known == 1 else _("all {known} dives were").format(known=known)
        return _("{stopped}Nothing new: {were_there} there already.").format(
            stopped=stopped, were_there=were_there
        )
    return _("{stopped}No dive was added.").format(stopped=stopped)


def dive_line(dive: Dive, units: SpokenUnits) -> DiveLine:
    """Return how a report names a dive."""
    name = (
        _("Dive {number}").format(number=dive.number) if dive.number is not None else dive.diver or _("Dive")
    )
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
        return _("{size_bytes} bytes").format(size_bytes=size_bytes)
    if size_bytes < LARGEST_SHOWN_AS_BYTES**2:
        return f"{size_bytes / 1e3:.0f} kB"
    return f"{number(size_bytes / 1e6, '.1f')} MB"


def endings_words(endings: Sequence[str]) -> str:
    """Return the endings of the files that can be read.

    >>> endings_words((".uddf", ".csv", ".txt"))
    '.uddf, .csv and .txt'
    """
    *others, last = endings
    return _("{others} and {last}").format(others=", ".join(others), last=last) if others else last

"""UDDF 3.0 to 3.3 in, dives and a list of what was odd out.

Two passes, because what a dive refers to may stand after it: the first gathers people, sites,
gases and equipment and ends early where they all stand before the dives, as the documentation
orders them; the second hands over each dive as it closes. Either pass needs the memory of the
longest dive, not of the file.

What is taken, what is kept as text (in `Dive.extra`, under "uddf:") and what is passed over is
decided by the table `CHILDREN` in fields.py. Sections that describe no dive (makers,
businesses, tables, personal and medical data) are passed over without a word; whatever
else is not understood is named once for the file, and what of it stands in a dive is kept with
the dive as it was (unread.py). A file that Leadline wrote gives the very records that it was
written from (own_part.py).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from typing import Final
from xml.etree.ElementTree import Element

from logbook_app.dive.problems import TELL_OFFSET, Problem, RefusedFile, RefusedRecord
from logbook_app.files.read_dive import ReadDive, ReadKit, ReadOptions
from logbook_app.files.start_time import Zone
from logbook_app.files.uddf.described_dive import DescribedDive, describe
from logbook_app.files.uddf.document import Damaged, Endless, Found, Outline, elements
from logbook_app.files.uddf.fields import CHILDREN, Odd
from logbook_app.files.uddf.kit_pieces import OURS, kit_id, kit_item
from logbook_app.files.uddf.own_part import SAMPLES, OwnSamples
from logbook_app.files.uddf.plain_waypoints import Sampled
from logbook_app.files.uddf.references import REFERRED, References
from logbook_app.files.uddf.waypoints import Waypoints
from logbook_app.language import _, later, ngettext

_REFERENCE_SECTIONS: Final = frozenset({"generator", "diver", "divesite", "gasdefinitions"})
# Read where it stands before the dives, as documented, and not looked for behind them: few files have trips,
# and the others need not be gone through twice for it.
_TRIPS: Final = "divetrip"
_MEDIA: Final = "mediadata"
MOST_REFERENCES: Final = 50_000
_MOST_PROBLEMS: Final = 50
_FIRST_PIECE_BYTES: Final = 4096
_LARGEST_PIECE_BYTES: Final = 64 * 1024
_INTERVAL_TOLERANCE_MIN: Final = 5.0

_ZONES_TAKEN: Final = {
    Zone.NONE: later("taken as UTC"),
    Zone.SITE: later("taken in the zone of the site, which knows no summer time"),
}

Chunks = Callable[[], Iterable[bytes]]
"""Gives the bytes of the file from the start, each time it is called."""


def parse_uddf(
    chunks: Chunks, file_name: str, options: ReadOptions
) -> Iterator[ReadDive | ReadKit | Problem]:
    """Yield the dives of a UDDF text in the order of the file, the kit that they used, and what was odd.

    A text that is damaged or breaks off gives the dives that were complete before that line, and a
    problem that says so.

    Raises RefusedFile where it is not UDDF, is hostile, or no dive of it could be read.
    """
    yield from _Reading(file_name, options).dives(chunks)


class _Reading:
    """One file on its way through."""

    def __init__(self, file_name: str, options: ReadOptions) -> None:
        self._file_name = file_name
        self._options = options
        self._references = References()
        self._about_file: dict[str, None] = {}
        self._unread: dict[str, None] = {}
        self._zones = dict.fromkeys(Zone, 0)
        self._read = 0
        self._used: set[str] = set()
        self._first_refusal = ""
        self._ended_at: datetime | None = None  # of the dive before in the same repetition group

    def dives(self, chunks: Chunks) -> Iterator[ReadDive | ReadKit | Problem]:
        self._gather_references(chunks())
        kept = {"repetitiongroup", "dive", "waypoint", "trip", SAMPLES}
        outline = Outline({"profiledata", _TRIPS}, kept, CHILDREN, self._unread)
        damage = None
        try:
            yield from self._read_dives(elements(chunks(), self._file_name, outline))
        except Damaged as found:
            damage = found
        if not self._read:
            raise RefusedFile(self._nothing_read(damage))
        yield from self._kit()
        yield from self._about_the_whole(damage)

    def _gather_references(self, chunks: Iterable[bytes]) -> None:
        outline = Outline(
            _REFERENCE_SECTIONS | {_TRIPS, _MEDIA}, REFERRED | _REFERENCE_SECTIONS, CHILDREN, self._unread
        )
        missing = set(_REFERENCE_SECTIONS)
        try:
            for found in elements(_smaller(chunks), self._file_name, outline):
                if isinstance(found, Found):  # waypoints are not asked for
                    self._refer(found.element)
                    missing.discard(found.element.tag)
                if not missing:
                    return
        except Endless as endless:
            raise RefusedFile(
                _("{file_name} cannot be followed at line {line}: {what}.").format(
                    file_name=self._file_name, line=endless.line, what=endless.what
                )
            ) from endless
        except Damaged:
            return  # the second pass meets the same damage and can say which dives came before it

    def _refer(self, element: Element) -> None:
        if element.tag in REFERRED:
            self._references.add(element, self._odd_in_file)
        if len(self._references) > MOST_REFERENCES:
            raise RefusedFile(
                _(
                    "{file_name} defines more than {most} people, sites and gases; no logbook "
                    "has that many, so nothing of it was read."
                ).format(file_name=self._file_name, most=f"{MOST_REFERENCES:,}")
            )

    def _odd_in_file(self, what: str) -> None:
        if len(self._about_file) < MOST_REFERENCES:
            self._about_file.setdefault(what)

    def _read_dives(self, found: Iterable[Found | Sampled]) -> Iterator[ReadDive | Problem]:
        waypoints, own = Waypoints(), OwnSamples()
        for item in found:
            if not isinstance(item, Found):
                waypoints.add(item)
            elif item.element.tag == SAMPLES:
                own.add(item.element)
            elif item.element.tag == "trip":
                self._refer(item.element)
            elif item.element.tag == "dive":
                yield from self._one_dive(item.element, item.line, waypoints, own)
                waypoints, own = Waypoints(), OwnSamples()
            else:
                self._ended_at = None

    def _one_dive(
        self, element: Element, line: int, waypoints: Waypoints, own: OwnSamples
    ) -> Iterator[ReadDive | Problem]:
        odd: dict[str, None] = {}
        where = _("line {line}, {dive}").format(line=line, dive=_name_of(element))
        try:
            described = describe(
                element, waypoints, self._references, self._options, self._file_name, odd.setdefault, own
            )
        except RefusedRecord as error:
            reason = str(error).rstrip(".")
            self._first_refusal = self._first_refusal or f"{_name_of(element)}: {reason}"
            self._ended_at = None
            yield self._problem(where, _("the dive was not read: {reason}").format(reason=reason))
            return
        self._check_interval(described, odd.setdefault)
        self._read += 1
        self._used |= {used.id for used in described.read.dive.kit}
        self._zones[described.start.zone] += 1
        yield described.read
        yield from self._problems(where, list(odd))

    def _check_interval(self, described: DescribedDive, odd: Odd) -> None:
        """Compare the stated surface interval with the clock; a missed hour of summer time shows here."""
        dive, stated_min = described.read.dive, described.interval_min
        if stated_min is not None and self._ended_at is not None:
            clock_min = (dive.began_at - self._ended_at).total_seconds() / 60.0
            if abs(clock_min - stated_min) > _INTERVAL_TOLERANCE_MIN:
                odd(
                    _(
                        "its stated surface interval is {stated_min} min, but {clock_min} min lie between "
                        "the dives by their start times, which were kept; check the times and their zones"
                    ).format(stated_min=f"{stated_min:.0f}", clock_min=f"{clock_min:.0f}")
                )
        self._ended_at = dive.ended_at

    def _kit(self) -> Iterator[ReadKit]:
        """Yield what the file says of the kit that its dives used; of a file of ours, of all kit in it."""
        generator = self._references.generator
        named = {
            key: piece for piece in self._references.pieces.values() if (key := kit_id(piece, generator))
        }
        items = [
            kit_item(piece, key) for key, piece in named.items() if generator == OURS or key in self._used
        ]
        if items and not self._options.diver:
            yield ReadKit(tuple(items))

    def _about_the_whole(self, damage: Damaged | None) -> Iterator[Problem]:
        yield from self._problems("", list(self._about_file))
        for zone, taken in _ZONES_TAKEN.items():
            if count := self._zones[zone]:
                yield self._problem(
                    "",
                    _("start times without a time zone: {dives} {taken}").format(
                        dives=_dives(count), taken=_(taken)
                    ),
                    TELL_OFFSET,
                )
        if self._unread:
            yield self._problem("", _("not read: {unread}").format(unread=", ".join(self._unread)))
        if damage is not None:
            yield self._problem(
                _("line {line}").format(line=damage.line),
                ngettext(
                    "the file is damaged there ({what}): {count} dive before it was read, {rest}",
                    "the file is damaged there ({what}): {count} dives before it were read, {rest}",
                    self._read,
                ).format(what=damage.what, count=f"{self._read:,}", rest=_unfinished(damage)),
            )

    def _nothing_read(self, damage: Damaged | None) -> str:
        if damage is not None:
            return _(
                "{file_name} is damaged at line {line} ({what}) and no dive before it is complete, so "
                "nothing of it was read; ask for the file again."
            ).format(file_name=self._file_name, line=damage.line, what=damage.what)
        if self._first_refusal:
            return _("{file_name} holds no dive that could be read: {first_refusal}.").format(
                file_name=self._file_name, first_refusal=self._first_refusal
            )
        return _("{file_name} is UDDF but holds no dive.").format(file_name=self._file_name)

    def _problem(self, where: str, what: str, remedy: str = "") -> Problem:
        return Problem(self._file_name, where, what, remedy)

    def _problems(self, where: str, sentences: list[str]) -> Iterator[Problem]:
        for what in sentences[:_MOST_PROBLEMS]:
            yield self._problem(where, what)
        if len(sentences) > _MOST_PROBLEMS:
            yield self._problem(
                where, _("and {count} more of the kind").format(count=len(sentences) - _MOST_PROBLEMS)
            )


def _smaller(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """Yield a text in pieces, small at first: what is looked for mostly stands at its top."""
    piece_bytes = _FIRST_PIECE_BYTES
    for chunk in chunks:
        at = 0
        while at < len(chunk):
            yield chunk[at : at + piece_bytes]
            at += piece_bytes
            piece_bytes = min(2 * piece_bytes, _LARGEST_PIECE_BYTES)


def _dives(count: int) -> str:
    return ngettext("{count} dive", "{count} dives", count).format(count=f"{count:,}")


def _name_of(dive: Element) -> str:
    """Return how a diver would find this dive: by its number, else its start, else its id."""
    for path, words in (("divenumber", _("dive")), ("datetime", _("dive of"))):
        if text := (dive.findtext(f"informationbeforedive/{path}") or "").strip():
            return f"{words} {text[:40]}"
    return _("dive {id}").format(id=dive.get("id", "")[:40]).strip()


def _unfinished(damage: Damaged) -> str:
    for element in damage.unfinished:
        if element.tag == "dive":
            return _("{dive}, which breaks off there, was not").format(dive=_name_of(element))
    return _("nothing after it was")

"""A logbook's dives as UDDF 3.2.3, for other programs and to be read again.

Everything that the standard has an element for stands in it, in SI units with all digits, in the
order that the documentation asks for: generator, owner, buddies, sites, trips, gases, then the dives in
repetition groups, each with its equipment, cylinders, samples and what was known before and
after. `dive/applicationdata` holds the rest in a namespace of Leadline's own (own_part.py): tags,
conditions, whose dive it was, whether it is an estimate, which recordings it came from, further
recordings of it, values that a file held and no element can, text that XML cannot hold.

**What comes back.** Reading the file into an empty logbook gives records equal to those written,
to the last digit, and the same samples. Reading it into the logbook that it came from adds
nothing. What can differ is the dive number, where a dive had none: an import gives the next one.

Choices where the standard leaves some:

- A group begins with a dive that a file said came after an infinite interval, else with one that
  comes more than `GROUP_GAP` after the dive before, else where two dives overlap. Dives of other
  divers stand in groups of their own; the standard has no word on whose they are.
- A cylinder whose begin pressure nobody knows has no `tankdata`, which would ask for it. Its
  volume is that of a tank linked from `equipmentused`, its gas that of a `switchmix`, or of a link
  from `informationbeforedive` where there are no samples.
- A trip has a name and nothing else; which further parts of it the schema asks for is not at hand.
- A site's water is told by `sitedata/density` (1000 or 1025 kg/m3) where no file told another.
- CNS is written in percent; the standard does not say which.
- A remark that is no alarm, stop or bookmark of the standard is written as a bookmark.
- What a file held and nobody here reads goes back where it stood (unread.py); such a file fits
  the schema as well as the one that it came from did.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import chain
from pathlib import Path
from typing import Final, TextIO
from xml.etree.ElementTree import Element

from logbook_app import __version__
from logbook_app.dive.kit import KitItem
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.files.read_dive import ReadDive, ReadOptions
from logbook_app.files.uddf.described_dive import describe
from logbook_app.files.uddf.document import Found, Outline, elements
from logbook_app.files.uddf.fields import CHILDREN
from logbook_app.files.uddf.kit_pieces import OURS
from logbook_app.files.uddf.own_part import own_part
from logbook_app.files.uddf.waypoints import Waypoints
from logbook_app.files.uddf.written_dive import WrittenDive, stated_interval, written_dive
from logbook_app.files.uddf.written_references import Referred
from logbook_app.files.uddf.written_values import put
from logbook_app.files.uddf.xml_text import element_text
from logbook_app.files.whole_file import written_whole

GROUP_GAP: Final = timedelta(hours=48)
_HEAD: Final = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<uddf xmlns="http://www.streit.cc/uddf/3.2/" version="3.2.3">\n'
)
_OWN_PART_BEFORE: Final = "</applicationdata>"

ProfilesOf = Callable[[Dive], Sequence[Profile | None]]
"""Gives the samples of each recording of a dive."""


def write_uddf(
    path: Path,
    dives: Sequence[Dive],
    profiles_of: ProfilesOf,
    written_at: datetime,
    kit: Mapping[str, KitItem] = {},
) -> None:
    """Write dives to a UDDF file, whole or not at all; only one dive's samples are held at a time.

    dives       in order of their start
    written_at  aware
    kit         what is known of pieces of kit, by their ids; those of no dive are written as well

    Raises LogbookError where the file cannot be written.
    """
    referred = Referred(dives, kit)
    number = 0
    with written_whole(path) as file:
        file.write(_HEAD)
        for section in (_generator(written_at), *referred.sections()):
            file.write(element_text(section) + "\n")
        file.write("<profiledata>\n" if dives else "")
        for place, group in enumerate(_groups(dives), start=1):
            file.write(f'<repetitiongroup id="group-{place}">\n')
            for dive, interval in group:
                number += 1
                _write_dive(file, dive, profiles_of(dive), referred, f"dive-{number}", interval)
            file.write("</repetitiongroup>\n")
        file.write("</profiledata>\n</uddf>\n" if dives else "</uddf>\n")


def _generator(written_at: datetime) -> Element:
    generator = Element("generator")
    put(generator, "name", OURS)
    put(generator, "type", "logbook")
    put(generator, "version", __version__)
    put(generator, "datetime", written_at.isoformat())
    return generator


def _groups(dives: Sequence[Dive]) -> Iterator[list[tuple[Dive, str]]]:
    """Yield the repetition groups, each dive with the surface interval before it."""
    for diver in sorted({dive.diver for dive in dives}):
        group: list[tuple[Dive, str]] = []
        for dive in (dive for dive in dives if dive.diver == diver):
            waited = dive.began_at - group[-1][0].ended_at if group else GROUP_GAP
            interval = stated_interval(dive, "surfaceintervalbeforedive")
            begins = interval == "infinity" or not timedelta(0) <= waited < GROUP_GAP
            if group and begins:
                yield group
                group = []
            group.append((dive, interval or _interval(bool(group), waited)))
        yield group


def _interval(follows: bool, waited: timedelta) -> str:
    return f"{round(waited.total_seconds())}" if follows else "infinity"


def _write_dive(
    file: TextIO,
    dive: Dive,
    profiles: Sequence[Profile | None],
    referred: Referred,
    dive_id: str,
    interval: str,
) -> None:
    written = written_dive(dive, profiles[0] if profiles else None, referred, dive_id, interval)
    lines = list(_dive_lines(written))
    own = own_part(dive, profiles, _read_back(lines, referred))
    its_place = lines.index(_OWN_PART_BEFORE)
    for line in chain(lines[:its_place], map(element_text, own), lines[its_place:]):
        file.write(f"{line}\n")


def _dive_lines(written: WrittenDive) -> Iterator[str]:
    """Yield a dive, a line for each of its parts and for each waypoint."""
    yield f'<dive id="{written.element.get("id")}">'
    for child in written.element:
        if child.tag == "informationafterdive":
            yield from _sample_lines(written.waypoints())
        if child.tag == "applicationdata":
            yield from ("<applicationdata>", *map(element_text, child), _OWN_PART_BEFORE)
        else:
            yield element_text(child)
    yield "</dive>"


def _sample_lines(waypoints: Iterator[Element]) -> Iterator[str]:
    """Yield the samples, nothing where there are none: the schema asks for one waypoint in them."""
    first = next(waypoints, None)
    if first is None:
        return
    yield "<samples>"
    yield element_text(first)
    for waypoint in waypoints:
        yield element_text(waypoint)
    yield "</samples>"


def _read_back(lines: Iterable[str], referred: Referred) -> ReadDive:
    """Return what anybody would make of a dive that was written."""
    outline = Outline({"profiledata"}, {"dive", "waypoint"}, CHILDREN, {})
    text = (line.encode() for line in chain(["<uddf><profiledata>"], lines, ["</profiledata></uddf>"]))
    seen = Waypoints()
    for found in elements(text, "", outline):
        if isinstance(found, Found):
            dive = found.element
        else:
            seen.add(found)
    return describe(dive, seen, referred.references, ReadOptions(), "", _unsaid).read


def _unsaid(_what: str) -> None:
    """Take a sentence that nobody needs: what it is about stands in the own part."""

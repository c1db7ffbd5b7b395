"""Plain waypoints are found in the text itself, a whole piece of the file at a time.

Nearly all of a file is waypoints, and nearly every waypoint is a handful of numbers side by side:

    <waypoint><depth>14.0</depth><divetime>290</divetime></waypoint>

A parser that calls Python for every element of them spends all its time on that. So they go past
the parser, in three steps:

1.  The text is split at its numbers. What stands between two numbers, a joint, is one of a few in
    a whole file, as "/depth><divetime" or "/divetime></waypoint><waypoint><depth". Each is
    looked at once, by strict patterns, and remembered.
2.  Joints that fit each other make a plain waypoint: each closes the value that the one before
    it opened, and nothing stands between two values but blanks and what a recorder marks (a
    change of gas, an alarm), in its simplest form. There is no room for a comment, an entity, an
    attribute or an element that is not named below, so what is made of such joints is well-formed.
3.  Plain waypoints that follow each other are a run. Only the parser knows where a run stands: it
    may be in the samples of a dive, or in a comment. So the parser gets all that comes before a run
    (document.py), and where it then says that a waypoint of the samples has just ended, the run is
    taken as it is. In its place the parser gets the ends of its lines, and goes on counting them. Where
    all is passed over, in search of something else, runs are passed over in the same way.

Whatever is not plain goes through the parser and is built with all the care that the rest of
a file gets. Both ways give the same waypoints, which a test holds them to.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, NamedTuple
from xml.etree.ElementTree import Element  # the class only; parsing is defusedxml's

import numpy as np
from numpy.typing import NDArray

from logbook_app.files.uddf.fields import MARKED, MEASURED

Part = tuple[str, str, Mapping[str, str]]
"""One child of a waypoint: its name, its text and its attributes."""

Waypoint = list[Part]

Value = tuple[str, Mapping[str, str]]
"""What a number stands under: the name and the attributes of its element."""

Places = NDArray[np.intp]

END: Final = "</waypoint>"
_MOST_JOINTS_KNOWN: Final = 1000
_LONGEST_JOINT: Final = 400
_FEWEST_AT_ONCE: Final = 8  # below that many rows, one at a time is faster

_NUMBER: Final = re.compile(r">([0-9.eE+-]+)<")  # what looks so and is none is left to block_columns.py
_BLANKS: Final = " \t\r\n"
_CLOSED: Final = f"/({'|'.join(sorted(MEASURED))})>"
_OPENED: Final = rf'<({"|".join(sorted(MEASURED))})(?: (ref|tankref|setby)="([\w.-]*)")?'
_INSIDE: Final = re.compile(f"{_CLOSED}(.*?){_OPENED}", re.ASCII | re.DOTALL)
_LAST: Final = re.compile(f"{_CLOSED}(.*?){END}", re.ASCII | re.DOTALL)
_FIRST: Final = re.compile(f"[{_BLANKS}]*<waypoint>(.*?){_OPENED}", re.ASCII | re.DOTALL)
_MARK: Final = re.compile(
    rf'<({"|".join(sorted(MARKED))})((?: (?:ref|tankref|kind|decodepth|duration|type)="[\w .:+-]*")*) ?'
    rf"(?:/>|>([\w .,:;!?+-]*)</\1>)[{_BLANKS}]*",
    re.ASCII,
)
_ATTRIBUTE: Final = re.compile(r'(\w+)="([^"]*)"')
_LONE_RETURN: Final = re.compile(r"\r(?!\n)")  # counts as the end of a line, also where "\n" comes later
_NAMES: Final = {name: place for place, name in enumerate(sorted(MEASURED))}


def parts_of(waypoint: Element) -> Waypoint:
    """Return the children of a waypoint that was built."""
    return [(child.tag, child.text or "", child.attrib) for child in waypoint]


@dataclass(frozen=True, slots=True)
class Block:
    """Plain waypoints that hold nothing but numbers.

    count   how many waypoints
    values  what the numbers of the file stand under
    which   for each number, which of `values` it is
    row     for each number, in which waypoint it stands, from 0
    texts   the numbers as they were written
    """

    count: int
    values: list[Value]
    which: Places
    row: Places
    texts: list[str]

    def waypoints(self) -> Iterator[Waypoint]:
        """Yield them one at a time."""
        rows: list[Waypoint] = [[] for _ in range(self.count)]
        for row, which, text in zip(self.row.tolist(), self.which.tolist(), self.texts, strict=True):
            name, attributes = self.values[which]
            rows[row].append((name, text, attributes))
        yield from rows


Sampled = Waypoint | Block
"""One waypoint, or many."""


class Run(NamedTuple):
    """Plain waypoints that follow each other, from the end of a waypoint before them to that of the last.

    begin, end  where they stand in the text that was looked at
    waypoints   what they hold, in order
    """

    begin: int
    end: int
    waypoints: list[Sampled]


class _Joint(NamedTuple):
    """What stands between two numbers; by itself one that belongs to no plain waypoint.

    closes   which name the number before it stands under, -1 where that is none to be measured
    opens    which name the number after it stands under, -2 where that is none
    value    which value of the file that number is: its name and its attributes
    inside   1 where all of it stands in one waypoint
    ends     how much of it belongs to the waypoint before, 0 where that is not plain or does not end
    begins   where in it the waypoint after begins, right after the end of another one, 0 where none does
    before   what is marked in the waypoint before
    after    what is marked in the waypoint after
    """

    closes: int = -1
    opens: int = -2
    value: int = 0
    inside: int = 0
    ends: int = 0
    begins: int = 0
    before: tuple[Part, ...] = ()
    after: tuple[Part, ...] = ()

    @property
    def figures(self) -> tuple[int, ...]:
        """All but the marks themselves, of which it tells how many there are."""
        return (*self[:6], len(self.before), len(self.after))


_NOTHING_PLAIN: Final = _Joint()


class PlainWaypoints:
    """Finds the runs in a file, and remembers the joints and values that it has met there."""

    def __init__(self) -> None:
        self._joints = _Joints()

    def runs(self, text: str) -> Iterator[Run]:
        """Yield the runs in a piece of text, in order."""
        if END in text:
            if len(self._joints) > _MOST_JOINTS_KNOWN:
                self._joints = _Joints()
            yield from _Pieces(_NUMBER.split(text), self._joints).runs()


class _Joints(dict[str, int]):
    """The place of a joint in `known`, by its text; one that is new is looked at."""

    def __init__(self) -> None:
        super().__init__()
        self.known = [_NOTHING_PLAIN]
        self.figures = [_NOTHING_PLAIN.figures]
        self.told: list[Value] = []

    def __missing__(self, text: str) -> int:
        if len(text) > _LONGEST_JOINT:
            return 0
        joint, place = self._joint(text), 0
        if joint != _NOTHING_PLAIN:
            place = len(self.known)
            self.known.append(joint)
            self.figures.append(joint.figures)
        self[text] = place
        return place

    def _joint(self, text: str) -> _Joint:
        if _LONE_RETURN.search(text):
            return _NOTHING_PLAIN
        if END in text:
            return self._with_first(text, _with_last(text, _NOTHING_PLAIN))
        match = _INSIDE.fullmatch(text)
        marks = _marks(match[2]) if match else None
        if match is None or marks is None:
            return _NOTHING_PLAIN
        return self._opening(
            _Joint(closes=_NAMES[match[1]], inside=1, before=marks), match[3], match[4], match[5]
        )

    def _with_first(self, text: str, joint: _Joint) -> _Joint:
        """Note that a plain waypoint begins in a joint, right after the end of another one."""
        begins = text.rindex(END) + len(END)
        match = _FIRST.fullmatch(text, begins)
        marks = _marks(match[1]) if match else None
        if match is None or marks is None:
            return joint
        return self._opening(joint._replace(begins=begins, after=marks), *match.groups()[1:])

    def _opening(self, joint: _Joint, name: str, attribute: str | None, told: str) -> _Joint:
        value: Value = (name, {attribute: told} if attribute else {})
        if value not in self.told:
            self.told.append(value)
        return joint._replace(opens=_NAMES[name], value=self.told.index(value))


def _with_last(text: str, joint: _Joint) -> _Joint:
    """Note that a plain waypoint ends in a joint, where one does."""
    match = _LAST.match(text)
    marks = _marks(match[2]) if match else None
    if match is None or marks is None:
        return joint
    return joint._replace(closes=_NAMES[match[1]], ends=match.end(), before=marks)


def _marks(text: str) -> tuple[Part, ...] | None:
    """Return the marks that a text consists of, None where it is anything else."""
    marks: list[Part] = []
    at = len(text) - len(text.lstrip(_BLANKS))
    while at < len(text):
        match = _MARK.match(text, at)
        attributes = dict(_ATTRIBUTE.findall(match[2])) if match else {}
        if match is None or len(attributes) < match[2].count("="):  # the same attribute twice
            return None
        marks.append((match[1], match[3] or "", attributes))
        at = match.end()
    return tuple(marks)


class _Pieces:
    """A piece of text, split at its numbers: joint, number, joint, ..., number, joint.

    An edge is a joint that does not stand inside of one waypoint. What stands between two edges that
    follow each other is a row; those rows that are plain are waypoints.
    """

    def __init__(self, pieces: list[str], joints: _Joints) -> None:
        self._pieces, self._numbers = pieces, pieces[1::2]
        self._known, self._values = joints.known, joints.told
        self._kinds = np.fromiter(map(joints.__getitem__, pieces[::2]), np.intp, len(pieces) // 2 + 1)
        self._figures = np.array(joints.figures, np.intp).T[:, self._kinds]
        _, _, self._value, inside, *_ = self._figures
        self._edges = np.flatnonzero(inside == 0)

    def runs(self) -> Iterator[Run]:
        """Yield the plain rows that follow each other."""
        if len(self._edges) < 2:
            return
        starts, beyond, end = self._edges[:-1], self._edges[1:], self._edges[-1]
        closes, opens, _, _, ends, begins, marks_before, marks_after = self._figures
        fits = opens[:end] == closes[1 : end + 1]
        plain = np.logical_and.reduceat(fits, starts) & (begins[starts] > 0) & (ends[beyond] > 0)
        marked = np.add.reduceat(marks_before[1 : end + 1], starts) + marks_after[starts] > 0
        alone = ends[starts] != begins[starts]  # something stands between it and the row before
        first = plain & (alone | ~np.append(False, plain[:-1]))
        last = plain & np.append(first[1:] | ~plain[1:], True)
        at = joint = 0
        for row, last_row in zip(np.flatnonzero(first).tolist(), np.flatnonzero(last).tolist(), strict=True):
            left, right = int(starts[row]), int(beyond[last_row])
            at_left = at + self._length(joint, left)
            at, joint = at_left + self._length(left, right), right
            waypoints = self._waypoints(row, last_row + 1, marked)
            yield Run(at_left + int(begins[left]), at + int(ends[right]), waypoints)

    def _length(self, joint: int, other: int) -> int:
        """Return how much text there is from one joint to another; each number stands in brackets."""
        return len("".join(self._pieces[2 * joint : 2 * other])) + 2 * (other - joint)

    def _waypoints(self, row: int, beyond: int, marked: NDArray[np.bool_]) -> list[Sampled]:
        waypoints: list[Sampled] = []
        for one in (np.flatnonzero(marked[row:beyond]) + row).tolist():
            waypoints += self._numbers_only(row, one)
            waypoints.append(self._waypoint(one))
            row = one + 1
        waypoints += self._numbers_only(row, beyond)
        return waypoints

    def _numbers_only(self, row: int, beyond: int) -> Iterator[Sampled]:
        if beyond - row < _FEWEST_AT_ONCE:
            yield from map(self._waypoint, range(row, beyond))
            return
        edges = self._edges[row : beyond + 1]
        whole = slice(int(edges[0]), int(edges[-1]))
        rows = np.repeat(np.arange(beyond - row), np.diff(edges))
        yield Block(beyond - row, self._values, self._value[whole], rows, self._numbers[whole])

    def _waypoint(self, row: int) -> Waypoint:
        begin, end = self._edges[row], self._edges[row + 1]
        joints = [self._known[kind] for kind in self._kinds[begin : end + 1].tolist()]
        parts = [*joints[0].after]
        for number, opened, closed in zip(self._numbers[begin:end], joints[:-1], joints[1:], strict=True):
            name, attributes = self._values[opened.value]
            parts += ((name, number, attributes), *closed.before)
        return parts

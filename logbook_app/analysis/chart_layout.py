"""Where the words of a chart section stand: axes, soundings, the stop, remarks on leaders, gases.

The screen and the printed page put the same words in the same manner. Each says how large its
letters are and how long its unit is; what comes back is drawn as it stands. Whatever finds no free
place is left out. Lengths below are in that unit: a dp on the screen, about half a point in print.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from logbook_app.analysis.chart_lines import (
    Frame,
    depth_marks,
    evenly_along,
    first_of_each_stretch,
    minute_marks,
    sounding_figures,
)
from logbook_app.analysis.chart_places import (
    Box,
    Places,
    Wish,
    place_above_line,
    place_on_leaders,
    place_under_line,
)
from logbook_app.analysis.section_of_dive import Mark, Section
from logbook_app.language import _, later

if TYPE_CHECKING:
    from logbook_app.analysis.other_recording import OtherRecording

ESTIMATE_WORDS: Final = later("estimate: square profile")
SOUNDINGS_APART: Final = 96
STUB: Final = 28  # of a leader whose words found no room
NAMED_AT: Final = 12  # places along the view at which another recording may be named
MINUTES_APART: Final = 4.5  # heights of a figure

Role = Literal["axis", "label", "strong", "sounding", "tenth"]
Measure = Callable[[str, Role], tuple[float, float]]
DepthAt = Callable[[float], float | None]
Placed = Callable[[Sequence[Wish], float, float], list[tuple[int, Box]]]


@dataclass(frozen=True, slots=True)
class Letters:
    """How the words will look where they are drawn.

    unit      length of one of this module's units in the frame's own
    measure   width and height of words in a role, in the frame's own units
    """

    unit: float
    measure: Measure


@dataclass(frozen=True, slots=True)
class Put:
    """Words and the box that they fill."""

    words: str
    role: Role
    box: Box


@dataclass(frozen=True, slots=True)
class Remarked:
    """A remark: the leader from the line up, and its words where they found room."""

    x: float
    foot: float
    head: float
    put: Put | None


@dataclass(frozen=True, slots=True)
class Switched:
    """A change of gas: its point on the line, and the gas where it found room."""

    x: float
    y: float
    put: Put | None


@dataclass(frozen=True, slots=True)
class Stopped:
    """A stop: the bar under it, as long as it lasted, and its words where they found room."""

    bar: Box
    put: Put | None


@dataclass(frozen=True, slots=True)
class Axes:
    """The figures around the frame: depths at the side, minutes below, which stand at the ticks."""

    depths: tuple[Put, ...]
    minutes: tuple[Put, ...]
    ticks: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ChartLayout:
    """Everything in words within the frame.

    other    what the recording is called that is laid over this one
    diver    whose line leads, where there are several divers
    divers   the names of the others, beside their lines
    figures  soundings: the whole figure, then its decimal, each a Put
    """

    remarks: tuple[Remarked, ...] = ()
    stop: Stopped | None = None
    switches: tuple[Switched, ...] = ()
    ceiling: Put | None = None
    other: Put | None = None
    diver: Put | None = None
    divers: tuple[Put, ...] = ()
    estimate: Put | None = None
    figures: tuple[Put, ...] = ()


def chart_layout(section: Section, frame: Frame, letters: Letters, places: Places) -> ChartLayout:
    """Return where the words of a section stand in a frame.

    places   what the drawn line takes; what is put down is taken
    """
    if section.divers:
        return _divers_layout(section, frame, letters, places)
    # What is put down first finds room first; the soundings take what is left.
    return ChartLayout(
        estimate=_estimate(section, frame, places, letters),
        remarks=_remarks(section, frame, places, letters),
        stop=_stop(section, frame, places, letters),
        other=_other(section, frame, places, letters),
        switches=_switches(section, frame, places, letters),
        ceiling=_ceiling(section, frame, places, letters),
        figures=tuple(_soundings(section, frame, places, letters)),
    )


def depth_axis_width(section: Section, floor_m: float, letters: Letters) -> float:
    """Return how wide the column of depth figures is, in the frame's own units."""
    marks = depth_marks(floor_m, section.imperial, 1000.0, 0.0)
    return (
        max(letters.measure(_depth_words(section, words), "axis")[0] for _, words in marks) + 8 * letters.unit
    )


def time_axis_height(letters: Letters) -> float:
    """Return how much room the minutes need under the frame, in the frame's own units."""
    return letters.measure("0", "axis")[1] + 12 * letters.unit


def axes_layout(section: Section, frame: Frame, letters: Letters) -> Axes:
    """Return where the figures around a frame stand."""
    height, aside = letters.measure("0", "axis")[1], 8 * letters.unit
    depths = []
    for depth_m, figure in depth_marks(frame.floor_m, section.imperial, frame.height, height):
        words = _depth_words(section, figure)
        size = letters.measure(words, "axis")
        corner = frame.left - aside - size[0], float(frame.y(depth_m)) - size[1] / 2
        depths.append(Put(words, "axis", Box.at(*corner, size)))
    minutes, ticks = [], []
    for minute in minute_marks(frame.from_s, frame.to_s, frame.width, height * MINUTES_APART):
        words, x = _("{minutes} min").format(minutes=f"{minute:.0f}"), float(frame.x(minute * 60))
        size = letters.measure(words, "axis")
        ticks.append(x)
        minutes.append(Put(words, "axis", Box.at(x - size[0] / 2, frame.bottom - aside - size[1], size)))
    return Axes(tuple(depths), tuple(minutes), tuple(ticks))


def _depth_words(section: Section, words: str) -> str:
    """Return the figure, with the unit at the surface only: a chart says its unit once."""
    return f"{words} {'ft' if section.imperial else 'm'}" if words == "0" else words


def _estimate(section: Section, frame: Frame, places: Places, letters: Letters) -> Put | None:
    if not section.estimate:
        return None
    words = _(ESTIMATE_WORDS)
    size = letters.measure(words, "strong")
    corner = frame.left + (frame.width - size[0]) / 2, frame.bottom + 10 * letters.unit
    return Put(words, "strong", places.take(Box.at(*corner, size)))


def _remarks(section: Section, frame: Frame, places: Places, letters: Letters) -> tuple[Remarked, ...]:
    marks, unit = _in_view(section.remarks, frame), letters.unit
    wishes = [_wish(section, frame, mark, letters.measure(mark.words, "strong")) for mark in marks]
    boxes = place_on_leaders(places, wishes, indent=8 * unit)
    return tuple(
        Remarked(
            x=wish.x,
            foot=wish.y + 3 * unit,
            head=min(frame.top, wish.y + STUB * unit) if box is None else box.top,
            put=None if box is None else Put(mark.words, "strong", box),
        )
        for mark, wish, box in zip(marks, wishes, boxes, strict=True)
    )


def _stop(section: Section, frame: Frame, places: Places, letters: Letters) -> Stopped | None:
    """Put a bar under the stop, as long as it lasted, and its words under that or in the water."""
    stop = section.stop
    if stop is None or stop.from_s >= frame.to_s or stop.to_s <= frame.from_s:
        return None
    left = float(frame.x(max(frame.from_s, stop.from_s)))
    right = float(frame.x(min(frame.to_s, stop.to_s)))
    low, _ = places.line_between(left, right)
    bar = places.take(Box(left, low - places.gap - 8 * letters.unit, right, low - places.gap))
    tried = _about_stop(places, bar, letters.measure(stop.words, "label"))
    free = next((box for box in tried if places.is_free(box)), None)
    return Stopped(bar, None if free is None else Put(stop.words, "label", places.take(free)))


def _about_stop(places: Places, bar: Box, size: tuple[float, float]) -> list[Box]:
    """Return where the words of a stop may stand: close under its bar, above the line, or further down."""
    middle = (bar.left + bar.right) / 2
    hung = places.under_line(middle, size)
    under = Box.at(hung.left, min(hung.bottom, bar.bottom - places.gap - size[1]), size)
    above = places.above_line(middle, size)
    return [under, above] if bar.bottom - under.top < size[1] else [above, under]


def _switches(section: Section, frame: Frame, places: Places, letters: Letters) -> tuple[Switched, ...]:
    """Put every change of gas under its point; the first gas is no change."""
    marks = _in_view(section.gases[1:], frame)
    wishes = [_wish(section, frame, mark, letters.measure(mark.words, "label")) for mark in marks]
    found = dict(place_under_line(places, wishes, 30 * letters.unit, shares=(0.5, 0.0, 1.0)))
    return tuple(
        Switched(wish.x, wish.y, Put(mark.words, "label", found[number]) if number in found else None)
        for number, (mark, wish) in enumerate(zip(marks, wishes, strict=True))
    )


def _other(section: Section, frame: Frame, places: Places, letters: Letters) -> Put | None:
    """Name the other recording where it lies furthest from the leading one, on its own side."""
    other = section.other
    if other is None:
        return None
    words = _("{name}, thin line").format(name=other.short)
    return _named(words, "label", _where_apart(section, other, frame), frame, places, letters)


def _named(
    words: str,
    role: Role,
    apart: Sequence[tuple[float, float]],
    frame: Frame,
    places: Places,
    letters: Letters,
) -> Put | None:
    """Put a name where its line lies furthest from the others, on its own side of them.

    apart   instants and how much deeper than the others the line is there [s], [m], in order of wish
    """
    size = letters.measure(words, role)
    for time_s, apart_m in apart:
        x = float(frame.x(time_s))
        box = places.under_line(x, size) if apart_m > 0 else places.above_line(x, size)
        if places.is_free(box):
            return Put(words, role, places.take(box))
    return None


def _where_apart(section: Section, other: OtherRecording, frame: Frame) -> list[tuple[float, float]]:
    """Return instants in view and how much deeper the other one is there [s], [m], the largest first."""
    theirs = [(at, other.depth_at(at)) for at in _named_at(frame)]
    apart = [(at, depth_m - section.depth_at(at)) for at, depth_m in theirs if depth_m is not None]
    return sorted(apart, key=lambda pair: -abs(pair[1]))


def _named_at(frame: Frame) -> list[float]:
    instants = evenly_along(frame.from_s, frame.to_s, frame.width, frame.width / NAMED_AT)
    return [float(at) for at in instants]


def _divers_layout(section: Section, frame: Frame, letters: Letters, places: Places) -> ChartLayout:
    """Return the names of several divers and the soundings of their lines; remarks are on their own pages."""
    depth_of: list[tuple[str, DepthAt]] = [
        (section.diver, section.depth_at),
        *((line.short, line.depth_at) for line in section.divers),
    ]
    puts = [
        _named(
            name,
            "label" if place else "strong",
            _where_outermost(place, depth_of, frame),
            frame,
            places,
            letters,
        )
        for place, (name, _at) in enumerate(depth_of)
    ]
    return ChartLayout(
        diver=puts[0],
        divers=tuple(put for put in puts[1:] if put is not None),
        figures=tuple(_soundings_of_divers(section, frame, places, letters)),
    )


def _where_outermost(
    place: int, depth_of: Sequence[tuple[str, DepthAt]], frame: Frame
) -> list[tuple[float, float]]:
    """Return instants in view where this line is the deepest or the least deep, and by how much [s], [m]."""
    found: list[tuple[float, float]] = []
    for at in _named_at(frame):
        depths = [depth_at(at) for _name, depth_at in depth_of]
        own, others = (
            depths[place],
            [each for each in (*depths[:place], *depths[place + 1 :]) if each is not None],
        )
        if own is None or not others:
            continue
        if own > max(others):
            found.append((at, own - max(others)))
        elif own < min(others):
            found.append((at, own - min(others)))
    return sorted(found, key=lambda pair: -abs(pair[1]))


def _soundings_of_divers(section: Section, frame: Frame, places: Places, letters: Letters) -> Iterator[Put]:
    """Yield the figures of the leader's line and, of a pair, the other's: each on its own side of both."""
    apart = SOUNDINGS_APART * letters.unit
    yield from _figures_beside(_worth_sounding(section, frame, apart), section, frame, places, letters)
    if len(section.divers) == 1:
        line = section.divers[0]
        even = evenly_along(frame.from_s, frame.to_s, frame.width, apart)
        depths = [(float(at), line.depth_at(float(at))) for at in even]
        points = [(at, depth_m) for at, depth_m in depths if depth_m is not None]
        yield from _figures_beside(points, section, frame, places, letters)


def _figures_beside(
    points: Sequence[tuple[float, float]], section: Section, frame: Frame, places: Places, letters: Letters
) -> Iterator[Put]:
    """Yield figures for points of one line: under it where it is the deepest there, else above it."""
    deepest = [
        depth_m >= max([section.depth_at(at), *(line.depth_at(at) or 0.0 for line in section.divers)])
        for at, depth_m in points
    ]
    for is_deepest, place in ((True, place_under_line), (False, place_above_line)):
        part = [point for point, deep in zip(points, deepest, strict=True) if deep is is_deepest]
        yield from _figures(part, section, frame, letters, partial(place, places))


def _ceiling(section: Section, frame: Frame, places: Places, letters: Letters) -> Put | None:
    """Say what the hatching is, under its deepest point."""
    series = section.series
    at = int(series.ceiling_m.argmax())
    ceiling_m, time_s = float(series.ceiling_m[at]), float(series.time_s[at])
    if ceiling_m <= 0 or not frame.from_s <= time_s <= frame.to_s:
        return None
    words = _("ceiling {depth}").format(depth=section.units.depth(ceiling_m))
    size = letters.measure(words, "label")
    x, y = frame.point(time_s, ceiling_m)
    for share in (0.5, 1.0, 0.0):
        box = Box.at(x - share * size[0], y - 6 * letters.unit - size[1], size)
        if places.is_free(box):
            return Put(words, "label", places.take(box))
    return None


def _soundings(section: Section, frame: Frame, places: Places, letters: Letters) -> Iterator[Put]:
    """Yield the figures along the line; the decimal of a sounding stands a little lower, and smaller."""
    if section.estimate:
        return
    points = _worth_sounding(section, frame, SOUNDINGS_APART * letters.unit)
    yield from _figures(points, section, frame, letters, partial(place_under_line, places))


def _figures(
    points: Sequence[tuple[float, float]], section: Section, frame: Frame, letters: Letters, place: Placed
) -> Iterator[Put]:
    """Yield the figures of the points for which `place` finds room."""
    apart, measure = SOUNDINGS_APART * letters.unit, letters.measure
    figures = [sounding_figures(depth_m, section.imperial) for _, depth_m in points]
    sizes = [
        (measure(whole, "sounding"), measure(tenth, "tenth") if tenth else None) for whole, tenth in figures
    ]
    wishes = [
        Wish(
            *frame.point(*point), whole if tenth is None else (whole[0] + tenth[0], whole[1] + tenth[1] * 0.2)
        )
        for point, (whole, tenth) in zip(points, sizes, strict=True)
    ]
    for number, box in place(wishes, 22 * letters.unit, apart):
        whole, tenth = sizes[number]
        yield Put(figures[number][0], "sounding", Box.at(box.left, box.top - whole[1], whole))
        if tenth is not None:
            yield Put(figures[number][1], "tenth", Box.at(box.left + whole[0], box.bottom, tenth))


def _worth_sounding(section: Section, frame: Frame, apart: float) -> list[tuple[float, float]]:
    """Return instants and depths worth a figure: where the diver turned, then evenly along the line.

    Of the turns close to one another only the deepest is asked for, however restless the line is.
    """
    turn_s = section.time_s[section.turns]
    turn_s = turn_s[(turn_s >= frame.from_s) & (turn_s <= frame.to_s)]
    turn_s = turn_s[first_of_each_stretch(frame.x(turn_s), apart / 4)]
    even_s = evenly_along(frame.from_s, frame.to_s, frame.width, apart)
    worth_s = np.concatenate((turn_s, even_s[even_s <= section.end_s]))
    depth_m = np.interp(worth_s, section.time_s, section.depth_m)
    return list(zip(worth_s.tolist(), depth_m.tolist(), strict=True))


def _in_view(marks: Sequence[Mark], frame: Frame) -> list[Mark]:
    return [mark for mark in marks if frame.from_s <= mark.middle_s <= frame.to_s]


def _wish(section: Section, frame: Frame, mark: Mark, size: tuple[float, float]) -> Wish:
    return Wish(*frame.point(mark.middle_s, section.depth_at(mark.middle_s)), size)

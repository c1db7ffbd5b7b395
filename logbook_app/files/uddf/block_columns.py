"""The numbers of many waypoints at once become columns, where nothing in them is odd."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from logbook_app.dive.profile import FloatArray
from logbook_app.files.many_numbers import floats, rounded
from logbook_app.files.uddf.channels import CHANNELS, DEPTHS_M, TIMES_S, Convert
from logbook_app.files.uddf.fields import GAUGE_PA, TIDY_PLACES, Span
from logbook_app.files.uddf.plain_waypoints import Block, Places, Value
from logbook_app.physics.units import bar_from_pascals


@dataclass(slots=True)
class Columns:
    """What a block of waypoints tells, each array as long as the block, NaN where a waypoint has no value.

    pressures_bar  by the id that the file gives for the tank
    channels       by their names in a profile
    """

    time_s: FloatArray
    depth_m: FloatArray
    pressures_bar: dict[str, FloatArray] = field(default_factory=dict)
    channels: dict[str, FloatArray] = field(default_factory=dict)


class _Odd(ValueError):
    """Something in a block has to be looked at one waypoint at a time."""


def columns_of(block: Block) -> Columns | None:
    """Return the columns of a block, None where a waypoint in it is odd.

    It is odd where it lacks time or depth, holds a value twice or one that cannot be or is no number,
    or is not later than the one before.
    """
    try:
        return _Numbers(block).columns()
    except ValueError:
        return None


class _Numbers:
    """The numbers of a block, by the value that they stand under."""

    def __init__(self, block: Block) -> None:
        self._count = block.count
        self._row = block.row
        self._numbers = floats(block.texts)
        places = np.flatnonzero(np.bincount(block.which)).tolist()
        standing = [np.flatnonzero(block.which == place) for place in places]
        by_first = sorted(zip(standing, places, strict=True), key=lambda found: int(found[0][0]))
        self._found: list[tuple[Value, Places]] = [(block.values[place], where) for where, place in by_first]

    def columns(self) -> Columns:
        columns = Columns(self._of_all("divetime", TIMES_S), self._of_all("depth", DEPTHS_M))
        if not (columns.time_s[1:] > columns.time_s[:-1]).all():
            raise _Odd
        for (name, attributes), where in self._found:
            if name == "tankpressure":
                ref = (attributes.get("ref") or attributes.get("tankref") or "").strip()
                column = self._column(where, GAUGE_PA, bar_from_pascals)
                _put(columns.pressures_bar, ref, column)
            elif channel := CHANNELS.get(name):
                _put(columns.channels, channel.name, self._column(where, channel.span, channel.convert))
        return columns

    def _of_all(self, name: str, span: Span) -> FloatArray:
        """Return what every waypoint has to tell, and tell once."""
        found = [where for (told, _), where in self._found if told == name]
        if len(found) != 1 or len(found[0]) != self._count:
            raise _Odd
        return self._held(found[0], span)

    def _column(self, where: Places, span: Span, convert: Convert) -> FloatArray:
        column = np.full(self._count, np.nan)
        column[self._row[where]] = rounded(convert(self._held(where, span)), TIDY_PLACES)
        return column

    def _held(self, where: Places, span: Span) -> FloatArray:
        numbers, rows = self._numbers[where], self._row[where]
        fit = (numbers >= span.least) & (numbers <= span.most)
        twice = rows[1:] == rows[:-1]  # in one waypoint
        if not fit.all() or twice.any():
            raise _Odd
        return numbers


def _put(columns: dict[str, FloatArray], name: str, column: FloatArray) -> None:
    """Keep a column; where two values are of one kind, waypoint by waypoint it is told which is which."""
    if name in columns:
        raise _Odd
    columns[name] = column

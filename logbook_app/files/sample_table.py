"""The rows of a table become a profile; rows that cannot be read are counted, not guessed."""

from __future__ import annotations

import math
import re
from array import array
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from logbook_app.dive.cylinder import HIGHEST_CYLINDER_BAR
from logbook_app.dive.problems import RefusedFile
from logbook_app.dive.profile import GasSwitch, Profile
from logbook_app.dive.record import GREATEST_DEPTH_M, LONGEST_DIVE_MIN
from logbook_app.files.csv_columns import Column, Columns
from logbook_app.files.plain_rows import PLACES, NotPlain, PlainRows
from logbook_app.files.start_time import StartTime, parse_start
from logbook_app.language import _
from logbook_app.physics.breathing_gas import BreathingGas, parse_gas

MOST_ROWS: Final = 500_000  # two days at three samples a second
_INSTANT: Final = re.compile(r"\d{4}-\d\d-\d\d\D.*")
_CLOCK: Final = re.compile(r"(?:(\d{1,3}):)?(\d{1,3}):(\d{2}(?:[.,]\d+)?)", re.ASCII)
_NUMBER: Final = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_TIMES_S: Final = (0.0, LONGEST_DIVE_MIN * 60.0)
_DEPTHS_M: Final = (-20.0, GREATEST_DEPTH_M)
_BOUNDS: Final = {"temperature": (-10.0, 60.0), "pressure": (0.0, HIGHEST_CYLINDER_BAR)}
_DAY_S: Final = 86_400.0


class SampleTable:
    """The samples of one dive while its rows are being read.

    gases    what is in each cylinder; a gas that a row names and the list lacks is added
    first    the start, where the times are instants
    clock_s  the time of day of the first row, where the times are times of day [s]
    plain    True where times are plain numbers, which need a unit
    """

    def __init__(
        self, columns: Columns, gases: Sequence[BreathingGas | None], offset_min: int | None
    ) -> None:
        self.gases: list[BreathingGas | None] = list(gases)
        self.first: StartTime | None = None
        self.clock_s: float | None = None
        self.plain = False
        self._columns = columns
        self._offset_min = offset_min
        self._time_s, self._depth_m = array("d"), array("d")
        self._named = [column for column in columns.others if column.quantity == "gas"]
        self._sampled = [(column, array("d")) for column in columns.others if column.quantity != "gas"]
        self._switches: list[GasSwitch] = []
        self._left_out: dict[str, tuple[int, int]] = {}

    def __len__(self) -> int:
        return len(self._time_s)

    def add(self, row: int, cells: Sequence[str], file_name: str) -> None:
        """Take in one row.

        Raises RefusedFile where there are more rows than one dive can have.
        """
        if row > MOST_ROWS:
            raise RefusedFile(
                _("{file_name} has more than {most} rows; a file holds one dive.").format(
                    file_name=file_name, most=f"{MOST_ROWS:,}"
                )
            )
        time_s = self._seconds(_cell(cells, self._columns.time))
        depth_m = _number(_cell(cells, self._columns.depth), self._columns.depth)
        if time_s is None or not _within(time_s, _TIMES_S):
            self._leave_out(_("without a usable time"), row)
        elif depth_m is None or not _within(depth_m, _DEPTHS_M):
            self._leave_out(_("without a usable depth"), row)
        elif self._time_s and time_s <= self._time_s[-1]:
            self._leave_out(_("not later than the row before"), row)
        else:
            self._time_s.append(time_s)
            self._depth_m.append(depth_m)
            self._take_others(row, cells)

    def add_together(self, row: int, block: bytes, delimiter: str) -> int:
        """Take in all rows of a block, where they are so plain that there is nothing to say of them.

        row  number of the first of them

        Returns how many there were, none where they are not so plain.
        """
        try:
            rows = PlainRows(block, delimiter)
            time_s = rows.numbers(self._columns.time, _TIMES_S)
            depth_m = rows.numbers(self._columns.depth, _DEPTHS_M)
            sampled = [rows.numbers_or_nan(column, _BOUNDS[column.quantity]) for column, _ in self._sampled]
        except NotPlain:
            return 0
        later = np.diff(time_s, prepend=self._time_s[-1:]) > 0.0
        if not later.all() or row + rows.count - 1 > MOST_ROWS:
            return 0
        self.plain = True
        kept = (self._time_s, self._depth_m, *(values for _column, values in self._sampled))
        for values, taken in zip(kept, (time_s, depth_m, *sampled), strict=True):
            values.frombytes(taken.tobytes())
        for column in self._named:
            for place, cell in zip(*rows.filled(column), strict=True):
                self._take_gas(row + place, cell.strip(), float(time_s[place]))
        return rows.count

    def report(self, odd: Callable[[str], None]) -> None:
        """Say what was left out, and where first."""
        if self._left_out:
            count = sum(number for number, _ in self._left_out.values())
            reasons = (
                _("{number} {why}, first row {row}").format(number=number, why=why, row=row)
                for why, (number, row) in self._left_out.items()
            )
            odd(
                _("{count} rows or values could not be read and were left out: {reasons}").format(
                    count=count, reasons="; ".join(reasons)
                )
            )

    def profile(self) -> Profile:
        """Return what was read; there is at least one sample."""
        channels = {_channel(column): np.array(values) for column, values in self._sampled}
        return Profile(
            np.array(self._time_s),
            np.array(self._depth_m),
            {name: values for name, values in channels.items() if not np.isnan(values).all()},
            tuple(self._switches),
        )

    def _seconds(self, cell: str) -> float | None:
        """Return seconds from the start, None where the cell is no time."""
        value = parsed_number(cell)
        if value is not None:
            self.plain = True
            return round(self._columns.time.convert(value), PLACES)
        if _INSTANT.fullmatch(cell):
            return self._seconds_of_instant(cell)
        match = _CLOCK.fullmatch(cell)
        return self._seconds_of_clock(match) if match else None

    def _seconds_of_instant(self, cell: str) -> float | None:
        try:
            instant = parse_start(cell, self._offset_min)
        except ValueError:
            return None
        self.first = self.first or instant
        return (instant.at - self.first.at).total_seconds()

    def _seconds_of_clock(self, match: re.Match[str]) -> float:
        """A first row of an hour or more can only be the time of day; midnight may come after it."""
        hours, minutes, seconds = match[1] or "0", match[2], match[3].replace(",", ".")
        told_s = int(hours) * 3600 + int(minutes) * 60 + float(seconds)
        if self.clock_s is None and not self._time_s:
            self.clock_s = told_s if told_s >= 3600 else None
        if self.clock_s is None:
            return told_s
        return (told_s - self.clock_s) % _DAY_S

    def _take_others(self, row: int, cells: Sequence[str]) -> None:
        for column, values in self._sampled:
            cell = _cell(cells, column)
            values.append(self._usable(row, cell, column) if cell else math.nan)
        for column in self._named:
            self._take_gas(row, _cell(cells, column), self._time_s[-1])

    def _usable(self, row: int, cell: str, column: Column) -> float:
        value = _number(cell, column)
        if value is not None and _within(value, _BOUNDS[column.quantity]):
            return value
        self._leave_out(_("with a {quantity} that cannot be").format(quantity=column.quantity), row)
        return math.nan

    def _take_gas(self, row: int, cell: str, time_s: float) -> None:
        if not cell:
            return
        try:
            gas = parse_gas(cell)
        except ValueError:
            self._leave_out(_("with a gas that cannot be read"), row)
            return
        if gas not in self.gases:
            self.gases.append(gas)
        place = self.gases.index(gas)
        if not self._switches or self._switches[-1].cylinder != place:
            self._switches.append(GasSwitch(time_s, place))

    def _leave_out(self, why: str, row: int) -> None:
        number, first = self._left_out.get(why, (0, row))
        self._left_out[why] = (number + 1, first)


def _channel(column: Column) -> str:
    return "temperature_c" if column.quantity == "temperature" else f"pressure_bar_{column.cylinder}"


def _within(value: float, bounds: tuple[float, float]) -> bool:
    return bounds[0] <= value <= bounds[1]


def _cell(cells: Sequence[str], column: Column) -> str:
    return cells[column.place] if column.place < len(cells) else ""


def _number(cell: str, column: Column) -> float | None:
    value = parsed_number(cell)
    return None if value is None else round(column.convert(value), PLACES)


def parsed_number(cell: str) -> float | None:
    """Return the number in a cell, with a decimal point or comma."""
    if not _NUMBER.fullmatch(cell):
        return None
    value = float(cell.replace(",", "."))
    return value if math.isfinite(value) else None

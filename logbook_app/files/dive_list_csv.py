"""A list of dives, one a row, as people keep it in a spreadsheet: dives without samples.

    date,time,depth (m),duration (min),site,buddy,gas
    14.06.2026,10:05,21.4,47,Cinder Quay,"Odile Marsh; Rune Holt",32

The header names day (or `began`, an ISO 8601 date and time), depth and duration at least; the
other columns that are read, and their names in other languages, are in dive_list_columns.py.
Columns in any order, parted by comma, semicolon or tab; decimal point or comma; a quoted cell may
go over several lines. An empty cell is not written down. Several buddies or tags are parted by
semicolons or commas, several cylinders (gas, volume, pressures) by semicolons.

Dates are 2026-06-14, 14.06.2026 or, where the list or the header shows which comes first, with
slashes. A list whose dates can be read in two ways is refused. A time of day may carry am or pm;
a dive without one begins at noon, a further one that day an hour after the one before.

A duration is in minutes unless the header says otherwise; 1:05:30 is always hours, minutes and
seconds, 47:30 only where the header says (mm:ss) or (h:mm).

Each dive is an estimate, and says so wherever it shows: there are no samples, so the loading takes
the whole time at the greatest depth. Where dives_csv.py wrote the list, its column `id` keeps a
dive from being added to the logbook that it came from; nothing else is taken from it.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import islice, zip_longest
from typing import Final, TypeVar

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import TELL_OFFSET, Problem, RefusedFile, RefusedRecord
from logbook_app.dive.record import Dive, Environment, Role, Site, Water
from logbook_app.files.csv_columns import Convert
from logbook_app.files.dive_list_columns import (
    HOURS_FIRST,
    MINUTES_FIRST,
    ListColumn,
    ListColumns,
    list_columns,
    unknown_unit,
)
from logbook_app.files.read_dive import ReadDive, ReadOptions, recorded
from logbook_app.files.sample_table import parsed_number
from logbook_app.files.start_time import Precision, StartTime, Zone, parse_start
from logbook_app.files.table_lines import DELIMITERS, cells_of, lines_of
from logbook_app.files.told_date import Order, needs_order, order_of, parse_date, parse_time_of_day
from logbook_app.language import _
from logbook_app.physics.breathing_gas import BreathingGas, parse_gas

MOST_ROWS: Final = 100_000
_MOST_PROBLEMS: Final = 50
_HEADER_WITHIN_ROWS: Final = 20
_LETTER: Final = re.compile(r"[^\W\d_]")
_ID: Final = re.compile("[0-9a-f]{32}")
_AMOUNT: Final = re.compile(r"([+-]?[\d.,]+(?:[eE][+-]?\d+)?)\s*([^\d\s].*)?")
_CLOCK: Final = re.compile(r"(?:(\d{1,2}):)?(\d{1,4}):(\d{2})", re.ASCII)
_Word = TypeVar("_Word", Role, Environment)
_BEFORE_A_FORMULA: Final = re.compile("'(?=[=+@\t\r-])")  # see dives_csv.py

NOON_NEXT: Final = timedelta(hours=1)


def is_dive_list(head: bytes) -> bool:
    """Tell from the first bytes of a text whether it is a list of dives."""
    return any(_header(line) for line in islice(lines_of([head], ""), _HEADER_WITHIN_ROWS))


def parse_dive_list(
    chunks: Iterable[bytes], file_name: str, options: ReadOptions
) -> Iterator[ReadDive | Problem]:
    """Yield the dives of a list in its order, then what was odd in it.

    Raises RefusedFile where dates can be read in two ways or no row can be read.
    """
    rows = _rows(lines_of(chunks, file_name), file_name)
    yield from _List(file_name, options, *rows).dives()


@dataclass(frozen=True, slots=True)
class _Row:
    """One row, its number counted from 1 at the top of the file, and its cells by what they hold."""

    number: int
    cells: dict[str, str]

    def __getitem__(self, quantity: str) -> str:
        return self.cells.get(quantity, "")


def _header(line: str) -> tuple[str, ListColumns] | None:
    if not _LETTER.search(line):  # a row of numbers, as most lines are that this is asked of
        return None
    for delimiter in DELIMITERS:
        columns = list_columns(cells_of(line, delimiter))
        if columns is not None:
            return delimiter, columns
    return None


def _rows(lines: Iterator[str], file_name: str) -> tuple[ListColumns, list[_Row]]:
    found = None
    before = 0
    for line in lines:
        before += 1
        if found := _header(line):
            break
    if found is None:
        raise RefusedFile(
            _("{file_name} is no list of dives: no header names a day, a depth and a duration.").format(
                file_name=file_name
            )
        )
    delimiter, columns = found
    reader = csv.reader((f"{line}\n" for line in lines), delimiter=delimiter)
    rows: list[_Row] = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append(_Row(before + reader.line_num, _named(cells, columns)))
            if len(rows) > MOST_ROWS:
                raise RefusedFile(
                    _("{file_name} has more than {most} rows; split the list.").format(
                        file_name=file_name, most=f"{MOST_ROWS:,}"
                    )
                )
    except csv.Error as error:
        raise RefusedFile(
            _(
                "{file_name} cannot be followed after row {before} ({error}); a quotation mark may be "
                "missing there."
            ).format(file_name=file_name, before=before + reader.line_num, error=error)
        ) from error
    return columns, rows


def _named(cells: list[str], columns: ListColumns) -> dict[str, str]:
    return {
        name: _BEFORE_A_FORMULA.sub("", cells[column.place].strip(), count=1)
        for name, column in columns.columns.items()
        if column.place < len(cells) and cells[column.place].strip()
    }


class _Unreadable(Exception):
    """A cell that cannot be read, without which there is no dive."""


class _List:
    """A list on its way to dives."""

    def __init__(self, file_name: str, options: ReadOptions, columns: ListColumns, rows: list[_Row]) -> None:
        self._file_name = file_name
        self._options = options
        self._columns = columns
        self._rows = rows
        self._order = self._date_order()
        self._odd: dict[str, None] = {}
        self._zoneless = 0
        self._timeless = 0
        self._last_timeless: Dive | None = None

    def dives(self) -> Iterator[ReadDive | Problem]:
        self._refuse_unknown_units()
        read, refusals = 0, []
        for row in self._rows:
            try:
                dive = self._dive(row)
            except (_Unreadable, RefusedRecord) as error:
                refusals.append(
                    Problem(
                        self._file_name,
                        _("row {number}").format(number=row.number),
                        _("was not read: {error}").format(error=error),
                    )
                )
                continue
            read += 1
            known_as = row["id"] if _ID.fullmatch(row["id"]) and not self._options.diver else ""
            yield replace(recorded(dive, None, recorder="", file_name=self._file_name), known_as=known_as)
        if not read:
            why = f": {refusals[0].where} {refusals[0].what}" if refusals else ""
            raise RefusedFile(
                _("{file_name} is a list of dives but no row of it could be read{why}.").format(
                    file_name=self._file_name, why=why
                )
            )
        yield from self._told(refusals)

    def _date_order(self) -> Order | None:
        """Return what comes first in dates with slashes. Raises RefusedFile where nothing tells it."""
        column = self._columns.columns.get("date")
        texts = [row["date"] for row in self._rows]
        order = (column.date_order if column else None) or order_of(texts)
        doubtful = next((text for text in texts if needs_order(text)), None)
        if order is None and doubtful is not None:
            raise RefusedFile(
                _(
                    '{file_name} has dates such as "{doubtful}", which can be read in two ways, and '
                    "nothing in it tells which. Write them as 2026-06-14 or 14.06.2026, or name the column "
                    '"date (dd/mm/yyyy)".'
                ).format(file_name=self._file_name, doubtful=doubtful[:20])
            )
        return order

    def _refuse_unknown_units(self) -> None:
        for column in self._columns.columns.values():
            if unknown_unit(column):
                raise RefusedFile(
                    _(
                        '{file_name} has {quantity} in "{unit}", a unit that is not read here; use metres or '
                        "feet, bar or psi, kg or lb, L, degrees C or F, minutes."
                    ).format(file_name=self._file_name, quantity=column.quantity, unit=column.unit[:20])
                )

    def _told(self, refusals: list[Problem]) -> Iterator[Problem]:
        """Yield what was odd: each row that was not read, then what concerns the whole list."""
        yield from refusals[:_MOST_PROBLEMS]
        if len(refusals) > _MOST_PROBLEMS:
            yield self._problem(
                _("{count} more rows could not be read").format(count=len(refusals) - _MOST_PROBLEMS)
            )
        if self._columns.unread:
            yield self._problem(
                _("columns not read: {unread}").format(unread=", ".join(self._columns.unread))
            )
        if self._columns.assumed:
            yield self._problem(
                _("the header does not tell every unit; taken as {assumed}").format(
                    assumed=", ".join(self._columns.assumed)
                )
            )
        if self._timeless:
            yield self._problem(
                _(
                    "{timeless} dives have no time of day; each was put at noon, or an hour after the dive "
                    "before it that day. Please correct them: the loading rests on the minutes between "
                    "dives"
                ).format(timeless=self._timeless)
            )
        if self._zoneless:
            yield self._problem(
                _("start times without a time zone: {zoneless} dives were taken as UTC").format(
                    zoneless=self._zoneless
                ),
                TELL_OFFSET,
            )
        for what in list(self._odd)[:_MOST_PROBLEMS]:
            yield self._problem(what)

    def _problem(self, what: str, remedy: str = "") -> Problem:
        return Problem(self._file_name, "", what, remedy)

    def _dive(self, row: _Row) -> Dive:
        duration_min, depth_m = self._needed(row, "duration"), self._needed(row, "depth")
        start = self._start(row)
        dive = Dive(
            began_at=start.at,
            utc_offset_min=start.utc_offset_min,
            duration_min=duration_min,
            max_depth_m=depth_m,
            mean_depth_m=self._number(row, "mean depth"),
            number=self._whole(row, "number"),
            diver=self._options.diver or row["diver"],
            site=self._site(row),
            surface_bar=self._number(row, "surface pressure"),
            elevation_m=None if row["site"] else self._number(row, "elevation"),
            water=self._water(row) or Water.RECORDER,
            cylinders=self._cylinders(row),
            weights_kg=self._number(row, "weights"),
            suit=row["suit"],
            air_temperature_c=self._number(row, "air temperature"),
            lowest_temperature_c=self._number(row, "water temperature"),
            visibility_m=self._number(row, "visibility"),
            current=row["current"],
            conditions=row["conditions"],
            buddies=_names(row["buddies"]),
            purpose=row["purpose"],
            notes=row["notes"],
            rating=self._whole(row, "rating"),
            tags=_names(row["tags"]),
            trip=row["trip"],
            supervised_by=row["supervised by"],
            role=next(iter(self._words(row, "role", Role)), None),
            environments=self._words(row, "surroundings", Environment),
            estimate=True,
        )
        self._zoneless += start.zone is Zone.NONE
        if start.precision is not Precision.TIME:
            self._timeless += 1
            dive = self._after_the_one_before(dive)
        return dive

    def _after_the_one_before(self, dive: Dive) -> Dive:
        """Two dives of a day without times are one after the other, not at once."""
        before = self._last_timeless
        if before is not None and before.began_local.date() == dive.began_local.date():
            dive = replace(dive, began_at=before.ended_at + NOON_NEXT)
        self._last_timeless = dive
        return dive

    def _start(self, row: _Row) -> StartTime:
        try:
            return parse_start(row["began"] or self._stamp(row), self._options.utc_offset_min)
        except ValueError as error:
            raise _Unreadable(str(error)) from error

    def _stamp(self, row: _Row) -> str:
        day = parse_date(row["date"], self._order)
        if day is None:
            raise _Unreadable(
                _('"{row}" is not a date as in 2026-06-14 or 14.06.2026').format(row=row["date"][:40])
            )
        if not row["time"]:
            return day.isoformat()
        time = parse_time_of_day(row["time"])
        if time is None:
            raise _Unreadable(_('"{row}" is not a time of day as in 10:05').format(row=row["time"][:40]))
        return f"{day.isoformat()}T{time}"

    def _needed(self, row: _Row, quantity: str) -> float:
        cell = row[quantity]
        value = self._value(self._columns.columns[quantity], cell)
        if value is None:
            raise _Unreadable(
                _('"{cell}" is not a {quantity} that is read here').format(cell=cell[:40], quantity=quantity)
                if cell
                else _("it has no {quantity}").format(quantity=quantity)
            )
        return value

    def _value(self, column: ListColumn, cell: str) -> float | None:
        if column.quantity == "duration" and (match := _CLOCK.fullmatch(cell)):
            return _clock_min(match, column.unit)
        match = _AMOUNT.fullmatch(cell)
        if match is None:
            return None
        convert: Convert | None = column.other_unit(match[2]) if match[2] else column.convert
        value = parsed_number(match[1])
        return None if value is None or convert is None else round(convert(value), 9)

    def _number(self, row: _Row, quantity: str) -> float | None:
        """Return a number that a dive can do without."""
        cell = row[quantity]
        value = self._value(self._columns.columns[quantity], cell) if cell else None
        if cell and value is None:
            self._leave_out(row, quantity, cell)
        return value

    def _whole(self, row: _Row, quantity: str) -> int | None:
        value = self._number(row, quantity)
        if value is None or value == int(value):
            return None if value is None else int(value)
        self._leave_out(row, quantity, row[quantity])
        return None

    def _words(self, row: _Row, quantity: str, kind: type[_Word]) -> tuple[_Word, ...]:
        """Return the words of a cell that the record has; others are left out."""
        known = {word.value: word for word in kind}
        told = [part.casefold() for part in _names(row[quantity])]
        for part in told:
            if part not in known:
                self._leave_out(row, quantity, part)
        return tuple(dict.fromkeys(known[part] for part in told if part in known))

    def _leave_out(self, row: _Row, quantity: str, cell: str) -> None:
        self._odd.setdefault(f'row {row.number}: {quantity} "{cell[:40]}" cannot be read and was left out')

    def _site(self, row: _Row) -> Site | None:
        if not row["site"]:
            return None
        return Site.named(
            row["site"],
            elevation_m=self._number(row, "elevation"),
            latitude_deg=self._number(row, "latitude"),
            longitude_deg=self._number(row, "longitude"),
            region=row["region"],
        )

    def _water(self, row: _Row) -> Water | None:
        return next((water for water in Water if water.value == row["water"].casefold()), None)

    def _cylinders(self, row: _Row) -> tuple[Cylinder, ...]:
        gases = [self._gas(row, part) for part in _parts(row["gas"])]
        volumes = self._several(row, "volume")
        starts, ends = self._several(row, "start pressure"), self._several(row, "end pressure")
        told = zip_longest(gases, volumes, starts, ends)
        return tuple(Cylinder(gas, volume_l, start, end) for gas, volume_l, start, end in told)

    def _several(self, row: _Row, quantity: str) -> list[float | None]:
        return [self._number(_Row(row.number, {quantity: part}), quantity) for part in _parts(row[quantity])]

    def _gas(self, row: _Row, part: str) -> BreathingGas | None:
        if not part:
            return None
        try:
            return parse_gas(part)
        except ValueError:
            self._leave_out(row, "gas", part)
            return None


def _clock_min(match: re.Match[str], unit: str) -> float | None:
    """Return minutes; two figures alone mean what the header says, and nothing where it does not."""
    first, second, third = match[1], int(match[2]), int(match[3])
    if first is not None:
        return int(first) * 60 + second + third / 60.0 if second < 60 and third < 60 else None
    if third >= 60 or (unit != MINUTES_FIRST and unit not in HOURS_FIRST):
        return None
    return second * 60.0 + third if unit in HOURS_FIRST else second + third / 60.0


def _parts(cell: str) -> list[str]:
    return [part.strip() for part in cell.split(";")] if cell else []


def _names(cell: str) -> tuple[str, ...]:
    """Return the names in a cell; where there is a semicolon, a comma is part of a name."""
    return tuple(filter(None, (part.strip() for part in cell.split(";" if ";" in cell else ","))))

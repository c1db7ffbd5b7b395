"""The first rows of a table of samples, and what each of its columns seems to be.

The diver looks at it where the header leaves a doubt: it names no time or no depth, tells no unit,
or nothing says when the dive began. What the diver decides is written as the list of columns that
csv_columns.py reads, and is good for every file with the same header.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from logbook_app.files.csv_columns import ASSUMED, UNITS, Convert, columns_in_header, told_by
from logbook_app.files.csv_heading import Heading
from logbook_app.files.sample_table import parsed_number
from logbook_app.files.table_lines import DELIMITERS, cells_of, lines_of

ROWS_SHOWN: Final = 6
MOST_COLUMNS: Final = 60
_INSTANT: Final = re.compile(r"\d{4}-\d\d-\d\d\D.*")
_CLOCK: Final = re.compile(r"\d{1,3}:\d{2}(?::\d{2})?(?:[.,]\d+)?", re.ASCII)
_LISTED: Final = re.compile(r"([a-z]+)(?: (\d+))?=(\d+)(?::([a-z]+))?")


@dataclass(frozen=True, slots=True)
class ColumnUse:
    """What one column is taken for.

    quantity  time, depth, temperature, pressure or gas; empty where the column is not used
    unit      as in a list of columns (s, min, h, m, ft, c, f, k, bar, psi); empty for a gas
    told      True where the header tells the unit as well
    cylinder  of a pressure, from 0
    """

    quantity: str = ""
    unit: str = ""
    told: bool = False
    cylinder: int = 0


@dataclass(frozen=True, slots=True)
class TablePreview:
    """The beginning of a table of samples.

    header         its header, empty where it has none
    rows           its first rows, each as wide as the header
    uses           what each column is taken for
    clocks         places of columns that hold times of day, mm:ss or dates with a time, which need no unit
    needs_start    True where neither the table nor the lines before it say when the dive began
    header_digest  names the header; empty where there is none, because then nothing tells two tables apart
    settled        True where the diver has decided on this header before
    """

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    uses: tuple[ColumnUse, ...]
    clocks: frozenset[int]
    needs_start: bool
    header_digest: str
    settled: bool = False

    @property
    def asks(self) -> bool:
        """True where the diver has to look before the table is read."""
        return self.needs_start or not (self.settled or self._certain)

    @property
    def _certain(self) -> bool:
        used = {use.quantity: use for use in self.uses}
        units_told = all(
            use.told or not use.unit or (use.quantity == "time" and place in self.clocks)
            for place, use in enumerate(self.uses)
        )
        return {"time", "depth"} <= used.keys() and units_told

    def settled_as(self, columns: str) -> TablePreview:
        """Return the preview with what a list of columns says of each."""
        return replace(self, uses=uses_from_text(columns, len(self.uses)), settled=True)


def parse_preview(head: bytes, file_name: str, *, whole: bool) -> TablePreview | None:
    """Return the beginning of a table of samples, None where the text is no table.

    head   the first bytes of the file
    whole  True where they are all of it; else its last line may be cut off and is not looked at

    Raises RefusedFile for a line so long that the text can be no table.
    """
    lines = [line for line in lines_of([head], file_name) if line.strip()]
    if not whole:
        lines = lines[:-1]
    before = [line.strip() for line in lines if line.lstrip().startswith("#")]
    table = _table([line for line in lines if not line.lstrip().startswith("#")])
    if table is None:
        return None
    header = table[0] if not any(map(_is_value, table[0])) else ()
    rows = tuple(table[1:] if header else table)[:ROWS_SHOWN]
    return _preview(header, rows, began=_began(before)) if rows else None


def columns_text(uses: Sequence[ColumnUse], began: str = "") -> str:
    """Return the list of columns that csv_columns.py reads.

    began   start of the dive, ISO 8601, empty where the file tells it

    >>> columns_text([ColumnUse("time", "min"), ColumnUse(), ColumnUse("pressure", "psi", cylinder=1)])
    'time=1:min,pressure 2=3:psi'
    """
    parts = []
    for number, use in enumerate(uses, start=1):
        cylinder = f" {use.cylinder + 1}" if use.cylinder else ""
        unit = f":{use.unit}" if use.unit else ""
        if use.quantity:
            parts.append(f"{use.quantity}{cylinder}={number}{unit}")
    return ",".join([*parts, f"began={began}"] if began else parts)


def uses_from_text(columns: str, width: int) -> tuple[ColumnUse, ...]:
    """Return what `columns_text` said of each of so many columns."""
    uses = [ColumnUse()] * width
    for part in columns.split(","):
        match = _LISTED.fullmatch(part)
        if match and int(match[3]) <= width:
            cylinder = int(match[2] or 1) - 1
            uses[int(match[3]) - 1] = ColumnUse(match[1], match[4] or "", told=True, cylinder=cylinder)
    return tuple(uses)


def _preview(header: tuple[str, ...], rows: tuple[tuple[str, ...], ...], began: str) -> TablePreview:
    width = len(rows[0])
    clocks = frozenset(at for at in range(width) if _all(rows, at, _CLOCK.fullmatch))
    instants = frozenset(at for at in range(width) if _all(rows, at, _INSTANT.fullmatch))
    uses = _uses(header or ("",) * width)
    dated = any(use.quantity == "time" and place in instants for place, use in enumerate(uses))
    return TablePreview(
        header=header,
        rows=rows,
        uses=uses,
        clocks=clocks | instants,
        needs_start=not began and not dated,
        header_digest=_digest(header) if header else "",
    )


def _uses(header: Sequence[str]) -> tuple[ColumnUse, ...]:
    """Return what a header names, each quantity once, as the reader takes it."""
    uses: list[ColumnUse] = []
    taken: set[tuple[str, int]] = set()
    for cell in header:
        quantity, unit, cylinder = told_by(cell)
        again = (quantity, cylinder) in taken
        taken.add((quantity, cylinder))
        told = bool(unit) or quantity == "gas"
        uses.append(
            ColumnUse(quantity, unit or ASSUMED[quantity], told, cylinder)
            if quantity and not again
            else ColumnUse()
        )
    return tuple(uses)


def _table(lines: Sequence[str]) -> list[tuple[str, ...]] | None:
    """Return the rows that are alike, from the header on; None where the lines are no table.

    Cells are parted as the reader parts them: by what gives a header that it knows, else by the
    first of its delimiters that parts most lines alike.
    """
    for delimiter in DELIMITERS:
        rows = [tuple(cells_of(line, delimiter)) for line in lines]
        known = next((at for at, row in enumerate(rows) if columns_in_header(row)), None)
        if known is not None:
            return [row for row in rows[known:] if len(row) == len(rows[known])]
    for delimiter in DELIMITERS:
        alike = _alike([tuple(cells_of(line, delimiter)) for line in lines])
        if alike is not None:
            return alike
    return None


def _alike(rows: list[tuple[str, ...]]) -> list[tuple[str, ...]] | None:
    width, count = Counter(map(len, rows)).most_common(1)[0] if rows else (0, 0)
    if not 2 <= width <= MOST_COLUMNS or count < 2 or 2 * count < len(rows):
        return None
    alike = [row for row in rows if len(row) == width]
    # Prose with commas in it is no table: two columns at least hold values.
    return alike if sum(map(_is_value, alike[-1])) >= 2 else None


def _is_value(cell: str) -> bool:
    return parsed_number(cell) is not None or bool(_CLOCK.fullmatch(cell) or _INSTANT.fullmatch(cell))


def _all(rows: Sequence[Sequence[str]], place: int, holds: Callable[[str], object]) -> bool:
    return all(place < len(row) and holds(row[place]) for row in rows)


def _began(before: Sequence[str]) -> str:
    heading = Heading()
    for line in before:
        heading = heading.with_line(line, lambda _what: None)
    return heading.began


def _digest(header: Sequence[str]) -> str:
    told = "\n".join(" ".join(cell.casefold().split()) for cell in header)
    return hashlib.sha256(told.encode()).hexdigest()


def units_of(quantity: str) -> tuple[str, ...]:
    """Return the units that a quantity may have, each by one of its names.

    >>> units_of("time"), units_of("gas")
    (('s', 'min', 'h'), ())
    """
    names: dict[Convert, str] = {}
    for name, convert in UNITS.get(quantity, {}).items():
        names.setdefault(convert, name)
    return tuple(names.values())

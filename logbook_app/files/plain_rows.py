"""Many rows of a table at once, where every cell that is read is a plain number or empty.

The text is split at once, which is much faster than line by line. What `float` reads and a table does
not mean as a number (an underscore, a digit of another script, infinity) is odd, and so is a
quotation mark or a row of another width. Rows among which anything is odd are not read here but one
by one, as sample_table.py does it; both ways give the same samples, which a test holds them to.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import compress
from typing import Final

import numpy as np

from logbook_app.dive.profile import FloatArray
from logbook_app.files.csv_columns import Column
from logbook_app.files.many_numbers import floats, rounded
from logbook_app.files.table_lines import DELIMITERS

Bounds = tuple[float, float]
PLACES: Final = 6
"""Decimal places that are kept of a number in a table."""

_ALL_BUT_MARKS: Final = {
    delimiter: bytes(set(range(256)) - {ord(delimiter), ord("\n")}) for delimiter in DELIMITERS
}


class NotPlain(ValueError):
    """Rows have to be looked at one by one."""


class PlainRows:
    """Rows that are all of one width.

    count  how many

    Raises NotPlain where one is not, or holds more than plain numbers may.
    """

    def __init__(self, block: bytes, delimiter: str) -> None:
        if not block.isascii() or b'"' in block or b"_" in block:
            raise NotPlain("no plain numbers")
        if b"\r" in block:
            block = block.replace(b"\r\n", b"\n")
        lines = block.removesuffix(b"\n")
        shapes = lines.translate(None, _ALL_BUT_MARKS[delimiter]) + b"\n"  # what is left of each row
        shape = shapes.partition(b"\n")[0] + b"\n"
        self.count, self._width = lines.count(b"\n") + 1, len(shape)
        # The length comes first: one endless row before many short ones would fill the memory.
        alike = len(shapes) == len(shape) * self.count and shapes == shape * self.count
        if b"\r" in lines or not alike:
            raise NotPlain("rows of another width")
        self._delimiter = delimiter
        self._cells = lines.decode().replace("\n", delimiter).split(delimiter)

    def filled(self, column: Column) -> tuple[list[int], list[str]]:
        """Return which rows have something in a column, and what."""
        cells = self._column(column)
        rows = list(compress(range(self.count), cells))
        return rows, [cells[row] for row in rows]

    def numbers(self, column: Column, bounds: Bounds) -> FloatArray:
        """Return the numbers of a column in the record's own unit.

        Raises NotPlain where a cell is no number, or is out of bounds.
        """
        return self._converted(column, self._column(column), bounds)

    def numbers_or_nan(self, column: Column, bounds: Bounds) -> FloatArray:
        """Return the numbers of a column that may have empty cells, which give NaN."""
        rows, cells = self.filled(column)
        values = np.full(self.count, np.nan)
        values[rows] = self._converted(column, cells, bounds)
        return values

    def _column(self, column: Column) -> list[str]:
        beyond = column.place >= self._width
        return [""] * self.count if beyond else self._cells[column.place :: self._width]

    def _converted(self, column: Column, cells: Sequence[str], bounds: Bounds) -> FloatArray:
        if self._delimiter != "," and cells:
            cells = "\n".join(cells).replace(",", ".").split("\n")
        try:
            numbers = floats(cells)
        except ValueError as error:
            raise NotPlain(column.quantity) from error
        with np.errstate(over="ignore"):
            values = rounded(column.convert(numbers), PLACES)
        if not ((values >= bounds[0]) & (values <= bounds[1])).all():
            raise NotPlain(column.quantity)
        return values

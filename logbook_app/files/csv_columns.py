"""What each column of a table of samples is, told by its header or by the diver.

A header names the quantity and its unit: "depth (m)", "Tiefe [m]", "depth_ft", "temps (min)". The
name may be in any of several languages; the unit stands last, in brackets or after a space or an
underscore. A number between them tells the cylinder: "pressure 2 (bar)".

The diver's own list has the form

    time=1:min,depth=3:ft,temperature=4:f,pressure=5:psi,began=2026-06-14T10:05+02:00

a quantity, the number of its column counted from 1, and its unit; `began` gives the start of the
dive where the file does not.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Protocol

from logbook_app.dive.problems import RefusedFile
from logbook_app.language import _
from logbook_app.physics.units import (
    Numbers,
    bar_from_psi,
    celsius_from_fahrenheit,
    celsius_from_kelvin,
    metres_from_feet,
)


class Convert(Protocol):
    """Turns a number, or an array of them, into the record's own unit."""

    def __call__(self, number: Numbers, /) -> Numbers: ...


_NAMES: Final[Mapping[str, str]] = {
    word: quantity
    for quantity, words in {
        "time": "time elapsed zeit tauchzeit temps tiempo tempo tijd tid czas aika",
        "depth": "depth tiefe tauchtiefe profondeur profundidad profondita profundidade diepte dybde djup "
        "glebokosc syvyys",
        "temperature": "temperature temp temperatur temperatura temperatuur lampotila",
        "pressure": "pressure druck flaschendruck pression presion pressione pressao druk tryk trykk tryck "
        "paine",
        "gas": "gas gaz kaasu",
    }.items()
    for word in words.split()
}


def same(value: Numbers) -> Numbers:
    """Return a value that is in the record's own unit already."""
    return value


def times(factor: float) -> Convert:
    """Return what multiplies by a factor."""

    def product(value: Numbers) -> Numbers:
        return value * factor

    return product


UNITS: Final[Mapping[str, Mapping[str, Convert]]] = {
    "time": {
        **dict.fromkeys(("s", "sec", "secs", "second", "seconds", "sek", "sekunden", "secondes"), same),
        **dict.fromkeys(("min", "mins", "minute", "minutes", "minuten"), times(60.0)),
        **dict.fromkeys(("h", "hour", "hours"), times(3600.0)),
    },
    "depth": {
        **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), same),
        **dict.fromkeys(("ft", "foot", "feet"), metres_from_feet),
    },
    "temperature": {
        **dict.fromkeys(("c", "degc", "celsius"), same),
        **dict.fromkeys(("f", "degf", "fahrenheit"), celsius_from_fahrenheit),
        **dict.fromkeys(("k", "kelvin"), celsius_from_kelvin),
    },
    "pressure": {"bar": same, "psi": bar_from_psi},
    "gas": {},
}
_HEADER_CELL: Final = re.compile(r"[\w\s.()\[\]°/%#:-]*")  # prose and program text are no header
ASSUMED: Final = {"time": "s", "depth": "m", "temperature": "c", "pressure": "bar", "gas": ""}
_WORDS: Final = {"s": "seconds", "m": "metres", "c": "degrees Celsius", "bar": "bar"}


@dataclass(frozen=True, slots=True)
class Column:
    """One column that is read.

    place      where it stands, from 0
    quantity   time, depth, temperature, pressure or gas
    cylinder   of a pressure, from 0
    convert    turns its numbers into seconds, metres, degrees Celsius or bar
    """

    place: int
    quantity: str
    cylinder: int = 0
    convert: Convert = same


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of a table; `time` and `depth` are always there.

    others   the rest that is read
    unread   headers that name nothing known
    assumed  units that were taken because the header tells none, in words, by quantity
    began    the start of the dive, empty where the list does not give it
    """

    time: Column
    depth: Column
    others: tuple[Column, ...] = ()
    unread: tuple[str, ...] = ()
    assumed: Mapping[str, str] = field(default_factory=dict)
    began: str = ""

    @property
    def least_width(self) -> int:
        """How many cells a row needs at least to hold a time and a depth."""
        return max(self.time.place, self.depth.place) + 1


@dataclass(slots=True)
class _Found:
    columns: list[Column] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    assumed: dict[str, str] = field(default_factory=dict)

    def settled(self, began: str = "") -> Columns | None:
        """Return the columns, None where time or depth is missing."""
        first: dict[tuple[str, int], Column] = {}
        for column in self.columns:
            first.setdefault((column.quantity, column.cylinder), column)
        time, depth = first.pop(("time", 0), None), first.pop(("depth", 0), None)
        if time is None or depth is None:
            return None
        return Columns(time, depth, tuple(first.values()), tuple(self.unread), self.assumed, began)


def told_by(cell: str) -> tuple[str, str, int]:
    """Return the quantity, the unit and the cylinder (from 0) that one cell of a header names.

    The quantity is empty where it names none, the unit where it tells none.

    >>> told_by("Druck 2 [bar]"), told_by("depth"), told_by("remarks")
    (('pressure', 'bar', 1), ('depth', '', 0), ('', '', 0))
    """
    words = re.findall(r"[^\W\d_]+|\d+", plain(cell)) if _HEADER_CELL.fullmatch(cell) else []
    quantity = next((_NAMES[word] for word in words if word in _NAMES), "")
    if not quantity:
        return "", "", 0
    unit = words[-1] if words[-1] in UNITS[quantity] else ""
    cylinder = next((int(word) - 1 for word in words if re.fullmatch("[1-9]|1[0-9]", word)), 0)
    return quantity, unit, cylinder if quantity == "pressure" else 0


def columns_in_header(cells: Sequence[str]) -> Columns | None:
    """Return what the cells of a header name, None where they do not name time and depth."""
    found = _Found()
    for place, cell in enumerate(cells):
        quantity, unit, cylinder = told_by(cell)
        if not quantity:
            if cell:
                found.unread.append(cell[:40])
            continue
        if not unit and quantity != "gas":
            found.assumed[quantity] = f"{quantity} in {_WORDS[ASSUMED[quantity]]}"
        convert = UNITS[quantity].get(unit or ASSUMED[quantity], same)
        found.columns.append(Column(place, quantity, cylinder, convert))
    return found.settled()


def parse_columns(text: str) -> Columns:
    """Return what the diver's own list names, as in "time=1:min,depth=3:ft".

    Raises RefusedFile with a sentence where it cannot be followed.
    """
    found, began = _Found(), ""
    for part in filter(None, (part.strip() for part in text.split(","))):
        name, _equals, told = (piece.strip() for piece in part.partition("="))
        if name.casefold() == "began":
            began = told
            continue
        found.columns.append(_told_column(name.casefold(), told, part))
    columns = found.settled(began)
    if columns is None:
        raise RefusedFile(
            _('The column list "{text}" must name time and depth, as in "time=1:s,depth=2:m".').format(
                text=text
            )
        )
    return columns


def _told_column(name: str, told: str, part: str) -> Column:
    match = re.fullmatch(r"(time|depth|temperature|pressure|gas)\s*(1?[0-9])?", name)
    number, _colon, unit = (piece.strip() for piece in told.partition(":"))
    if match is None or not re.fullmatch(r"[1-9]\d{0,3}", number, re.ASCII):
        raise RefusedFile(
            _('"{part}" in the column list does not name a quantity and a column, as in "depth=2:m".').format(
                part=part
            )
        )
    quantity = match[1]
    cylinder = max(0, int(match[2] or 1) - 1) if quantity == "pressure" else 0
    unit = unit.casefold() or ASSUMED[quantity]
    if unit not in UNITS[quantity] and quantity != "gas":
        known = ", ".join(UNITS[quantity])
        raise RefusedFile(
            _('"{unit}" in the column list is not a unit of {quantity}; write one of {known}.').format(
                unit=unit, quantity=quantity, known=known
            )
        )
    return Column(int(number) - 1, quantity, cylinder, UNITS[quantity].get(unit, same))


_WHOLE_LETTERS: Final = str.maketrans({"ł": "l", "ø": "o", "æ": "ae", "°": " "})


def plain(text: str) -> str:
    """Return a header in small letters without accents or degree signs."""
    decomposed = unicodedata.normalize("NFKD", text.casefold().translate(_WHOLE_LETTERS))
    return "".join(letter for letter in decomposed if not unicodedata.combining(letter))

"""What the diver decides about the columns of a table: pure functions from touch to sentence.

A unit that the header does not tell is left open until the diver says it: metres taken for feet
would make every figure of the dive wrong.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime

from logbook_app.analysis.spoken_times import clock_time, full_date, utc_offset
from logbook_app.language import _, later
from logbook_app.logbook import ColumnUse, TablePreview, columns_text, units_of

UNUSED = "none"
QUANTITIES = (
    (UNUSED, later("Not used")),
    ("time", later("Time")),
    ("depth", later("Depth")),
    ("temperature", later("Temperature")),
    ("pressure", later("Pressure")),
    ("gas", later("Gas")),
)
UNIT_WORDS = {
    "s": later("seconds"),
    "min": later("minutes"),
    "h": later("hours"),
    "m": later("metres"),
    "ft": later("feet"),
    "c": "°C",
    "f": "°F",
    "k": "kelvin",
    "bar": "bar",
    "psi": "psi",
}
_SEVERAL = ("pressure",)  # one column for each cylinder; of anything else there is one
_NEEDED = (later("time"), later("depth"))
_MORE = (later("temperature"), later("pressure"), later("gas"))  # names of quantities in a sentence
_ANY_DAY = "2000-01-01T00:00Z"

Uses = tuple[ColumnUse, ...]


def first_uses(preview: TablePreview) -> Uses:
    """Return what a table's columns are taken for, with every unit open that nobody told."""
    return tuple(
        use if use.told or place in preview.clocks else replace(use, unit="")
        for place, use in enumerate(preview.uses)
    )


def with_quantity(preview: TablePreview, uses: Uses, place: int, quantity: str) -> Uses:
    """Return the uses with one column taken for something else.

    What only one column can be is taken away from the column that was it before.
    """
    if quantity == uses[place].quantity:
        return uses
    only_one = quantity not in (*_SEVERAL, "")
    kept = [ColumnUse() if only_one and use.quantity == quantity else use for use in uses]
    kept[place] = ColumnUse()
    cylinders = {use.cylinder for use in kept if use.quantity == quantity}
    free = next(cylinder for cylinder in range(len(uses)) if cylinder not in cylinders)
    unit = _unit_for(preview, place, quantity)
    kept[place] = ColumnUse(quantity, unit, told=True, cylinder=0 if only_one else free)
    return tuple(kept)


def with_unit(uses: Uses, place: int, unit: str) -> Uses:
    """Return the uses with one column in another unit."""
    return tuple(replace(use, unit=unit) if at == place else use for at, use in enumerate(uses))


def unit_answers(preview: TablePreview, uses: Uses, place: int) -> list[tuple[str, str]]:
    """Return the units to choose from for a column, none where it needs none."""
    if uses[place].quantity == "time" and place in preview.clocks:
        return []
    return [(unit, UNIT_WORDS[unit]) for unit in units_of(uses[place].quantity)]


def column_heading(preview: TablePreview, place: int) -> str:
    """Return what a column is called: `Column 3: Dpt`."""
    name = preview.header[place] if preview.header else ""
    return (
        _("Column {place}: {name}").format(place=place + 1, name=name)
        if name
        else _("Column {place}").format(place=place + 1)
    )


def column_values(preview: TablePreview, place: int) -> str:
    """Return the first values of a column in one line."""
    return "   ".join(row[place] or "–" for row in preview.rows if place < len(row))


def table_text(preview: TablePreview) -> str:
    """Return the first lines of a table as they stand in the file."""
    lines = [preview.header, *preview.rows[:3]] if preview.header else preview.rows[:4]
    return "\n".join("  |  ".join(cell or "–" for cell in line) for line in lines)


def what_is_needed(preview: TablePreview, uses: Uses, began: datetime | None) -> list[str]:
    """Return in words what has to be said before the table can be read."""
    quantities = {use.quantity for use in uses}
    needed = [
        _("which column is the {name}").format(name=_(name)) for name in _NEEDED if name not in quantities
    ]
    needed += [
        _("the unit of the {quantity}").format(quantity=_(use.quantity))
        for place, use in enumerate(uses)
        if unit_answers(preview, uses, place) and not use.unit
    ]
    if preview.needs_start and began is None:
        needed.append(_("when the dive began"))
    return needed


def what_follows(preview: TablePreview, uses: Uses, began: datetime | None) -> str:
    """Return in words how the table will be read, or what is still needed for it."""
    needed = what_is_needed(preview, uses, began)
    if needed:
        return _("Still needed: {needed}.").format(needed=", ".join(needed))
    order = [name for name, _words in QUANTITIES]
    used = sorted((order.index(use.quantity), at) for at, use in enumerate(uses) if use.quantity)
    told = ", ".join(_column_words(preview, uses, place) for _order, place in used)
    sentences = [f"{told[0].upper()}{told[1:]}."]
    if preview.needs_start and began is not None:
        sentences.append(
            _("It began {full_date} at {clock_time} ({utc_offset}).").format(
                full_date=full_date(began), clock_time=clock_time(began), utc_offset=utc_offset(began)
            )
        )
    return " ".join(sentences)


def columns_to_try(preview: TablePreview, uses: Uses) -> str:
    """Return the list of columns as far as it can be tried, empty where a column or a unit is open.

    A start that nobody has told yet stands as any day: only depth and time are looked at.
    """
    open_still = what_is_needed(replace(preview, needs_start=False), uses, None)
    return "" if open_still else columns_text(uses, _ANY_DAY if preview.needs_start else "")


def _column_words(preview: TablePreview, uses: Uses, place: int) -> str:
    use = uses[place]
    which = " " + _("of cylinder {cylinder}").format(cylinder=use.cylinder + 1) if use.cylinder else ""
    if use.quantity == "time" and place in preview.clocks:
        unit = " " + _("by the clock")
    else:
        unit = " " + _("in {unit}").format(unit=_(UNIT_WORDS[use.unit])) if use.unit else ""
    return _("{quantity}{which}{unit} from column {place}").format(
        quantity=_(use.quantity), which=which, unit=unit, place=place + 1
    )


def _unit_for(preview: TablePreview, place: int, quantity: str) -> str:
    """Return the unit that the header of a column ends with, empty where it tells none."""
    known = units_of(quantity)
    if quantity == "time" and place in preview.clocks:
        return known[0]
    words = re.findall(r"[a-z]+", preview.header[place].casefold()) if preview.header else []
    return words[-1] if words and words[-1] in known else ""

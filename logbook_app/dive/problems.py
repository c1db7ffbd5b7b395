"""Odd data is a value, trouble is an error.

A reader that meets something odd returns a `Problem` beside the dives it could read. An
exception is for what stops the work: no disk, a logbook from a newer program, a refused record.

    LeadlineError
    ├── RefusedFile      the file is not a recording this program can read
    ├── RefusedRecord    a record that contradicts itself
    ├── UnknownForm      the ending of a file names no form that is written
    ├── UnknownDive      no dive with this id
    ├── UnknownKit       no piece of kit, set or entry of care with this id
    ├── UnknownChange    no import, join or shift with this id that could be taken back
    ├── RefusedMessage   what the other end of a sync sent is no message
    ├── NoClub           the club is not reached, or is none that may be talked to
    ├── LogbookError     the logbook file cannot be opened, read or written
    └── Cancelled        the diver stopped it; what was finished stays
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from logbook_app.language import _

# What a diver can do about something odd. Where to do it differs, so each face says it in words of its own.
TELL_OFFSET: Final = "tell the offset"
TELL_COLUMNS: Final = "tell the columns"
READ_CODES: Final = "get what reads picture codes"


@dataclass(frozen=True, slots=True)
class Problem:
    """Something odd in what was read, in one sentence for the diver.

    file    name of the file, empty for a hand entry
    where   line, row, element or dive that it was found at
    what    what is wrong and what was done with the value
    remedy  what can be done about it where that is done at the screen or the command line, else empty
    """

    file: str
    where: str
    what: str
    remedy: str = ""

    def sentence(self) -> str:
        """Return the problem as one line: file, place, what."""
        told_already = self.file if self.what.startswith(self.file) else ""
        place = ", ".join(part for part in (self.file, self.where) if part and part != told_already)
        return f"{place}: {self.what}" if place else self.what


class LeadlineError(Exception):
    """Any trouble that Leadline reports in a sentence: what happened and what to do."""


class RefusedFile(LeadlineError):
    """A file that cannot be read as a recording; nothing of it was kept.

    remedy   as in `Problem`
    """

    def __init__(self, words: str, remedy: str = "") -> None:
        super().__init__(words)
        self.remedy = remedy


class RefusedRecord(LeadlineError):
    """A record that contradicts itself, such as a dive that lasts no time."""


class UnknownForm(LeadlineError):
    """A file to write whose ending names no form; nothing was written."""


class UnknownDive(LeadlineError):
    """No dive with this id in the logbook."""


class UnknownKit(LeadlineError):
    """No piece of kit, set or entry of care with this id in the logbook."""


class UnknownChange(LeadlineError):
    """No import, join or shift of clocks with this id that could be taken back."""


class RefusedMessage(LeadlineError):
    """A message from the other end of a sync that cannot be read; nothing of it was used."""


class NoClub(LeadlineError):
    """The club cannot be reached or talked to; the logbook is as it was, and what waits still waits."""


class LogbookError(LeadlineError):
    """The logbook file cannot be opened, read or written."""


class Cancelled(LeadlineError):
    """The diver stopped the work; what was finished stays."""


def refuse_outside(
    words: str, value: float | None, unit: str, least: float, most: float, *, least_can_be: bool = True
) -> None:
    """Raise RefusedRecord where a value is known and is not a number within its bounds.

    words, unit    what it is, as in "A start pressure", and its unit; both marked for the catalogue
    least, most    bounds in the same unit; `least` itself is refused unless `least_can_be`
    """
    if value is None or least < value <= most or (least_can_be and value == least):
        return
    with_unit, to_check = (f" {_(unit)}", _("the number and its unit")) if unit else ("", _("the number"))
    raise RefusedRecord(
        _(
            "{words} of {value}{with_unit} is not between {least} and {most}{with_unit}; check {to_check}."
        ).format(
            words=_(words),
            value=f"{value:,.9g}",
            with_unit=with_unit,
            least=f"{least:,.9g}",
            most=f"{most:,.9g}",
            to_check=to_check,
        )
    )

"""Odd data is a value, trouble is an error.

A reader that meets something odd returns a `Problem` beside the dives it could read. An
exception is for what stops the work: no disk, a logbook from a newer program, a refused record.

    LeadlineError
    ├── RefusedFile      the file is not a recording this program can read
    ├── RefusedRecord    a record that contradicts itself
    ├── UnknownDive      no dive with this id
    ├── LogbookError     the logbook file cannot be opened, read or written
    └── Cancelled        the diver stopped it; what was finished stays
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """Something odd in what was read, in one sentence for the diver.

    file    name of the file, empty for a hand entry
    where   line, row, element or dive that it was found at
    what    what is wrong and what was done with the value
    """

    file: str
    where: str
    what: str

    def sentence(self) -> str:
        """Return the problem as one line: file, place, what."""
        place = ", ".join(part for part in (self.file, self.where) if part)
        return f"{place}: {self.what}" if place else self.what


class LeadlineError(Exception):
    """Any trouble that Leadline reports in a sentence: what happened and what to do."""


class RefusedFile(LeadlineError):
    """A file that cannot be read as a recording; nothing of it was kept."""


class RefusedRecord(LeadlineError):
    """A record that contradicts itself, such as a dive that lasts no time."""


class UnknownDive(LeadlineError):
    """No dive with this id in the logbook."""


class LogbookError(LeadlineError):
    """The logbook file cannot be opened, read or written."""


class Cancelled(LeadlineError):
    """The diver stopped the work; what was finished stays."""

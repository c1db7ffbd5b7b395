"""What a diver holds beside the dives: certificates, examinations and their days, a date of birth.

All of it is the diver's own. It stays in the logbook file, goes with no dive, and no sync sends it.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any, Final

from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _

LONGEST_TEXT: Final = 120  # letters
_FIRST_DAY, _LAST_DAY = date(1900, 1, 1), date(2200, 12, 31)


class Examination(StrEnum):
    """What is examined or refreshed now and then, and lapses."""

    MEDICAL = "medical"
    FIRST_AID = "first aid"
    RESUSCITATION = "resuscitation"
    OXYGEN = "oxygen"
    KIT = "kit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """A certificate that a diver holds.

    grade       id of the set of requirements that it stands for, or any word of the diver's own
    issued_on   None where nobody remembers
    name        as it stands on the card; empty for what the set is called
    number, issued_by   as they stand there

    Raises RefusedRecord where it says nothing.
    """

    id: str = field(default_factory=lambda: uuid.uuid4().hex)
    grade: str
    issued_on: date | None = None
    name: str = ""
    number: str = ""
    issued_by: str = ""

    def __post_init__(self) -> None:
        if not self.grade.strip():
            raise RefusedRecord(_("A certificate needs a name; write down what it says."))
        for text in (self.grade, self.name, self.number, self.issued_by):
            _refuse_long(text)
        _refuse_day(self.issued_on)


@dataclass(frozen=True, slots=True)
class Confirmation:
    """A requirement that somebody confirmed: an instructor, an officer, a board.

    rules, requirement   ids of the set and of the requirement in it
    """

    rules: str
    requirement: str
    by: str
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class DiverFacts:
    """What is known of a diver beside the dives.

    examined    the last day of each examination; what is missing is not known here
    confirmed   what somebody confirmed
    """

    born_on: date | None = None
    certificates: tuple[Certificate, ...] = ()
    examined: Mapping[Examination, date] = field(default_factory=dict)
    confirmed: tuple[Confirmation, ...] = ()

    def __post_init__(self) -> None:
        for day in (self.born_on, *self.examined.values()):
            _refuse_day(day)

    def holds(self, grade: str) -> Certificate | None:
        """Return the earliest certificate of a grade, None where none is written down."""
        held = [each for each in self.certificates if each.grade.casefold() == grade.casefold()]
        return min(held, key=lambda each: each.issued_on or _LAST_DAY, default=None)


def facts_to_plain(facts: DiverFacts) -> dict[str, Any]:
    """Return the facts as JSON holds them."""
    return {
        "born_on": _day_to_text(facts.born_on),
        "certificates": [
            {
                "id": each.id,
                "grade": each.grade,
                "issued_on": _day_to_text(each.issued_on),
                "name": each.name,
                "number": each.number,
                "issued_by": each.issued_by,
            }
            for each in facts.certificates
        ],
        "examined": {each.value: on.isoformat() for each, on in facts.examined.items()},
        "confirmed": [
            {"rules": each.rules, "requirement": each.requirement, "by": each.by, "on": each.on.isoformat()}
            for each in facts.confirmed
        ],
    }


def facts_from_plain(told: Mapping[str, Any]) -> DiverFacts:
    """Return the facts that `facts_to_plain` wrote.

    Raises RefusedRecord where they cannot be read.
    """
    try:
        return DiverFacts(
            born_on=_day_from_text(told.get("born_on")),
            certificates=tuple(
                Certificate(**{**each, "issued_on": _day_from_text(each.get("issued_on"))})
                for each in told.get("certificates", ())
            ),
            examined={
                Examination(name): date.fromisoformat(on) for name, on in told.get("examined", {}).items()
            },
            confirmed=tuple(
                Confirmation(**{**each, "on": date.fromisoformat(each["on"])})
                for each in told.get("confirmed", ())
            ),
        )
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise RefusedRecord(_("The diver's certificates cannot be read: {why}").format(why=error)) from error


def _day_to_text(on: date | None) -> str | None:
    return None if on is None else on.isoformat()


def _day_from_text(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _refuse_day(on: date | None) -> None:
    if on is not None and not _FIRST_DAY <= on <= _LAST_DAY:
        raise RefusedRecord(_("A day in the year {year} cannot be; check the date.").format(year=on.year))


def _refuse_long(text: str) -> None:
    if len(text) > LONGEST_TEXT:
        raise RefusedRecord(_("A certificate has up to {most} letters a line.").format(most=LONGEST_TEXT))

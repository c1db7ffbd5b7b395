"""A diver's kit: each piece, what was done for it and when, and what is put on together.

A dive names the pieces that it used by id and by what they were called then, so that it still says
so where a piece is gone, or was never known on this device.

Intervals are the diver's own. `usual_care` offers what is common practice, no source: what the maker
and the local rules say comes first, above all for cylinders.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from logbook_app.dive.problems import RefusedRecord, refuse_outside
from logbook_app.language import _, later

MOST_MONTHS, MOST_DIVES, MOST_HOURS = 600, 100_000, 100_000.0
_ANY_PRICE = 1e9


class Check(StrEnum):
    """What is done for a piece of kit now and then."""

    SERVICE = "service"
    VISUAL = "visual"  # of a cylinder, inside and outside
    HYDROSTATIC = "hydrostatic"  # of a cylinder, under pressure


class Kind(StrEnum):
    """What a piece is; a diver may call it anything else."""

    REGULATOR = "regulator"
    CYLINDER = "cylinder"
    JACKET = "jacket"
    SUIT = "suit"
    RECORDER = "recorder"
    TORCH = "torch"
    MASK = "mask"
    FINS = "fins"
    CAMERA = "camera"
    REBREATHER = "rebreather"


@dataclass(frozen=True, slots=True)
class UsedKit:
    """A piece as a dive knew it."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class CareInterval:
    """How often something is due: after months, dives or hours, whichever comes first.

    Raises RefusedRecord where an interval is nothing or cannot be.
    """

    check: Check
    months: int | None = None
    dives: int | None = None
    hours: float | None = None

    def __post_init__(self) -> None:
        if self.months is None and self.dives is None and self.hours is None:
            raise RefusedRecord(_("An interval needs months, dives or hours; give one of them."))
        refuse_outside(later("An interval"), self.months, later("months"), 1, MOST_MONTHS)
        refuse_outside(later("An interval"), self.dives, later("dives"), 1, MOST_DIVES)
        refuse_outside(later("An interval"), self.hours, later("hours"), 0, MOST_HOURS, least_can_be=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class KitItem:
    """One piece of kit.

    kind           a `Kind` or any other word
    price          in the currency beside it, as the diver writes it
    retired        it is dived no more, and nothing of it is due
    dives_before, hours_before   what it had done before this logbook
    intervals      how often something is due, each check once

    Raises RefusedRecord for a piece without a name, or with a value that cannot be.
    """

    id: str = field(default_factory=lambda: uuid.uuid4().hex)
    name: str
    kind: str = ""
    maker: str = ""
    model: str = ""
    serial: str = ""
    bought_on: date | None = None
    price: float | None = None
    currency: str = ""
    notes: str = ""
    retired: bool = False
    dives_before: int = 0
    hours_before: float = 0.0
    intervals: tuple[CareInterval, ...] = ()

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise RefusedRecord(_("A piece of kit needs a name; write one."))
        refuse_outside(later("A price"), self.price, "", 0, _ANY_PRICE)
        refuse_outside(later("A count of dives"), self.dives_before, "", 0, MOST_DIVES)
        refuse_outside(later("A time"), self.hours_before, "h", 0, MOST_HOURS)
        if len({interval.check for interval in self.intervals}) < len(self.intervals):
            raise RefusedRecord(_("One check has two intervals; keep one of them."))

    @property
    def used(self) -> UsedKit:
        """What a dive writes down of it."""
        return UsedKit(self.id, self.name)

    def interval(self, check: Check) -> CareInterval | None:
        """Return how often a check is due, None where it is not."""
        return next((interval for interval in self.intervals if interval.check is check), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class CareRecord:
    """Something that was done for a piece of kit. It is never changed, only taken back.

    done_on         the day
    taken_back_at   when it was taken back, None where it stands [UTC]
    """

    id: str = field(default_factory=lambda: uuid.uuid4().hex)
    item_id: str
    check: Check
    done_on: date
    note: str = ""
    taken_back_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KitSet:
    """Pieces that are put on together. Raises RefusedRecord for one without a name."""

    id: str = field(default_factory=lambda: uuid.uuid4().hex)
    name: str
    item_ids: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise RefusedRecord(_("A set needs a name; write one."))


_USUAL = {
    Kind.REGULATOR: (CareInterval(Check.SERVICE, months=12, dives=100),),
    Kind.JACKET: (CareInterval(Check.SERVICE, months=12),),
    Kind.REBREATHER: (CareInterval(Check.SERVICE, months=12),),
    Kind.CYLINDER: (CareInterval(Check.VISUAL, months=12), CareInterval(Check.HYDROSTATIC, months=60)),
}


def usual_care(kind: str) -> tuple[CareInterval, ...]:
    """Return the intervals offered for a new piece of this kind; common practice, no source.

    >>> [interval.months for interval in usual_care("cylinder")]
    [12, 60]
    """
    return next((care for known, care in _USUAL.items() if known == kind), ())

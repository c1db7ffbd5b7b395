"""Requirements of experience as data: what a certificate, a level or a club asks of a diver's log.

A set is what one certificate or one state asks for; its requirements stand side by side. Each kind of
requirement is one class below. `experience_reader` makes them of a file, `experience` answers them.

Depths are compared in the unit that the rule is printed in, ends included: feet rounded to the whole foot
and metres to the tenth, as gauges show them. So 18.3 m are 60 ft, and 29.9 m are not 30.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from logbook_app.dive.credentials import Examination
from logbook_app.dive.record import Environment, Role
from logbook_app.language import spoken

SaidIn = Mapping[str, str]
"""One text in several languages; a text in no particular one stands under an empty name."""

OWN_LANGUAGE: Final = ""


class Reading(StrEnum):
    """How a figure came into the file."""

    TEXT = "text"  # read in the standard's own text
    QUOTED = "quoted"  # read where somebody else quotes or follows it
    MEMORY = "memory"  # recalled, not confirmed
    OWN = "own"  # a club's own rule


class DepthUnit(StrEnum):
    """Unit that a rule is printed in."""

    METRES = "m"
    FEET = "ft"


@dataclass(frozen=True, slots=True)
class Span:
    """A length of time by the calendar; months and days are added."""

    months: int = 0
    days: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Counting:
    """Which dives count; what is None or empty is not asked.

    from_depth, to_depth     of the greatest depth, both included, in `depth_unit`
    near_certified           the greatest depth is at least this share of what the diver is certified to
    near_certified_at_most   never more than this is asked by it, in `depth_unit`
    least_min                of each dive [min]
    roles, not_roles         one of these; none of these
    environments             one of these
    open_water               not in confined water
    visibility_below_m, water_below_c, altitude_from_m   as written down or recorded
    any_of                   one of these holds as well
    after                    made on a later day than the certificate of this grade was issued
    within                   not longer ago than this
    """

    depth_unit: DepthUnit = DepthUnit.METRES
    from_depth: float | None = None
    to_depth: float | None = None
    near_certified: float | None = None
    near_certified_at_most: float | None = None
    least_min: float | None = None
    supervised: bool = False
    roles: tuple[Role, ...] = ()
    not_roles: tuple[Role, ...] = ()
    environments: tuple[Environment, ...] = ()
    open_water: bool = False
    visibility_below_m: float | None = None
    water_below_c: float | None = None
    altitude_from_m: float | None = None
    any_of: tuple[Counting, ...] = ()
    after: str = ""
    within: Span | None = None


ANY_DIVE: Final = Counting()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stated:
    """What every requirement states.

    id        within its set
    reading   how its figures came here, with where, in `source`; empty for that of the set
    """

    id: str
    name: SaidIn
    reading: Reading = Reading.OWN
    source: str = ""
    note: SaidIn = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class DivesAsked(_Stated):
    """So many dives, or so many hours, that count.

    dives, hours   at least; 0 is not asked
    of_these       among the dives that count
    together       so many within some span as short as this, whenever that was
    spread         from the first to the last at least so long
    once           requirements of a set with the same word here share no dive
    """

    dives: int = 0
    hours: float = 0.0
    counting: Counting = ANY_DIVE
    of_these: tuple[DivesAsked, ...] = ()
    together: Span | None = None
    spread: Span | None = None
    once: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NoLongBreak(_Stated):
    """No longer without a dive that counts than this.

    over   breaks so far back count as well; None asks for the last dive alone
    """

    gap: Span
    counting: Counting = ANY_DIVE
    over: Span | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificateAsked(_Stated):
    """One certificate of these grades."""

    grades: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Lasts:
    """How long an examination lasts from an age on."""

    from_age: int
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class ExaminationAsked(_Stated):
    """An examination that has not lapsed; the diver's age on the day decides how long it lasts."""

    examination: Examination
    lasts: tuple[Lasts, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AgeAsked(_Stated):
    """At least so old."""

    years: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ToBeConfirmed(_Stated):
    """What no logbook can judge: a skill, a course, an approval."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SomeOf(_Stated):
    """So many of several."""

    need: int
    of: tuple[Requirement, ...]


Requirement = (
    DivesAsked | NoLongBreak | CertificateAsked | ExaminationAsked | AgeAsked | ToBeConfirmed | SomeOf
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RequirementSet:
    """What one certificate, level or state asks for.

    id             what a certificate of this grade is named by
    program        whose rules they are
    source, edition, reading   of all figures that name no other
    certified_to   depth that a diver with the certificate of each grade is certified to, in `depth_unit`
    """

    id: str
    name: SaidIn
    program: SaidIn
    source: str
    edition: str
    reading: Reading
    requirements: tuple[Requirement, ...]
    note: SaidIn = field(default_factory=dict)
    depth_unit: DepthUnit = DepthUnit.METRES
    certified_to: Mapping[str, float] = field(default_factory=dict)


def said(text: SaidIn) -> str:
    """Return a text in the language that is spoken, else in English, else as it is."""
    for language in (spoken(), OWN_LANGUAGE, "en"):
        if language in text:
            return text[language]
    return next(iter(text.values()), "")

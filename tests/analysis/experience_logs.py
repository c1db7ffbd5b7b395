"""Invented logs for the rules of experience: dives of one diver, a day apart unless said otherwise."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from logbook_app.analysis.experience import SetAnswer, progress_toward
from logbook_app.analysis.experience_columns import experience_columns
from logbook_app.analysis.experience_rules import RequirementSet
from logbook_app.dive.credentials import Certificate, DiverFacts
from logbook_app.dive.record import Dive
from logbook_app.physics.units import metres_from_feet
from logbook_app.shipped_requirements import shipped_requirements

ON_DAY = date(2024, 7, 1)
NOBODY = DiverFacts()


def rules(name: str) -> RequirementSet:
    """Return one of the sets that ship."""
    return next(each for each in shipped_requirements() if each.id == name)


def dived(
    count: int, depth_m: float = 12.0, minutes: float = 40.0, first: date = date(2024, 1, 2), **known: Any
) -> list[Dive]:
    """Return dives on following days at nine o'clock."""
    nine = datetime(first.year, first.month, first.day, 9, tzinfo=UTC)
    return [
        Dive(began_at=nine + timedelta(days=place), duration_min=minutes, max_depth_m=depth_m, **known)
        for place in range(count)
    ]


def feet(count: int, depth_ft: float, minutes: float = 30.0, **known: Any) -> list[Dive]:
    """Return dives to a depth in feet, supervised unless said otherwise."""
    return dived(count, float(metres_from_feet(depth_ft)), minutes, **{"supervised_by": "Mara", **known})


def holding(*grades: str, on: date = date(2023, 1, 1), **known: Any) -> DiverFacts:
    """Return a diver with certificates."""
    return DiverFacts(certificates=tuple(Certificate(grade=each, issued_on=on) for each in grades), **known)


def toward(name: str, dives: list[Dive], facts: DiverFacts = NOBODY, on_day: date = ON_DAY) -> SetAnswer:
    """Return the progress toward one of the sets that ship."""
    return progress_toward(experience_columns(dives), facts, rules(name), on_day)

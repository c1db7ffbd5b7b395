"""The pre-dive card: what a diver and a buddy checked before a dive, and what is to be done if it goes wrong.

It is written before the dive and kept with the dive that follows: the next of the owner's that begins
within a day. It reminds and records; it decides nothing, and a full card makes no dive safe.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, timezone
from enum import StrEnum
from typing import Any, Final

from logbook_app.dive.planned_line import PlannedLine, planned_line_from_plain, planned_line_to_plain
from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _
from logbook_app.physics.breathing_gas import BreathingGas

HOLDS_FOR: Final = timedelta(hours=24)
# A recorder's clock is set by hand and may be some minutes behind. Common practice, no source.
CLOCKS_DIFFER: Final = timedelta(minutes=15)


class KitCheck(StrEnum):
    """One thing that is checked on each other's kit before the water. Common practice, no source."""

    VALVE = "valve"
    BREATHED = "breathed"
    PRESSURE = "pressure"
    BUOYANCY = "buoyancy"
    WEIGHTS = "weights"
    BUCKLES = "buckles"


class Fitness(StrEnum):
    """What the diver says of being fit to dive."""

    UNSAID = ""
    FIT = "fit"
    NOT_FIT = "not fit"


@dataclass(frozen=True, slots=True)
class GasAnalysis:
    """What an analyser showed for one cylinder, who read it, and when [UTC]."""

    gas: BreathingGas
    by: str
    at: datetime

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", _as_utc(self.at))


@dataclass(frozen=True, slots=True, kw_only=True)
class PreDiveCard:
    """One card. A change makes a new one with the same id.

    begun_at         when the diver began to write it, UTC
    utc_offset_min   what the clock on the dock showed ahead of UTC [min]
    site             name of the place
    kit_checked      what was checked: names of `KitCheck`, and any other that a later program may know
    checked_with     the buddies that checked it
    contacts, nearest_oxygen, plan   for an emergency, in the diver's words
    planned_line     depth over time as it was planned, None where no plan was kept
    """

    id: str = field(default_factory=lambda: uuid.uuid4().hex)
    begun_at: datetime
    utc_offset_min: int = 0
    site: str = ""
    kit_checked: tuple[str, ...] = ()
    analyses: tuple[GasAnalysis, ...] = ()
    fitness: Fitness = Fitness.UNSAID
    checked_with: tuple[str, ...] = ()
    contacts: str = ""
    nearest_oxygen: str = ""
    plan: str = ""
    planned_line: PlannedLine | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "begun_at", _as_utc(self.begun_at))
        if not -24 * 60 < self.utc_offset_min < 24 * 60:
            raise RefusedRecord(
                _("An offset of {utc_offset_min} min from UTC cannot be.").format(
                    utc_offset_min=self.utc_offset_min
                )
            )

    @property
    def begun_local(self) -> datetime:
        """When it was begun, as the clock on the dock showed it."""
        return self.begun_at.astimezone(timezone(timedelta(minutes=self.utc_offset_min)))

    @property
    def holds_until(self) -> datetime:
        """A dive that begins later is not the one it was written for."""
        return self.begun_at + HOLDS_FOR

    @property
    def says_nothing(self) -> bool:
        """True where nothing is written on it yet."""
        blank = PreDiveCard(id=self.id, begun_at=self.begun_at, utc_offset_min=self.utc_offset_min)
        return self == blank

    def belongs_to(self, dive_began_at: datetime) -> bool:
        """True of a dive that begins within a day after the card was begun."""
        return self.begun_at - CLOCKS_DIFFER <= dive_began_at <= self.holds_until


def card_to_plain(card: PreDiveCard) -> dict[str, Any]:
    """Return a card as plain values, for JSON; shares of a gas are fractions, instants ISO 8601."""
    return {
        "id": card.id,
        "begun_at": card.begun_at.isoformat(),
        "utc_offset_min": card.utc_offset_min,
        "site": card.site,
        "kit_checked": list(card.kit_checked),
        "analyses": [
            {
                "oxygen_fraction": each.gas.oxygen,
                "helium_fraction": each.gas.helium,
                "by": each.by,
                "at": each.at.isoformat(),
            }
            for each in card.analyses
        ],
        "fitness": card.fitness.value,
        "checked_with": list(card.checked_with),
        "contacts": card.contacts,
        "nearest_oxygen": card.nearest_oxygen,
        "plan": card.plan,
        "planned_line": None if card.planned_line is None else planned_line_to_plain(card.planned_line),
    }


def card_from_plain(told: Mapping[str, Any]) -> PreDiveCard:
    """Return the card that `card_to_plain` wrote. What is missing was not written down.

    Raises RefusedRecord where a value is of the wrong kind or cannot be.
    """
    try:
        line = told.get("planned_line")
        texts = {name: _text(told.get(name, "")) for name in ("site", "contacts", "nearest_oxygen", "plan")}
        return PreDiveCard(
            id=_text(told["id"]),
            begun_at=datetime.fromisoformat(told["begun_at"]),
            utc_offset_min=int(told.get("utc_offset_min", 0)),
            kit_checked=tuple(map(_text, told.get("kit_checked", ()))),
            analyses=tuple(map(_analysis, told.get("analyses", ()))),
            fitness=Fitness(told.get("fitness", "")),
            checked_with=tuple(map(_text, told.get("checked_with", ()))),
            planned_line=None if line is None else planned_line_from_plain(line),
            **texts,
        )
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError) as error:
        what = (
            _("{name!r} is missing").format(name=error.args[0]) if isinstance(error, KeyError) else str(error)
        )
        raise RefusedRecord(_("its pre-dive card cannot be read: {what}").format(what=what)) from error


def _analysis(told: Mapping[str, Any]) -> GasAnalysis:
    gas = BreathingGas(float(told["oxygen_fraction"]), float(told.get("helium_fraction", 0.0)))
    return GasAnalysis(gas, _text(told.get("by", "")), datetime.fromisoformat(told["at"]))


def _as_utc(instant: datetime) -> datetime:
    if instant.tzinfo is None:
        raise RefusedRecord(_("An instant on a pre-dive card needs its offset from UTC."))
    try:
        return instant.astimezone(UTC)
    except OverflowError as error:
        raise RefusedRecord(
            _("A pre-dive card of the year {year} cannot be.").format(year=instant.year)
        ) from error


def _text(told: Any) -> str:
    if not isinstance(told, str):
        raise TypeError(f"{told!r} is no text")
    return told

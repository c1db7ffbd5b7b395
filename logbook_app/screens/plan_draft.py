"""What is entered for a plan: its legs, its cylinders, how much the diver breathes.

It outlives the room and the program: `to_text` and `from_text` carry it through the logbook's settings.
Units are the record's. No Kivy and no clock here.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, replace
from typing import Any

from logbook_app.analysis.dive_plan import MOST_LEGS, Leg, PlanConditions
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Dive
from logbook_app.physics.breathing_gas import AIR, BreathingGas

MOST_CYLINDERS = 6
FIRST_LEG = Leg(18.0, 30.0)
_SHALLOWER_M, _FIRST_MINUTES = 6.0, 10.0


@dataclass(frozen=True, slots=True)
class PlanDraft:
    """A plan as it is entered.

    cylinders             None until the diver changes them: those of the last dive are taken
    minute_volume_l_min   None is what the last dives show [L/min]
    """

    legs: tuple[Leg, ...] = (FIRST_LEG,)
    cylinders: tuple[Cylinder, ...] | None = None
    minute_volume_l_min: float | None = None

    def with_leg(self, place: int, **changed: Any) -> PlanDraft:
        """Return the plan with one leg changed."""
        legs = list(self.legs)
        legs[place] = replace(legs[place], **changed)
        return replace(self, legs=tuple(legs))

    def with_another_leg(self) -> PlanDraft:
        """Return the plan with one more leg, shallower than the last and on its gas."""
        if len(self.legs) >= MOST_LEGS:
            return self
        last = self.legs[-1]
        depth_m = max(last.depth_m - _SHALLOWER_M, min(last.depth_m, _SHALLOWER_M))
        return replace(self, legs=(*self.legs, Leg(depth_m, _FIRST_MINUTES, last.cylinder)))

    def without_leg(self, place: int) -> PlanDraft:
        """Return the plan without one of its legs; the last one stays."""
        legs = self.legs[:place] + self.legs[place + 1 :]
        return replace(self, legs=legs or self.legs)

    def without_cylinder(self, place: int, held: tuple[Cylinder, ...]) -> PlanDraft:
        """Return the plan without one of the cylinders `held`; its legs go to the first one."""
        if len(held) < 2:
            return self
        legs = tuple(
            replace(leg, cylinder=0 if leg.cylinder == place else leg.cylinder - (leg.cylinder > place))
            for leg in self.legs
        )
        return replace(self, legs=legs, cylinders=held[:place] + held[place + 1 :])

    def legs_on(self, held: tuple[Cylinder, ...]) -> tuple[Leg, ...]:
        """Return the legs on the cylinders `held`; one whose cylinder is gone is breathed from the first.

        The last dive's cylinders are another dive's tomorrow.
        """
        return tuple(leg if leg.cylinder < len(held) else replace(leg, cylinder=0) for leg in self.legs)

    def conditions(self, held: tuple[Cylinder, ...], at: Any) -> PlanConditions:
        """Return what the plan is made for besides its legs, on the cylinders `held`."""
        return PlanConditions(at=at, cylinders=held, minute_volume_l_min=self.minute_volume_l_min)

    def to_text(self) -> str:
        """Return the draft as text that `from_text` reads; one that says nothing is empty text."""
        return "" if self == PlanDraft() else json.dumps(asdict(self))

    @classmethod
    def from_text(cls, text: str) -> PlanDraft:
        """Return the draft in `text`; one that cannot be read is an empty one, as with a hand entry."""
        try:
            found = json.loads(text) if text else {}
            legs = tuple(_leg(each) for each in found.get("legs", ())) or (FIRST_LEG,)
            held = found.get("cylinders")
            cylinders = None if held is None else tuple(_cylinder(each) for each in held)
            volume = found.get("minute_volume_l_min")
            return cls(legs[:MOST_LEGS], cylinders, None if volume is None else float(volume))
        except (ValueError, TypeError, AttributeError, KeyError, RefusedRecord):
            return cls()


def cylinders_of(last: Dive | None) -> tuple[Cylinder, ...]:
    """Return the cylinders that a plan begins with: those of the last dive, filled as it began; else air."""
    if last is None or not last.cylinders:
        return (Cylinder(AIR),)
    return tuple(
        Cylinder(each.gas or AIR, each.volume_l, each.start_bar) for each in last.cylinders[:MOST_CYLINDERS]
    )


def _leg(found: dict[str, Any]) -> Leg:
    return Leg(float(found["depth_m"]), float(found["minutes"]), int(found["cylinder"]))


def _cylinder(found: dict[str, Any]) -> Cylinder:
    gas = found["gas"] or {}
    mix = BreathingGas(float(gas.get("oxygen", AIR.oxygen)), float(gas.get("helium", 0.0)))
    volume, pressure = found.get("volume_l"), found.get("start_bar")
    return Cylinder(
        mix,
        None if volume is None else float(volume),
        None if pressure is None else float(pressure),
    )

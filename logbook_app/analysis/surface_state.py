"""The time between dives: what is still dissolved, how long the diver has been up, when to fly.

Everything follows from the last finished dive and the minutes since, in closed form, so a screen
may ask for it as often as it likes. The time to fly is the latest of the published guideline, the
US Navy tables where the dives fit them, and the model; the model alone is never shown as advice,
because it lets a diver fly far too soon.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from logbook_app.analysis.dive_analysis import Rules
from logbook_app.analysis.physics_sentences import said
from logbook_app.analysis.repetitive_dives import EndState, at_surface
from logbook_app.analysis.table_opinion import group_now, wait_before_going_up
from logbook_app.dive.record import on_the_dock
from logbook_app.language import _
from logbook_app.physics.ambient_pressure import surface_pressure_bar
from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.constants import STANDARD_PRESSURE_BAR
from logbook_app.physics.flying_after_diving import (
    CABIN_ALTITUDE_M,
    FlyingRule,
    above_guideline,
    flying_rule,
    guideline_covers,
    model_waits_min,
)
from logbook_app.physics.live_load import LiveLoad
from logbook_app.physics.oxygen_allowance import (
    REPEX_LONGEST_DAYS,
    PulmonaryAllowance,
    pulmonary_allowance,
)
from logbook_app.physics.repetitive_group import OutsideTables
from logbook_app.physics.residual_load import CLEAR_LOAD, load_by_compartment, load_waits_min
from logbook_app.physics.tissue_loading import Tensions, saturated_on_air
from logbook_app.physics.units import FloatArray

# A dive within two days of the one before belongs to "several days of diving": the guideline
# gives no length, and 48 h reaches from the morning of one day to the evening of the next.
SEVERAL_DAYS = timedelta(hours=48)
A_DAY = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class FlyTime:
    """When the diver may go up to one elevation, by every rule, and which of them governs.

    at             the latest of the rules' answers; None where the model never allows it
    governed_by    `guideline`, `table` or `model`, whichever allows it latest
    guideline_at   None under 610 m, of which no guideline speaks; above 2,438 m the consensus ends and the
                   FAA's 24 h after any dive hold
    model_compartment   the compartment that makes the model wait longest, 0 to 15
    table_outside says why the US Navy tables have no answer, empty where they have one.
    """

    elevation_m: float
    at: datetime | None
    guideline_at: datetime | None
    guideline_rule: FlyingRule
    table_at: datetime | None
    model_at: datetime | None
    model_compartment: int
    governed_by: str
    table_outside: str = ""

    @property
    def governing_words(self) -> str:
        """Which rule governs, in words."""
        return {
            "guideline": _("{hours} h after {what} ({source})").format(
                hours=f"{self.guideline_rule.hours:.0f}",
                what=said(self.guideline_rule.value),
                source="FAA" if self.guideline_rule is FlyingRule.ABOVE_8000_FT else _("guideline"),
            ),
            "table": _("the US Navy Revision 7 table (another model)"),
            "model": _("the model at your low gradient factor"),
        }[self.governed_by]


@dataclass(frozen=True, eq=False, kw_only=True)
class SurfaceState:
    """What is true of the diver at one instant at the surface.

    With no dive before it, the compartments are saturated on air, the loads are 0 and the times
    are None. Arrays are (16,), fastest compartment first.

    after               the dive that it follows, and what that left
    load                share of the surfacing limit in each compartment [fraction]
    load_at_surfacing   the same at the end of the last dive
    day_oxygen_fraction share of NOAA's 24-hour limit taken by the dives that ended in the last 24 h, each
                        counted whole [fraction]
    clear_compartment   the one that is clear last, 0 to 15
    otu_today           pulmonary units of the dives of this calendar day, local time
    pulmonary           where the days of diving in a row stand against the published daily allowance
    repetitive_group    by the US Navy tables now; None where the next dive would be no repetitive one,
                        and where they do not hold the last dive, for the reason in table_outside
    """

    at: datetime
    surface_bar: float
    half_time_min: FloatArray
    n2_bar: FloatArray
    he_bar: FloatArray
    load: FloatArray
    load_at_surfacing: FloatArray
    after: EndState | None = None
    dives_today: int = 0
    surface_interval_min: float | None = None
    clear_at: datetime | None = None
    clear_compartment: int = 0
    fly: FlyTime | None = None
    cns_fraction: float = 0.0
    day_oxygen_fraction: float = 0.0
    otu_today: float = 0.0
    pulmonary: PulmonaryAllowance | None = None
    rests_on_estimate: bool = False
    repetitive_group: str | None = None
    table_outside: str = ""

    @property
    def last_dive_id(self) -> str | None:
        """The dive that it follows."""
        return self.after.dive_id if self.after else None

    @property
    def last_ended_at(self) -> datetime | None:
        """When that dive surfaced [UTC]."""
        return self.after.ended_at if self.after else None

    @property
    def leading_compartment(self) -> int:
        """Index of the compartment with the largest load, 0 to 15."""
        return int(self.load.argmax())

    @property
    def load_now(self) -> float:
        """Load of the leading compartment [fraction]."""
        return float(self.load.max())

    def load_at(self, later: datetime) -> float:
        """Return the load of the leading compartment a little later, cheaply enough for every second.

        While helium is carried, whose limits move, it stays as it was worked out. [fraction]
        """
        if self.he_bar.any():
            return self.load_now
        minutes = max(0.0, (later - self.at).total_seconds() / 60)
        return max(LiveLoad(tuple(self.load.tolist())).after(minutes))

    @property
    def clear(self) -> bool:
        """True where every compartment is at or under 5 % of its surfacing limit."""
        return self.clear_at is None or self.clear_at <= self.at


def surface_state(dives: Sequence[EndState], at: datetime, rules: Rules) -> SurfaceState:
    """Return the state of a diver at an instant.

    dives   the diver's finished dives, oldest first; those that end after `at` are left out
    """
    finished = [dive for dive in dives if dive.ended_at <= at]
    if not finished:
        return _never_dived(at)
    last = finished[-1]
    now, interval_min = at_surface(last, at), (at - last.ended_at).total_seconds() / 60
    group = group_now(last.table, interval_min)
    today = [dive for dive in finished if _local_day(dive.ended_at, last) == _local_day(at, last)]
    clear_at, clear_compartment = clear_time(last, rules)
    return SurfaceState(
        at=at,
        after=last,
        dives_today=len(today),
        surface_interval_min=interval_min,
        surface_bar=last.surface_bar,
        half_time_min=ZHL16C.n2_half_time_min,
        n2_bar=now.tensions.n2_bar,
        he_bar=now.tensions.he_bar,
        load=_load(now.tensions, last.surface_bar, rules),
        load_at_surfacing=_load(last.tensions, last.surface_bar, rules),
        clear_at=clear_at,
        clear_compartment=clear_compartment,
        fly=fly_time(finished, rules),
        cns_fraction=now.cns_fraction,
        day_oxygen_fraction=sum(d.day_oxygen_fraction for d in finished if at - d.ended_at < A_DAY),
        otu_today=sum(dive.otu for dive in today),
        pulmonary=_pulmonary(finished, last),
        rests_on_estimate=any(dive.estimate for dive in finished[-4:]),
        repetitive_group=None if isinstance(group, OutsideTables) else group,
        table_outside=group.reason if isinstance(group, OutsideTables) else "",
    )


def clear_time(last: EndState, rules: Rules) -> tuple[datetime, int]:
    """Return when every compartment comes to `CLEAR_LOAD` or under and stays there, and which is the last."""
    waits = load_waits_min(last.tensions, last.surface_bar, rules.factors.high, CLEAR_LOAD)
    return last.state_at + timedelta(minutes=float(waits.max())), int(waits.argmax())


def fly_time(finished: Sequence[EndState], rules: Rules, elevation_m: float = CABIN_ALTITUDE_M) -> FlyTime:
    """Return when the diver may go up to an elevation, by guideline, table and model.

    finished   at least one finished dive, oldest first
    """
    last = finished[-1]
    recommended_at, rule = _guideline(finished, above_guideline(elevation_m))
    spoken_of = guideline_covers(elevation_m) or above_guideline(elevation_m)
    guideline_at = recommended_at if spoken_of else None
    waits = model_waits_min(
        last.tensions, last.surface_bar, surface_pressure_bar(elevation_m), rules.factors.low
    )
    model_at = last.state_at + timedelta(minutes=float(waits.max())) if np.isfinite(waits).all() else None
    wait = wait_before_going_up([(dive.ended_at, dive.table) for dive in finished], elevation_m)
    table_at = None if isinstance(wait, OutsideTables) else last.ended_at + wait
    answers = {"guideline": guideline_at, "table": table_at, "model": model_at}
    by_rule = {name: at for name, at in answers.items() if at is not None}
    governed_by = max(by_rule, key=lambda name: by_rule[name]) if model_at else "model"
    return FlyTime(
        elevation_m=elevation_m,
        at=by_rule[governed_by] if model_at else None,
        guideline_at=guideline_at,
        guideline_rule=rule,
        table_at=table_at,
        model_at=model_at,
        model_compartment=int(waits.argmax()),
        governed_by=governed_by,
        table_outside=wait.reason if isinstance(wait, OutsideTables) else "",
    )


def _guideline(finished: Sequence[EndState], above: bool) -> tuple[datetime, FlyingRule]:
    """Return the latest instant that any recent dive asks for, and its rule."""
    answers = []
    for index, dive in enumerate(finished):
        follows = index > 0 and dive.began_at - finished[index - 1].ended_at <= SEVERAL_DAYS
        rule = FlyingRule.ABOVE_8000_FT if above else flying_rule(1 + follows, dive.required_stops)
        answers.append((dive.ended_at + timedelta(hours=rule.hours), rule))
    return max(answers, key=lambda answer: answer[0])


def _pulmonary(finished: Sequence[EndState], last: EndState) -> PulmonaryAllowance | None:
    """Return the doses of the days in a row up to the last dive's, against the allowance.

    None past the table's thirty days.
    """
    by_day: dict[date, float] = {}
    for dive in finished:
        day = _local_day(dive.ended_at, last)
        by_day[day] = by_day.get(day, 0.0) + dive.otu
    day, doses = _local_day(last.ended_at, last), []
    while day in by_day:
        doses.append(by_day[day])
        day -= timedelta(days=1)
    return pulmonary_allowance(doses[::-1]) if len(doses) <= REPEX_LONGEST_DAYS else None


def _load(tensions: Tensions, surface_bar: float, rules: Rules) -> FloatArray:
    return load_by_compartment(tensions.n2_bar, tensions.he_bar, surface_bar, rules.factors.high)


def _local_day(instant: datetime, last: EndState) -> date:
    """Return the day that the clock on the dock showed, by the offset of the last dive."""
    return on_the_dock(instant, last.utc_offset_min).date()


def _never_dived(at: datetime) -> SurfaceState:
    resting = saturated_on_air(STANDARD_PRESSURE_BAR)
    return SurfaceState(
        at=at,
        surface_bar=STANDARD_PRESSURE_BAR,
        half_time_min=ZHL16C.n2_half_time_min,
        n2_bar=resting.n2_bar,
        he_bar=resting.he_bar,
        load=np.zeros(16),
        load_at_surfacing=np.zeros(16),
    )

"""What a diver still carries from the dives before.

The chain of one diver's dives runs from the first to the last. Between two dives the diver
breathes air at the surface pressure of the dive before; the next dive's pressure counts from the
instant it begins. After `FORGOTTEN_AFTER` without a dive the chain begins anew: the slowest
compartment has then been through 45 half-times, which leaves less than 1e-13 of anything, and the
diver counts as saturated on air at the surface pressure of the dive that begins the new chain.

A diver who dives lower than before has come down at some time in between, and nobody wrote down when: no
compartment then begins under its equilibrium at the lower place, as if the diver had been there for days.

Where two dives overlap in time, both are counted, the later one as if it had followed at once.
That can only overstate the load; the logbook points the overlap out.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from logbook_app.analysis.breathed_samples import surface_pressure_of
from logbook_app.analysis.dive_analysis import Carried, DiveAnalysis
from logbook_app.analysis.table_opinion import TableCarried, tabled_from_plain
from logbook_app.dive.record import Dive
from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.consecutive_dives import TRACE_BAR
from logbook_app.physics.oxygen_exposure import cns_after_surface
from logbook_app.physics.repetitive_series import TabledDive
from logbook_app.physics.tissue_loading import Tensions, after_constant, saturated_on_air

FORGOTTEN_AFTER = timedelta(days=20)
LOWER_BY_BAR = 0.05  # some 430 m; less can be weather, which moves a surface by as much


@dataclass(frozen=True, slots=True)
class EndState:
    """A finished dive as the time after it needs it.

    began_at, ended_at  the dive, by its bounds [UTC]
    state_at            the instant that `tensions` and `cns_fraction` belong to [UTC]
    utc_offset_min      of the dive's local clock, to tell one day from the next [min]
    surface_bar         where the diver is after it [bar]
    day_oxygen_fraction share of NOAA's 24-hour limit that this dive alone took [fraction]
    otu                 pulmonary units of this dive alone
    required_stops      True where the model asked for a stop
    table               the US Navy tables' view of the dive, another model
    """

    dive_id: str
    began_at: datetime
    ended_at: datetime
    state_at: datetime
    utc_offset_min: int
    surface_bar: float
    tensions: Tensions
    cns_fraction: float
    day_oxygen_fraction: float
    otu: float
    required_stops: bool
    estimate: bool
    table: TabledDive


def end_state(dive: Dive, analysis: DiveAnalysis) -> EndState:
    """Return what a dive leaves for the time after it."""
    return EndState(
        dive_id=dive.id,
        began_at=analysis.began_at,
        ended_at=analysis.ended_at,
        state_at=analysis.state_at,
        utc_offset_min=dive.utc_offset_min,
        surface_bar=analysis.surface_bar,
        tensions=analysis.tensions_end,
        cns_fraction=analysis.cns_fraction,
        day_oxygen_fraction=analysis.day_oxygen_fraction,
        otu=analysis.otu,
        required_stops=analysis.required_stops,
        estimate=analysis.estimate,
        table=analysis.table,
    )


def carried_into(dive: Dive, before: EndState | None) -> Carried:
    """Return what the diver brings into a dive, given the dive before it (None for the first)."""
    return carried_to(surface_pressure_of(dive), dive.began_at, before)


def carried_to(surface_bar: float, at: datetime, before: EndState | None) -> Carried:
    """Return what the diver brings into a dive that begins at an instant, at a surface pressure [bar]."""
    rested = Carried(saturated_on_air(surface_bar))
    if before is None or at - before.state_at > FORGOTTEN_AFTER:
        return rested
    carried = at_surface(before, at)
    if not is_lower(surface_bar, before.surface_bar):
        return carried
    return replace(carried, tensions=_at_least(rested.tensions, carried.tensions))


def is_lower(surface_bar: float, before_bar: float) -> bool:
    """Return whether a surface lies lower than the one before, beyond the weather."""
    return surface_bar > before_bar + LOWER_BY_BAR


def at_surface(after: EndState, at: datetime) -> Carried:
    """Return what is left at an instant after a dive, on air at that dive's surface pressure.

    The tables' surface interval runs from surfacing; it is below 0 where the instant lies within the dive.
    """
    minutes = max(0.0, (at - after.state_at).total_seconds() / 60)
    return Carried(
        tensions=_without_traces(after_constant(after.tensions, after.surface_bar, AIR, minutes)),
        cns_fraction=float(cns_after_surface(after.cns_fraction, minutes)),
        table=TableCarried(after.table, (at - after.ended_at).total_seconds() / 60),
    )


def _at_least(floor: Tensions, tensions: Tensions) -> Tensions:
    return Tensions(np.maximum(floor.n2_bar, tensions.n2_bar), tensions.he_bar)


def _without_traces(tensions: Tensions) -> Tensions:
    """Drop helium that no longer counts: with any at all, limits have no closed form."""
    if not tensions.has_helium or tensions.he_bar.max() > TRACE_BAR:
        return tensions
    return Tensions(tensions.n2_bar, np.zeros_like(tensions.he_bar))


def one_chain(dives: list[Dive]) -> list[Dive]:
    """Return the last dives, oldest first, that are linked by intervals under `FORGOTTEN_AFTER`.

    dives   one diver's dives in order of their start
    """
    start = len(dives)
    while start > 0:
        start -= 1
        if start == 0 or dives[start].began_at - dives[start - 1].ended_at > FORGOTTEN_AFTER:
            break
    return dives[start:]


def end_state_to_bytes(state: EndState) -> bytes:
    """Return an end state as it is kept beside the dive; doubles come back to the last bit."""
    kept = asdict(state)
    kept["tensions"] = [state.tensions.n2_bar.tolist(), state.tensions.he_bar.tolist()]
    for name in ("began_at", "ended_at", "state_at"):
        kept[name] = kept[name].isoformat()
    return json.dumps(kept).encode()


def end_state_from_bytes(data: bytes) -> EndState:
    """Return the end state kept in `data`."""
    kept = json.loads(data)
    n2_bar, he_bar = (np.array(values) for values in kept["tensions"])
    kept["tensions"] = Tensions(n2_bar, he_bar)
    kept["table"] = tabled_from_plain(kept["table"])
    for name in ("began_at", "ended_at", "state_at"):
        kept[name] = datetime.fromisoformat(kept[name])
    return EndState(**kept)

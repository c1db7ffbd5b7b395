"""One compartment at a time: what is dissolved in it, what it may surface with, when it is clear.

The page between dives shows all sixteen as bars; who touches one wants its figures.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook_app.analysis.dive_analysis import Rules
from logbook_app.analysis.surface_state import SurfaceState
from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.gradient_factors import surfacing_limit_bar
from logbook_app.physics.residual_load import load_waits_min


@dataclass(frozen=True, slots=True)
class CompartmentState:
    """One compartment at the instant of a `SurfaceState`.

    n2_half_time_min, he_half_time_min   of nitrogen and of helium [min]
    n2_bar, he_bar                       tension of each gas [bar]
    limit_bar                            both together may be so much at the surface, at the high factor [bar]
    load, load_at_surfacing              share of that limit, now and at the end of the last dive [fraction]
    clear_at                             when it is at or under the clear load for good; None before any dive
    """

    n2_half_time_min: float
    he_half_time_min: float
    n2_bar: float
    he_bar: float
    limit_bar: float
    load: float
    load_at_surfacing: float
    clear_at: datetime | None


def compartment_states(state: SurfaceState, rules: Rules) -> tuple[CompartmentState, ...]:
    """Return the sixteen compartments of a state, fastest first."""
    limits_bar = surfacing_limit_bar(state.n2_bar, state.he_bar, state.surface_bar, rules.factors.high)
    return tuple(
        CompartmentState(
            n2_half_time_min=float(ZHL16C.n2_half_time_min[at]),
            he_half_time_min=float(ZHL16C.he_half_time_min[at]),
            n2_bar=float(state.n2_bar[at]),
            he_bar=float(state.he_bar[at]),
            limit_bar=float(limits_bar[at]),
            load=float(state.load[at]),
            load_at_surfacing=float(state.load_at_surfacing[at]),
            clear_at=clear_at,
        )
        for at, clear_at in enumerate(_clear_times(state, rules))
    )


def _clear_times(state: SurfaceState, rules: Rules) -> list[datetime | None]:
    last = state.after
    if last is None:
        return [None] * len(state.load)
    waits = load_waits_min(last.tensions, last.surface_bar, rules.factors.high)
    return [last.state_at + timedelta(minutes=wait) for wait in waits.tolist()]

"""What the next dive allows: no-stop time by depth for the gas and the instant the diver names.

The diver is taken to go down at once and to be brought straight to the surface, as the model's
no-stop time is defined. Limits are the model's alone; a plan needs training, a reserve and the
local rules besides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from logbook_app.analysis.dive_analysis import Carried, Rules
from logbook_app.physics.ambient_pressure import ambient_bar
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.equivalent_depths import maximum_operating_depth_m
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.physics.no_stop_limit import no_stop_at_depths
from logbook_app.physics.oxygen_exposure import ppo2_bar
from logbook_app.physics.units import metres_from_feet

USUAL_DEPTHS_M = (12.0, 15.0, 18.0, 21.0, 24.0, 27.0, 30.0, 33.0, 36.0, 39.0, 42.0)
USUAL_DEPTHS_FT_M = tuple(metres_from_feet(float(feet)) for feet in range(40, 140, 10))
LEAST_OXYGEN_BAR = 0.18  # common practice, no source


@dataclass(frozen=True, slots=True)
class NextDiveRow:
    """One depth: how long without a stop, and the oxygen pressure there.

    no_stop_min   None where there is no limit within 24 h [min]
    beyond_gas    True where the oxygen pressure is over the diver's limit
    too_lean      True where it is too low to breathe
    """

    depth_m: float
    no_stop_min: float | None
    ppo2_bar: float
    beyond_gas: bool
    too_lean: bool


@dataclass(frozen=True, slots=True)
class NextDive:
    """The next dive's limits at one instant on one gas.

    mod_m         greatest depth of the gas at the diver's oxygen limit [m]
    surface_bar   pressure at the surface that the dive is taken to begin at [bar]
    """

    at: datetime
    gas: BreathingGas
    mod_m: float
    surface_bar: float
    factors: GradientFactors
    rows: tuple[NextDiveRow, ...]


def next_dive(
    at: datetime,
    carried: Carried,
    surface_bar: float,
    gas: BreathingGas,
    rules: Rules,
    depths_m: Sequence[float] = USUAL_DEPTHS_M,
) -> NextDive:
    """Return the limits by depth for a diver who carries `carried` at `at`."""
    limits_min = no_stop_at_depths(
        carried.tensions, np.asarray(depths_m), gas, surface_bar, gf_high=rules.factors.high
    )
    rows = [
        _row(depth_m, float(limit), surface_bar, gas, rules)
        for depth_m, limit in zip(depths_m, limits_min, strict=True)
    ]
    mod_m = float(maximum_operating_depth_m(gas, rules.ppo2_limit_bar, surface_bar))
    return NextDive(at, gas, mod_m, surface_bar, rules.factors, tuple(rows))


def _row(
    depth_m: float, limit_min: float, surface_bar: float, gas: BreathingGas, rules: Rules
) -> NextDiveRow:
    oxygen_bar = float(ppo2_bar(ambient_bar(depth_m, surface_bar), gas.oxygen))
    return NextDiveRow(
        depth_m=depth_m,
        no_stop_min=None if np.isnan(limit_min) else limit_min,
        ppo2_bar=oxygen_bar,
        beyond_gas=oxygen_bar > rules.ppo2_limit_bar + 1e-9,
        too_lean=oxygen_bar < LEAST_OXYGEN_BAR,
    )

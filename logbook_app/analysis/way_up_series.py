"""The way up at every moment of a dive: which stops the model asked for, how long to the surface.

It is a simulation, not a closed form, so it is worked out for a dive that is looked at, at samples
some 20 s apart. The gas is the one in use, or a richer one of those carried from the depth on where its
oxygen pressure is within 1.6 bar (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook_app.analysis.breathed_samples import (
    breathed_samples,
    fractions_breathed,
    surface_pressure_of,
)
from logbook_app.analysis.dive_analysis import DiveAnalysis, Rules
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.physics.ascent_steps import Ascent, CarriedGas
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.ceiling import anchor_m, signed_ceiling_m
from logbook_app.physics.decompression_stops import (
    SuggestedStop,
    WayUp,
    suggested_safety_stop,
    time_to_surface_min,
    watched_samples,
    way_up,
)
from logbook_app.physics.equivalent_depths import HIGHEST_PPO2_LIMIT_BAR, maximum_operating_depth_m
from logbook_app.physics.tissue_loading import Tensions
from logbook_app.physics.units import FloatArray


@dataclass(frozen=True, eq=False)
class WayUpSeries:
    """Time to the surface at samples some 20 s apart, each array (m,).

    time_to_surface_min   NaN where it is beyond a day
    longest_at_s          when it was longest, of those within a day [s]
    longest               the way up from there, with its required stops; None where none is within a day
    safety_stop           what common practice would add to it, None where nothing
    """

    time_s: FloatArray
    time_to_surface_min: FloatArray
    longest_at_s: float
    longest: WayUp | None
    safety_stop: SuggestedStop | None


def way_up_series(dive: Dive, profile: Profile | None, analysis: DiveAnalysis, rules: Rules) -> WayUpSeries:
    """Return the way up at every watched moment of an analysed dive."""
    breathed, series = breathed_samples(dive, profile), analysis.series
    density = dive.water.density_kg_m3
    low_m = signed_ceiling_m(series.n2_bar, series.he_bar, breathed.surface_bar, rules.factors.low, density)
    anchors_m = anchor_m(low_m)
    watched = watched_samples(series.time_s)
    depth_m = np.maximum(series.depth_m, 0.0)
    ascent = ascent_of(dive, rules)
    shares = fractions_breathed(breathed)
    minutes = time_to_surface_min(
        series.n2_bar[watched],
        series.he_bar[watched],
        depth_m[watched],
        anchors_m[watched],
        shares[0][watched],
        shares[1][watched],
        ascent,
    )
    longest = int(watched[np.argmax(np.nan_to_num(minutes, nan=-1.0))])
    way = _way_up_from(
        Tensions(series.n2_bar[longest], series.he_bar[longest]),
        float(depth_m[longest]),
        float(anchors_m[longest]),
        _gas_of(*(float(share[longest]) for share in shares)),
        ascent,
    )
    deepest_m = float(depth_m[: longest + 1].max())
    return WayUpSeries(
        time_s=series.time_s[watched],
        time_to_surface_min=minutes,
        longest_at_s=float(series.time_s[longest]),
        longest=way,
        safety_stop=None if way is None else suggested_safety_stop(way, deepest_m),
    )


def ascent_of(dive: Dive, rules: Rules) -> Ascent:
    """Return what a dive's way up is reckoned with: surface, water, the diver's factors, the gases along."""
    surface_bar = surface_pressure_of(dive)
    return Ascent(surface_bar, dive.water.density_kg_m3, rules.factors, _carried(dive, surface_bar))


def _way_up_from(
    tensions: Tensions, depth_m: float, anchor_m: float, gas: BreathingGas, ascent: Ascent
) -> WayUp | None:
    try:
        return way_up(tensions, depth_m, anchor_m, gas, ascent)
    except ValueError:  # a way up of more than a day is no way up to show
        return None


def _gas_of(nitrogen: float, helium: float) -> BreathingGas:
    return BreathingGas(1.0 - nitrogen - helium, helium)


def _carried(dive: Dive, surface_bar: float) -> tuple[CarriedGas, ...]:
    """Return the gases carried, each usable from its greatest depth at 1.6 bar of oxygen up."""
    density = dive.water.density_kg_m3
    gases = dict.fromkeys(cylinder.gas or AIR for cylinder in dive.cylinders)
    return tuple(
        CarriedGas(gas, maximum_operating_depth_m(gas, HIGHEST_PPO2_LIMIT_BAR, surface_bar, density))
        for gas in gases
    )

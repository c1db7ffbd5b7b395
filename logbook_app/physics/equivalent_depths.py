"""How deep a gas may go, which gas suits a depth, and to which depth on air it compares."""

import math
from typing import Final

from logbook_app.physics.ambient_pressure import ambient_bar, depth_m
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.constants import DENSITY_EN13319_KG_M3, STANDARD_PRESSURE_BAR

# NOAA plans no-stop nitrox dives to at most 1.4; 1.6 is its last row. Read on NOAA's printed nitrox tables.
WORKING_PPO2_LIMIT_BAR: Final = 1.4
HIGHEST_PPO2_LIMIT_BAR: Final = 1.6


def maximum_operating_depth_m(
    gas: BreathingGas,
    ppo2_limit_bar: float = WORKING_PPO2_LIMIT_BAR,
    surface_bar: float = STANDARD_PRESSURE_BAR,
    density_kg_m3: float = DENSITY_EN13319_KG_M3,
) -> float:
    """Return the depth at which a gas reaches a limit of oxygen partial pressure. [m]

        depth = (limit / fO2 - p_surface) / bar per metre, not above the surface

    gas             what is breathed
    ppo2_limit_bar  highest partial pressure of oxygen [bar]
    surface_bar     pressure of the air at the surface [bar]
    density_kg_m3   density of the water, or of the depth scale [kg/m3]

    Source: Dalton's law and the hydrostatic law.

    >>> round(maximum_operating_depth_m(BreathingGas(0.32)), 2)
    33.62
    """
    return max(0.0, depth_m(ppo2_limit_bar / gas.oxygen, surface_bar, density_kg_m3))


def best_oxygen_fraction(
    depth_m: float,
    ppo2_limit_bar: float = WORKING_PPO2_LIMIT_BAR,
    surface_bar: float = STANDARD_PRESSURE_BAR,
    density_kg_m3: float = DENSITY_EN13319_KG_M3,
) -> float:
    """Return the richest nitrox for a depth, rounded down to whole percent. [fraction]

        fO2 = limit / p_ambient

    depth_m         deepest point of the dive [m]
    ppo2_limit_bar  highest partial pressure of oxygen [bar]
    surface_bar     pressure of the air at the surface [bar]
    density_kg_m3   density of the water, or of the depth scale [kg/m3]

    Source: Dalton's law; rounding down is common practice, no source.

    >>> best_oxygen_fraction(27.0)
    0.37
    """
    share = ppo2_limit_bar / ambient_bar(depth_m, surface_bar, density_kg_m3)
    # 35 % stays 35 % when its quotient is a hair under it.
    return min(1.0, math.floor(share * 100.0 + 1e-9) / 100.0)


def equivalent_air_depth_m(
    gas: BreathingGas,
    depth_m: float,
    surface_bar: float = STANDARD_PRESSURE_BAR,
    density_kg_m3: float = DENSITY_EN13319_KG_M3,
) -> float:
    """Return the depth at which air has the same partial pressure of nitrogen. [m]

        EAD = (depth + surface) * fN2 / 0.79 - surface, all in metres of water, not above the surface

    gas            what is breathed
    depth_m        depth of the dive [m]
    surface_bar    pressure of the air at the surface [bar]
    density_kg_m3  density of the water, or of the depth scale [kg/m3]

    Enter an air table with the next deeper step. Source: U.S. Navy Diving Manual, chapter 10; recalled from
    memory.

    >>> round(equivalent_air_depth_m(BreathingGas(0.36), 25.0, 1.0), 2)
    18.35
    """
    nitrogen_bar = ambient_bar(depth_m, surface_bar, density_kg_m3) * gas.nitrogen
    return _depth_of_air_m(nitrogen_bar / AIR.nitrogen, surface_bar, density_kg_m3)


def equivalent_narcotic_depth_m(
    gas: BreathingGas,
    depth_m: float,
    surface_bar: float = STANDARD_PRESSURE_BAR,
    density_kg_m3: float = DENSITY_EN13319_KG_M3,
) -> float:
    """Return the depth at which air is as narcotic, oxygen and nitrogen counted alike, helium not at all. [m]

        END = (depth + surface) * (1 - fHe) - surface, all in metres of water, not above the surface

    gas            what is breathed
    depth_m        depth of the dive [m]
    surface_bar    pressure of the air at the surface [bar]
    density_kg_m3  density of the water, or of the depth scale [kg/m3]

    Source: common practice, no source; others leave oxygen out.

    >>> round(equivalent_narcotic_depth_m(BreathingGas(0.18, 0.45), 60.0, 1.0), 1)
    28.5
    """
    narcotic_bar = ambient_bar(depth_m, surface_bar, density_kg_m3) * (1.0 - gas.helium)
    return _depth_of_air_m(narcotic_bar, surface_bar, density_kg_m3)


def _depth_of_air_m(pressure_bar: float, surface_bar: float, density_kg_m3: float) -> float:
    return max(0.0, depth_m(pressure_bar, surface_bar, density_kg_m3))

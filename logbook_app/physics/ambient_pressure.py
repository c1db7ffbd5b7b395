"""From depth and elevation to the pressure around the diver, and back.

Water: pressure grows in proportion to depth, `p = p_surface + depth * density * g`. A depth that a recorder
logged is a pressure in disguise, 10 m for each bar (EN 13319); read with that density it gives the pressure
back exactly, whatever water it was in.

Air: ISO 2533:1975, the standard atmosphere up to 11 km. Its height is geopotential; a map's elevation is
read as such, which at 2200 m is 0.8 m off, 0.07 mbar. Weather moves the pressure by 3 % or more, so a
measured surface pressure is always better.
"""

from typing import Final

from logbook_app.physics.constants import DENSITY_EN13319_KG_M3, GRAVITY_M_S2, STANDARD_PRESSURE_BAR
from logbook_app.physics.units import Numbers

# ISO 2533:1975, clause 2: sea-level temperature, its fall with height, and the gas constant of air.
_SEA_LEVEL_K: Final = 288.15
_LAPSE_K_M: Final = 0.0065
_AIR_GAS_CONSTANT_J_KG_K: Final = 287.05287
_EXPONENT: Final = GRAVITY_M_S2 / (_AIR_GAS_CONSTANT_J_KG_K * _LAPSE_K_M)

LOWEST_ELEVATION_M: Final = -500.0
HIGHEST_ELEVATION_M: Final = 11_000.0


def surface_pressure_bar(elevation_m: float) -> float:
    """Return the standard pressure of the air at an elevation. [bar]

        p = 1.01325 * (1 - 0.0065 * elevation / 288.15) ** 5.25588

    elevation_m  geopotential height above the sea, -500 to 11 000 [m]

    Raises ValueError outside that range. Source: ISO 2533:1975, clause 2, troposphere.

    >>> round(surface_pressure_bar(1000.0), 5)
    0.89875
    """
    if not LOWEST_ELEVATION_M <= elevation_m <= HIGHEST_ELEVATION_M:
        raise ValueError(
            f"An elevation of {elevation_m:g} m is outside {LOWEST_ELEVATION_M:g} to "
            f"{HIGHEST_ELEVATION_M:g} m; check the number and its unit."
        )
    return float(STANDARD_PRESSURE_BAR * (1.0 - _LAPSE_K_M * elevation_m / _SEA_LEVEL_K) ** _EXPONENT)


def elevation_m(pressure_bar: float) -> float:
    """Return the elevation at which the standard atmosphere has a pressure. [m]

    The inverse of `surface_pressure_bar`, over the same range.

    pressure_bar  pressure of the air, 0.2264 to 1.0748 [bar]

    Raises ValueError outside that range. Source: ISO 2533:1975, clause 2, troposphere.

    >>> round(elevation_m(0.8), 1)
    1949.0
    """
    highest, lowest = surface_pressure_bar(LOWEST_ELEVATION_M), surface_pressure_bar(HIGHEST_ELEVATION_M)
    if not lowest <= pressure_bar <= highest:
        raise ValueError(
            f"An air pressure of {pressure_bar:g} bar is outside {lowest:.4f} to {highest:.4f} bar; "
            "check the number and its unit."
        )
    return float(
        _SEA_LEVEL_K / _LAPSE_K_M * (1.0 - (pressure_bar / STANDARD_PRESSURE_BAR) ** (1.0 / _EXPONENT))
    )


def bar_per_metre(density_kg_m3: float = DENSITY_EN13319_KG_M3) -> float:
    """Return the rise in pressure for each metre of water. [bar/m]

    density_kg_m3  density of the water, or of the depth scale [kg/m3]

    Source: hydrostatic pressure, as at the head of this module.

    >>> round(bar_per_metre(), 12), round(bar_per_metre(1025.0), 5)
    (0.1, 0.10052)
    """
    return density_kg_m3 * GRAVITY_M_S2 / 1e5


def ambient_bar(
    depth_m: Numbers, surface_bar: float, density_kg_m3: float = DENSITY_EN13319_KG_M3
) -> Numbers:
    """Return the absolute pressure around the diver. [bar]

        p = p_surface + depth * density * 9.80665 / 1e5

    depth_m        depth below the surface, scalar or array [m]
    surface_bar    pressure of the air at the surface [bar]
    density_kg_m3  density of the water; the default is the depth scale of EN 13319 [kg/m3]

    Source: hydrostatic law with the standard acceleration of free fall; EN 13319:2000 for the default.

    >>> round(ambient_bar(30.0, 1.01325), 5)
    4.01325
    """
    return surface_bar + depth_m * bar_per_metre(density_kg_m3)


def depth_m(
    ambient_bar: Numbers, surface_bar: float, density_kg_m3: float = DENSITY_EN13319_KG_M3
) -> Numbers:
    """Return the depth at which an absolute pressure is found; the inverse of `ambient_bar`. [m]

    ambient_bar    absolute pressure, scalar or array [bar]
    surface_bar    pressure of the air at the surface [bar]
    density_kg_m3  density of the water; the default is the depth scale of EN 13319 [kg/m3]

    Source: hydrostatic pressure, as at the head of this module.

    >>> round(depth_m(4.01325, 1.01325, 1000.0), 2)
    30.59
    """
    return (ambient_bar - surface_bar) / bar_per_metre(density_kg_m3)

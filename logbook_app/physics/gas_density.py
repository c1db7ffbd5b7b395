"""How heavy the breathing gas is at depth, and so how hard to breathe.

    density = (p / R T) * (fO2 * M_O2 + fN2 * M_N2 + fHe * M_He)

Which temperature? Published guidance speaks of grams per litre and gives the depth on air with each figure;
the gas at 0 deg C, as physical tables give it, agrees with those depths and is used here. At body temperature
the same gas is 12 % lighter, so this is the cautious side.

Up to 10 bar and at 0 deg C real nitrox is up to 0.7 % heavier than the ideal law says, oxygen 1 %, and trimix
up to 0.6 % lighter. Argon counts as nitrogen, which makes air 0.4 % too light.

Guidance, recalled from memory: G. Anthony, S. J. Mitchell, Respiratory physiology of rebreather diving, in:
Rebreathers and Scientific Diving, proceedings of the workshop of June 2015, published 2016, pp. 66-79.
Recommended up to 5.2 g/L, about air at 31 m; at most 6.2 g/L, about air at 39 m.
"""

from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.units import ZERO_CELSIUS_K, FloatArray, Numbers

# CODATA 2018, exact since the SI of 2019.
_MOLAR_GAS_CONSTANT_J_MOL_K: Final = 8.314462618
# IUPAC standard atomic weights 2021, abridged: O 15.999, N 14.007, He 4.0026.
_OXYGEN_G_MOL: Final = 31.998
_NITROGEN_G_MOL: Final = 28.014
_HELIUM_G_MOL: Final = 4.0026

RECOMMENDED_DENSITY_G_L: Final = 5.2
HIGHEST_DENSITY_G_L: Final = 6.2


def gas_density_g_l(ambient_bar: Numbers, gas: BreathingGas, temperature_c: float = 0.0) -> Numbers:
    """Return the density of a dry breathing gas. [g/L]

        density = p * M / (R * T)

    ambient_bar    absolute pressure, scalar or array [bar]
    gas            what is breathed
    temperature_c  temperature of the gas; guidance values want 0 [deg C]

    Source: law of ideal gases; constants and its error at the head of this module.

    >>> round(gas_density_g_l(4.1, BreathingGas(0.21)), 2), round(gas_density_g_l(4.9, BreathingGas(0.21)), 2)
    (5.21, 6.22)
    """
    return ambient_bar * _density_at_one_bar_g_l(gas.nitrogen, gas.helium, temperature_c)


def gas_density_along_g_l(
    ambient_bar: npt.ArrayLike,
    n2_fraction: npt.ArrayLike,
    he_fraction: npt.ArrayLike,
    temperature_c: float = 0.0,
) -> FloatArray:
    """Return the density of what is breathed at every sample, also where the gas changes. [g/L]

    ambient_bar    absolute pressure, scalar or shape (n,) [bar]
    n2_fraction    share of nitrogen, scalar or shape (n,) [fraction]
    he_fraction    share of helium, scalar or shape (n,); the rest is oxygen [fraction]
    temperature_c  temperature of the gas; guidance values want 0 [deg C]

    Source: as `gas_density_g_l`.

    >>> gas_density_along_g_l([4.0, 7.0], [0.79, 0.37], [0.0, 0.45]).round(2).tolist()
    [5.08, 5.53]
    """
    n2, he = np.asarray(n2_fraction, dtype=np.float64), np.asarray(he_fraction, dtype=np.float64)
    return np.asarray(ambient_bar) * _density_at_one_bar_g_l(n2, he, temperature_c)


def pressure_at_density_bar(
    gas: BreathingGas, density_g_l: float = RECOMMENDED_DENSITY_G_L, temperature_c: float = 0.0
) -> float:
    """Return the absolute pressure at which a gas reaches a density. [bar]

    gas            what is breathed
    density_g_l    density to reach [g/L]
    temperature_c  temperature of the gas; guidance values want 0 [deg C]

    Source: `gas_density_g_l` turned round; `ambient_pressure.depth_m` makes it a depth.

    >>> round(pressure_at_density_bar(BreathingGas(0.21), HIGHEST_DENSITY_G_L), 2)
    4.88
    """
    return density_g_l / gas_density_g_l(1.0, gas, temperature_c)


def _density_at_one_bar_g_l(n2_fraction: Numbers, he_fraction: Numbers, temperature_c: float) -> Numbers:
    oxygen_fraction = 1.0 - n2_fraction - he_fraction
    molar_g = oxygen_fraction * _OXYGEN_G_MOL + n2_fraction * _NITROGEN_G_MOL + he_fraction * _HELIUM_G_MOL
    # 1 bar is 100 J/L.
    return 100.0 * molar_g / (_MOLAR_GAS_CONSTANT_J_MOL_K * (ZERO_CELSIUS_K + temperature_c))

"""How far a compressed breathing gas departs from the ideal gas law.

The factor Z in `p V = Z n R T` is 1 for an ideal gas. At 200 bar and 20 deg C air has 1.028, pure oxygen
0.939.

The equation of state is GERG-2008, the reference equation for mixtures of natural gases, cut down to its
three components that divers breathe. Each has a residual Helmholtz energy

    a = sum of n * delta^d * tau^t * exp(-delta^c)       (without the exponential where c = 0)

in the reduced density delta and inverse reduced temperature tau of the whole mixture, and

    Z = 1 + sum over components of x * delta * da/d(delta)

is solved for the density at which the pressure is the one asked for. Argon counts as nitrogen, as
everywhere in this program, which costs air up to 0.2 %.

Source: O. Kunz, W. Wagner, The GERG-2008 Wide-Range Equation of State for Natural Gases and Other Mixtures,
J. Chem. Eng. Data 57 (2012) 3032, tables A2 to A8; ISO 20765-2:2015. All coefficients are recalled from
memory; the power of ten of one of nitrogen's was recalled wrongly at first and found out against a reference
equation. The tests hold Z against reference equations from 1 to 300 bar: nitrogen within 0.01 %, oxygen, air
and nitrox within 0.2 %, trimix within 0.35 %. Helium with oxygen alone differs by up to 1.1 % from the only
other equation at hand; no measurement was at hand to settle it.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import sqrt
from typing import Final

import numpy as np

from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.units import FloatArray, kelvin_from_celsius

_GAS_CONSTANT_BAR_L_MOL_K: Final = 8.314472e-2  # the value that GERG-2008 was fitted with
HIGHEST_PRESSURE_BAR: Final = 450.0
LOWEST_TEMPERATURE_C: Final = -40.0
HIGHEST_TEMPERATURE_C: Final = 80.0


@dataclass(frozen=True, eq=False)
class _Component:
    """One component: its critical point and the terms n, d, t, c of its residual Helmholtz energy."""

    critical_k: float
    critical_mol_l: float
    n: FloatArray
    d: FloatArray
    t: FloatArray
    c: FloatArray


def _component(critical_k: float, critical_mol_l: float, *terms: tuple[float, int, float, int]) -> _Component:
    n, d, t, c = (np.array(column, dtype=np.float64) for column in zip(*terms, strict=True))
    return _Component(critical_k, critical_mol_l, n, d, t, c)


_NITROGEN: Final = _component(
    126.192,
    11.1839,
    (0.59889711801201, 1, 0.125, 0),
    (-1.6941557480731, 1, 1.125, 0),
    (0.24579736191718, 2, 0.375, 0),
    (-0.23722456755175, 2, 1.125, 0),
    (0.17954918715141e-1, 4, 0.625, 0),
    (0.14592875720215e-1, 4, 1.5, 0),
    (0.10008065936206, 1, 0.625, 1),
    (0.73157115385532, 1, 2.625, 1),
    (-0.88372272336366, 1, 2.75, 1),
    (0.31887660246708, 2, 2.125, 1),
    (0.20766491728799, 3, 2.0, 1),
    (-0.19379315454158e-1, 6, 1.75, 1),
    (-0.16936641554983, 2, 4.5, 2),
    (0.13546846041701, 3, 4.75, 2),
    (-0.33066712095307e-1, 3, 5.0, 2),
    (-0.60690817018557e-1, 4, 4.0, 2),
    (0.12797548292871e-1, 4, 4.5, 2),
    (0.58743664107299e-2, 2, 7.5, 3),
    (-0.18451951971969e-1, 3, 14.0, 3),
    (0.47226622042472e-2, 4, 11.5, 3),
    (-0.52024079680599e-2, 5, 26.0, 6),
    (0.43563505956635e-1, 6, 28.0, 6),
    (-0.36251690750939e-1, 6, 30.0, 6),
    (-0.28974026866543e-2, 7, 16.0, 6),
)
_OXYGEN: Final = _component(
    154.595,
    13.63,
    (0.88878286369701, 1, 0.25, 0),
    (-2.4879433312148, 1, 1.125, 0),
    (0.59750190775886, 1, 1.5, 0),
    (0.96501817061881e-2, 2, 1.375, 0),
    (0.71970428712770e-1, 3, 0.25, 0),
    (0.22337443000195e-3, 7, 0.875, 0),
    (0.18558686391474, 2, 0.625, 1),
    (-0.38129368035760e-1, 5, 1.75, 1),
    (-0.15352245383006, 1, 3.625, 2),
    (-0.26726814910919e-1, 4, 3.625, 2),
    (-0.25675298677127e-1, 3, 14.5, 3),
    (0.95714302123668e-2, 4, 12.0, 3),
)
_HELIUM: Final = _component(
    5.1953,
    17.399,
    (-0.45579024006737, 1, 0.0, 0),
    (1.2516390754925, 1, 0.125, 0),
    (-1.5438231650621, 1, 0.75, 0),
    (0.20467489707221e-1, 4, 1.0, 0),
    (-0.34476212380781, 1, 0.75, 1),
    (-0.20858459512787e-1, 3, 2.625, 1),
    (0.16227414711778e-1, 5, 0.125, 1),
    (-0.57471818200892e-1, 5, 1.25, 1),
    (0.19462416430715e-1, 5, 2.0, 1),
    (-0.33295680123020e-1, 2, 1.0, 2),
    (-0.10863577372367e-1, 1, 4.5, 2),
    (-0.22173365245954e-1, 2, 5.0, 3),
)

# Table A8, for the first component of the pair over the second: beta and gamma of volume, of temperature.
_PAIRS: Final = {
    (_NITROGEN, _OXYGEN): (0.999521770, 0.997082328, 0.997190589, 0.995157044),
    (_NITROGEN, _HELIUM): (0.969501055, 0.932629867, 0.692868765, 1.471831580),
    (_OXYGEN, _HELIUM): (1.0, 1.0, 1.0, 1.0),
}


def compressibility_factor(gas: BreathingGas, pressure_bar: float, temperature_c: float = 20.0) -> float:
    """Return Z, the share of the ideal gas law's volume that a gas really takes. [fraction]

    gas            what is in the cylinder
    pressure_bar   absolute pressure, above 0 and up to 450 [bar]
    temperature_c  temperature of the gas, -40 to 80 [deg C]

    Raises ValueError outside these ranges. Source: GERG-2008, see the head of this module.

    >>> round(compressibility_factor(BreathingGas(0.21), 200.0), 3)
    1.028
    """
    if not 0.0 < pressure_bar <= HIGHEST_PRESSURE_BAR:
        raise ValueError(
            f"A cylinder pressure of {pressure_bar:g} bar is outside 0 to {HIGHEST_PRESSURE_BAR:g} bar; "
            "check the number and its unit."
        )
    if not LOWEST_TEMPERATURE_C <= temperature_c <= HIGHEST_TEMPERATURE_C:
        raise ValueError(
            f"A gas temperature of {temperature_c:g} deg C is outside {LOWEST_TEMPERATURE_C:g} to "
            f"{HIGHEST_TEMPERATURE_C:g} deg C; check the number and its unit."
        )
    return _solved(gas, pressure_bar, kelvin_from_celsius(temperature_c))


@lru_cache(maxsize=4096)
def _solved(gas: BreathingGas, pressure_bar: float, temperature_k: float) -> float:
    """Find the Z that agrees with the density it implies, by secants from the ideal gas."""
    mixture = _Mixture(gas, temperature_k)
    ideal_mol_l = pressure_bar / (_GAS_CONSTANT_BAR_L_MOL_K * temperature_k)

    def gap(z: float) -> float:
        return mixture.compressibility(ideal_mol_l / z) - z

    before, now = 1.0, 1.0 + gap(1.0)
    gap_before = now - before
    for _ in range(50):
        gap_now = gap(now)
        if abs(gap_now) < 1e-10 or gap_now == gap_before:
            break
        step = gap_now * (now - before) / (gap_now - gap_before)
        before, gap_before, now = now, gap_now, min(max(now - step, 0.3), 3.0)
    return now


class _Mixture:
    """The terms of all components at one temperature, each weighted with its share."""

    def __init__(self, gas: BreathingGas, temperature_k: float) -> None:
        whole = ((_NITROGEN, gas.nitrogen), (_OXYGEN, gas.oxygen), (_HELIUM, gas.helium))
        parts = [(component, share) for component, share in whole if share > 0.0]
        self._reducing_l_mol, reducing_k = _reducing_point(parts)
        tau = reducing_k / temperature_k
        self._weight = np.concatenate([share * part.n * tau**part.t for part, share in parts])
        self._d = np.concatenate([part.d for part, _ in parts])
        self._c = np.concatenate([part.c for part, _ in parts])

    def compressibility(self, density_mol_l: float) -> float:
        """Return Z at a density."""
        delta = density_mol_l * self._reducing_l_mol
        power = np.where(self._c > 0.0, delta**self._c, 0.0)
        terms = self._weight * delta**self._d * np.exp(-power) * (self._d - self._c * power)
        return 1.0 + float(np.sum(terms))


def _reducing_point(parts: list[tuple[_Component, float]]) -> tuple[float, float]:
    """Return the molar volume and temperature that reduce the mixture, equations 16 and 17. [L/mol], [K]"""
    volume_l_mol = sum(share**2 / part.critical_mol_l for part, share in parts)
    temperature_k = sum(share**2 * part.critical_k for part, share in parts)
    for (one, x), (other, y) in combinations(parts, 2):
        beta_v, gamma_v, beta_t, gamma_t = _PAIRS[one, other]
        mean_l_mol = (one.critical_mol_l ** (-1 / 3) + other.critical_mol_l ** (-1 / 3)) ** 3 / 8.0
        mean_k = sqrt(one.critical_k * other.critical_k)
        volume_l_mol += 2.0 * x * y * beta_v * gamma_v * (x + y) / (beta_v**2 * x + y) * mean_l_mol
        temperature_k += 2.0 * x * y * beta_t * gamma_t * (x + y) / (beta_t**2 * x + y) * mean_k
    return volume_l_mol, temperature_k

"""Tissue loading against the differential equation, integrated numerically and in 40 digits."""

import itertools

import mpmath
import numpy as np
import pytest
from plain_simulation import N2, tensions_along
from printed import rows
from profiles import HARD_DIVES
from scipy.integrate import solve_ivp

from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.tissue_loading import Tensions, load_along, saturated_on_air

PRODUCT_ROWS = [row.values[0] for row in rows("buehlmann_2002_table_25") if row.id != "1"]
RATES = np.log(2) / np.array([[row["n2_min"], row["he_min"]] for row in PRODUCT_ROWS]).T.ravel()


def _loaded(dive):
    return load_along(
        saturated_on_air(dive.surface_bar), dive.time_min, dive.ambient_bar, dive.nitrogen, dive.helium
    )


def _integrated(dive):
    """dp/dt = k (q(t) - p), one segment after the other, by an eighth-order method."""
    state = np.concatenate([np.full(16, (dive.surface_bar - 0.0627) * 0.79), np.zeros(16)])
    path = [state]
    for i in range(dive.time_min.size - 1):
        t0, t1 = dive.time_min[i : i + 2]
        p0, p1 = dive.ambient_bar[i : i + 2]
        share = np.repeat([dive.nitrogen[i], dive.helium[i]], 16)

        def slope(t, p, t0=t0, t1=t1, p0=p0, p1=p1, share=share):
            ambient = p0 + (p1 - p0) * (t - t0) / (t1 - t0)
            return RATES * ((ambient - 0.0627) * share - p)

        if t1 > t0:
            state = solve_ivp(slope, (t0, t1), state, "DOP853", rtol=1e-11, atol=1e-13).y[:, -1]
        path.append(state)
    return np.array(path)


@pytest.mark.derived
@pytest.mark.parametrize("make", HARD_DIVES, ids=lambda make: make.__name__)
def test_numerical_integration(make):
    dive = make()
    expected = _integrated(dive)
    n2_bar, he_bar = _loaded(dive)
    # 1e-9 bar: the integrator holds 1e-11 for each of up to 300 segments.
    np.testing.assert_allclose(n2_bar, expected[:, :16], atol=1e-9, rtol=0)
    np.testing.assert_allclose(he_bar, expected[:, 16:], atol=1e-9, rtol=0)


@pytest.mark.derived
@pytest.mark.parametrize("make", HARD_DIVES, ids=lambda make: make.__name__)
def test_textbook_equation_in_forty_digits(make):
    dive = make()
    rested = saturated_on_air(dive.surface_bar)
    path = tensions_along(
        rested.n2_bar, rested.he_bar, dive.time_min, dive.ambient_bar, dive.nitrogen, dive.helium
    )
    n2_bar, he_bar = _loaded(dive)
    np.testing.assert_allclose(n2_bar, [n2 for n2, _ in path], atol=1e-12, rtol=0)
    np.testing.assert_allclose(he_bar, [he for _, he in path], atol=1e-12, rtol=0)


@pytest.mark.derived
def test_a_hundred_thousand_samples_stay_exact():
    # 28 hours sampled every second, by the recurrence in plain Python, 30 digits, two compartments.
    seconds = np.arange(100_000.0)
    ambient_bar = 1.01325 + 2.0 * np.sin(seconds / 997.0) ** 2
    start = Tensions(np.full(16, 1.7), np.zeros(16))
    n2_bar, _ = load_along(start, seconds / 60.0, ambient_bar, 0.68, 0.0)
    with mpmath.workdps(30):
        dry = [mpmath.mpf(float(p)) - mpmath.mpf(0.0627) for p in ambient_bar]
        share = mpmath.mpf(0.68)
        for compartment in (0, 15):
            x = mpmath.log(2) / N2[compartment][0] / 60
            kept = mpmath.exp(-x)
            at_end = 1 - (1 - kept) / x
            at_start = 1 - kept - at_end
            tension = mpmath.mpf(1.7)
            for q0, q1 in itertools.pairwise(dry):
                tension = kept * tension + share * (at_start * q0 + at_end * q1)
            assert abs(float(tension) - n2_bar[-1, compartment]) < 1e-12


@pytest.mark.derived
def test_weeks_between_two_samples_do_not_overflow():
    minutes = 40 * 24 * 60.0
    start = Tensions(np.full(16, 2.5), np.full(16, 1.0))
    n2_bar, he_bar = load_along(start, [0.0, minutes, minutes + 1.0], [1.0, 1.0, 1.0], 0.79, 0.0)
    expected = 0.9373 * 0.79 + (2.5 - 0.9373 * 0.79) * 2.0 ** (-minutes / ZHL16C.n2_half_time_min)
    np.testing.assert_allclose(n2_bar[1], expected, atol=1e-13)
    assert np.all(np.isfinite(n2_bar))
    assert np.all(he_bar[1:] < 1e-40)

"""Pressure under water against the sea-water standard TEOS-10, computed by its own library, and EN 13319.

The product takes one density for all depths and one acceleration of free fall. Real sea water is compressed
by its own weight and gravity changes with latitude; within 100 m that moves the pressure by up to half a
percent.
"""

import gsw
import numpy as np
import pytest
from printed import rows

from logbook_app.physics.ambient_pressure import ambient_bar, depth_m
from logbook_app.physics.constants import DENSITY_EN13319_KG_M3, DENSITY_FRESH_KG_M3, DENSITY_SEA_KG_M3

DEPTHS_M = np.array([3.0, 5, 10, 18, 20, 30, 40, 50, 60, 100])


def _teos_bar(latitude):
    """Gauge pressure of standard sea water; 1 dbar is 0.1 bar."""
    return gsw.p_from_z(-DEPTHS_M, latitude) / 10.0


@pytest.mark.published
@pytest.mark.parametrize("latitude", [0, 30, 45, 60])
def test_sea_water_at_the_density_for_hand_entries(latitude):
    # 1025 kg/m3 is 0.3 % lighter than standard sea water at 0 deg C, gravity differs by 0.27 %.
    gauge_bar = ambient_bar(DEPTHS_M, 0.0, DENSITY_SEA_KG_M3)
    np.testing.assert_allclose(gauge_bar, _teos_bar(latitude), rtol=5.5e-3)


@pytest.mark.published
def test_sea_water_at_the_density_of_the_standard():
    # rho = 1027 kg/m3 at 45 degrees, where gravity is the standard one.
    np.testing.assert_allclose(ambient_bar(DEPTHS_M, 0.0, 1027.0), _teos_bar(45), rtol=2e-3)


@pytest.mark.published
@pytest.mark.parametrize("celsius", [0, 4, 10, 15, 20, 25, 30])
def test_fresh_water_density_for_hand_entries(celsius):
    # 1000 kg/m3 is within half a percent of fresh water from freezing to bath-warm.
    assert pytest.approx(float(gsw.rho(0.0, celsius, 0.0)), rel=5e-3) == DENSITY_FRESH_KG_M3


@pytest.mark.published
@pytest.mark.parametrize("row", rows("en_13319_2000_depth"))
def test_true_depth_of_a_reading(row):
    true_m = depth_m(ambient_bar(30.0, 1.01325), 1.01325, row["density_kg_l"] * 1000.0)
    assert round(true_m / 30.0 * 100) == row["percent"]


@pytest.mark.published
def test_the_density_behind_the_reading():
    assert round(DENSITY_EN13319_KG_M3 / 1000.0, 4) == 1.0197


@pytest.mark.derived
@pytest.mark.parametrize(("density", "true_m"), [(1000.0, 30.59), (1030.0, 29.70)])
def test_a_reading_of_30_m(density, true_m):
    # 3 bar / (density * 9.80665)
    assert depth_m(ambient_bar(30.0, 1.01325), 1.01325, density) == pytest.approx(true_m, abs=0.005)

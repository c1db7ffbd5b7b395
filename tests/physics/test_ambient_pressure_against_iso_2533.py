"""Air pressure by elevation against the printed standard atmosphere, and an independent library of it."""

import pytest
from ambiance import Atmosphere
from printed import rows

from logbook_app.physics.ambient_pressure import elevation_m, surface_pressure_bar
from logbook_app.physics.units import metres_from_feet


@pytest.mark.published
@pytest.mark.parametrize("row", rows("iso_2533_1975_pressure"))
def test_printed_pressure(row):
    # Half of the last printed digit.
    pressure_hpa = surface_pressure_bar(row["height_m"]) * 1000.0
    assert abs(pressure_hpa - row["pressure_hpa"]) <= row["half_digit_hpa"] * 1.001


@pytest.mark.published
@pytest.mark.parametrize("row", rows("usn_rev4_altitude_pressure"))
def test_navy_pressure_at_altitude(row):
    pressure_bar = surface_pressure_bar(metres_from_feet(row["altitude_ft"]))
    assert abs(pressure_bar * 1000.0 - row["millibar"]) <= 0.5
    assert abs(pressure_bar / 1.01325 - row["ata"]) <= 0.0005


@pytest.mark.published
@pytest.mark.parametrize("height_m", [-500, 0, 123, 800, 1500, 2438, 4000, 6500, 10_990])
def test_library_of_the_standard_atmosphere(height_m):
    # The library takes geometric height z; the standard's geopotential height is H = z r / (r + z),
    # r = 6 356 766 m, so z = H r / (r - H).
    geometric_m = height_m * 6_356_766.0 / (6_356_766.0 - height_m)
    expected_bar = float(Atmosphere(geometric_m).pressure[0]) / 1e5
    assert surface_pressure_bar(height_m) == pytest.approx(expected_bar, rel=1e-6)


@pytest.mark.derived
@pytest.mark.parametrize(("pascals", "height_m"), [(90_000, 988.5), (80_000, 1949.0), (70_000, 3012.2)])
def test_height_of_a_pressure(pascals, height_m):
    # H = 288.15 / 0.0065 * (1 - (p / 101325) ** (1 / 5.255876))
    assert elevation_m(pascals / 1e5) == pytest.approx(height_m, abs=0.06)


@pytest.mark.derived
def test_a_lake_at_1420_m_is_not_at_sea_level():
    assert surface_pressure_bar(1420.0) == pytest.approx(0.85389, abs=5e-6)

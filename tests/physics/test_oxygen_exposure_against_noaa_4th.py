"""The oxygen limits row by row as published, and the published doses per minute."""

import pytest
from printed import rows

from logbook_app.physics import oxygen_exposure as oxygen


@pytest.mark.published
@pytest.mark.parametrize("row", rows("noaa_4th_oxygen_limits"))
def test_printed_limits(row):
    assert oxygen.single_limit_min(row["ppo2"]) == row["single_min"]
    assert oxygen.day_limit_min(row["ppo2"]) == row["day_min"]
    assert oxygen.cns_rate_per_min(row["ppo2"]) == pytest.approx(1.0 / row["single_min"], rel=1e-15)


@pytest.mark.published
def test_there_are_no_other_rows():
    assert list(oxygen.NOAA_PPO2_BAR) == [row.values[0]["ppo2"] for row in rows("noaa_4th_oxygen_limits")]


@pytest.mark.published
@pytest.mark.parametrize("row", rows("lambertsen_1970_pulmonary_dose"))
def test_printed_dose_of_a_minute(row):
    # 0.01: the list is rounded, and at 0.6 rounded up.
    assert oxygen.otu_rate_per_min(row["ppo2"]) == pytest.approx(row["per_minute"], abs=0.01)

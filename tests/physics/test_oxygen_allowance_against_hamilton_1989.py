"""The REPEX allowances row by row; recalled from memory, so they notice a slip but prove no figure."""

import pytest
from printed import rows

from logbook_app.physics.oxygen_allowance import pulmonary_allowance, repex_daily_otu, repex_total_otu


@pytest.mark.published
@pytest.mark.parametrize("row", rows("hamilton_1989_repex"))
def test_printed_allowances(row):
    assert repex_daily_otu(row["days"]) == row["daily"]
    if "total" in row:
        assert repex_total_otu(row["days"]) == row["total"]
        assert pulmonary_allowance([row["daily"]] * row["days"]).days_over == ()
        assert row["days"] in pulmonary_allowance([row["daily"] + 1] * row["days"]).days_over


@pytest.mark.law
def test_a_total_never_falls_and_a_day_never_grows():
    totals = [repex_total_otu(days) for days in range(1, 31)]
    assert totals == sorted(totals)
    daily = [repex_daily_otu(days) for days in range(1, 31)]
    assert daily == sorted(daily, reverse=True)

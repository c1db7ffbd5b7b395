"""Daily oxygen: worked cases, a numerical integration, and a search through every minute of a week."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from printed import table
from scipy.integrate import quad

from logbook_app.physics.oxygen_allowance import (
    day_fraction_along,
    dose_within_24_h,
    largest_dose_in_24_h,
    pulmonary_allowance,
)
from logbook_app.physics.oxygen_exposure import cns_fraction_along, otu_along

LIMITS = [(row["ppo2"], row["day_min"]) for row in table("noaa_4th_oxygen_limits")["rows"]]


def _limit_min(ppo2_bar):
    """The printed table with straight lines between its rows, once more."""
    for (p0, m0), (p1, m1) in pairwise(LIMITS):
        if p0 <= ppo2_bar <= p1:
            return m0 + (m1 - m0) * (ppo2_bar - p0) / (p1 - p0)
    return float("inf") if ppo2_bar < 0.6 else LIMITS[-1][1]


@pytest.mark.derived
@pytest.mark.parametrize(
    ("minutes", "ppo2_bar", "expected"),
    [
        pytest.param(30, 1.40, 30 / 180, id="on a row"),
        pytest.param(60, 1.25, 60 / 225, id="half way from 240 to 210"),
        pytest.param(20, 1.48, 20 / 180, id="between two equal rows"),
        pytest.param(60, 0.59, 0.0, id="below the table"),
        pytest.param(15, 1.70, 15 / 150, id="above the table, at its last row"),
    ],
)
def test_worked_holds(minutes, ppo2_bar, expected):
    """time / limit, the limit on a straight line between the printed rows."""
    assert day_fraction_along([0.0, minutes], [ppo2_bar], [ppo2_bar])[-1] == pytest.approx(
        expected, abs=1e-12
    )


@pytest.mark.derived
def test_two_dives_of_a_day():
    # 40 min at 1.4 and 50 min at 1.3, two hours apart: 40/180 + 50/210, nothing lost between.
    time_min = [0.0, 40.0, 160.0, 210.0]
    ppo2_bar = [1.4, 0.21, 1.3]
    dose = day_fraction_along(time_min, ppo2_bar, ppo2_bar)
    assert dose[-1] == pytest.approx(0.4603, abs=5e-5)
    assert largest_dose_in_24_h(time_min, dose) == dose[-1]


@pytest.mark.derived
@settings(max_examples=60, deadline=None)
@given(st.floats(0.2, 1.9), st.floats(0.2, 1.9))
def test_ramps_against_numerical_integration(start_bar, end_bar):
    corners = [
        (p - start_bar) / (end_bar - start_bar) for p, _ in LIMITS if (p - start_bar) * (p - end_bar) < 0
    ]
    expected = 0.0
    for begin, end in zip([0.0, *sorted(corners)], [*sorted(corners), 1.0], strict=True):
        inside = quad(
            lambda x: 1 / _limit_min(start_bar + x * (end_bar - start_bar)), begin, end, epsabs=1e-13
        )
        expected += 10.0 * inside[0]
    found = day_fraction_along([0.0, 10.0], [start_bar], [end_bar])[-1]
    assert found == pytest.approx(expected, abs=1e-9)


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0.2, 1.6), st.floats(0.2, 1.6)), min_size=1, max_size=8))
def test_never_more_than_the_single_exposure(ramps):
    time_min = np.arange(len(ramps) + 1) * 5.0
    start_bar, end_bar = np.array(ramps).T
    day = day_fraction_along(time_min, start_bar, end_bar)
    assert np.all(np.diff(day) >= 0)
    assert np.all(day <= cns_fraction_along(time_min, start_bar, end_bar) + 1e-12)


@pytest.mark.law
@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(30.0, 900.0), st.floats(10.0, 150.0), st.floats(0.0, 1.0)), min_size=1, max_size=8
    )
)
def test_a_window_against_every_minute_of_a_week(dives):
    time_min, dose = [0.0], [0.0]
    for interval_min, minutes, taken in dives:
        time_min += [time_min[-1] + interval_min, time_min[-1] + interval_min + minutes]
        dose += [dose[-1], dose[-1] + taken]
    largest = largest_dose_in_24_h(time_min, dose)
    instants = np.arange(0.0, time_min[-1] + 1500.0, 1.0)
    looked_at = dose_within_24_h(time_min, dose, instants)
    assert largest >= looked_at.max() - 1e-12
    # Within a minute of the best instant no window misses more than two minutes of the strongest dive.
    assert largest <= looked_at.max() + 2 * max(taken / minutes for _, minutes, taken in dives) + 1e-12
    assert largest <= dose[-1] + 1e-12


@pytest.mark.derived
def test_yesterday_leaves_minute_by_minute():
    time_min, dose = [0.0, 60.0, 1400.0, 1460.0], [0.0, 0.3, 0.3, 0.6]
    found = dose_within_24_h(time_min, dose, [-5.0, 60.0, 1440.0, 1470.0, 1500.0, 2840.0, 2900.0])
    # At 1470 half of the first dive is a day old.
    assert found == pytest.approx([0.0, 0.3, 0.3 + 0.2, 0.45, 0.3, 0.3, 0.0], abs=1e-12)


@pytest.mark.derived
def test_four_days_and_a_fifth():
    # 600 + 500 + 500 + 400 = 2000 of 2100; five days allow 2300.
    found = pulmonary_allowance([600.0, 500.0, 500.0, 400.0])
    assert (found.total_otu, found.allowed_otu, found.tomorrow_otu) == (2000.0, 2100, 300.0)
    assert (found.days, found.today_otu, found.days_over) == (4, 400.0, ())


@pytest.mark.derived
def test_a_first_day_that_was_too_much_stays_so():
    # 900 is over the 850 of one day; 900 + 400 is within the 1400 of two.
    found = pulmonary_allowance([900.0, 400.0, 700.0])
    assert found.days_over == (1, 3)
    assert found.tomorrow_otu == 100.0
    assert pulmonary_allowance([1500.0, 0.0]).tomorrow_otu == 360.0
    assert pulmonary_allowance([2000.0]).tomorrow_otu == 0.0


@pytest.mark.derived
def test_a_dive_counts_for_its_day():
    # 100 min at 1.0 bar are 100 units by definition.
    dose = otu_along([0.0, 100.0], [1.0], [1.0])[-1]
    assert pulmonary_allowance([dose]).tomorrow_otu == pytest.approx(1300.0)


@pytest.mark.derived
@pytest.mark.parametrize("days", [[], [10.0] * 31])
def test_outside_the_table(days):
    with pytest.raises(ValueError, match="1 to 30 days in a row"):
        pulmonary_allowance(days)


@pytest.mark.derived
def test_odd_doses():
    assert pulmonary_allowance([10.0] * 30).tomorrow_otu is None
    for dose in (-1.0, float("nan")):
        with pytest.raises(ValueError, match="on day 2 is not 0 or more"):
            pulmonary_allowance([10.0, dose])

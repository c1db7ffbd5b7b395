"""The consensus guideline for flying after diving, as published."""

import pytest
from printed import rows

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.physics.flying_after_diving import (
    CABIN_ALTITUDE_M,
    FlyingRule,
    flying_rule,
    guideline_covers,
)
from logbook_app.physics.units import metres_from_feet


@pytest.mark.published
@pytest.mark.parametrize("row", rows("dan_2004_flying_guideline"))
def test_printed_interval(row):
    hours = flying_rule(row["dives"], row["required_stops"]).hours
    if row["exactly"]:
        assert hours == row["at_least_h"]
    else:
        assert hours > row["at_least_h"]


@pytest.mark.published
def test_the_house_value_for_substantially_longer_is_24_hours():
    assert FlyingRule.REQUIRED_STOPS.hours == 24.0


@pytest.mark.published
@pytest.mark.parametrize(
    ("feet", "covered"),
    [(1999, False), (2000, True), (5000, True), (8000, True), (8001, False), (10_000, False)],
)
def test_cabin_altitudes_it_speaks_of(feet, covered):
    assert guideline_covers(metres_from_feet(float(feet))) == covered


@pytest.mark.published
def test_the_cabin_altitude_is_8000_feet():
    assert metres_from_feet(8000.0) == CABIN_ALTITUDE_M
    assert SpokenUnits("imperial").elevation(CABIN_ALTITUDE_M) == "8\u202f000 ft"


@pytest.mark.law
def test_no_dive_no_interval():
    with pytest.raises(ValueError, match="at least one dive"):
        flying_rule(0, required_stops=False)

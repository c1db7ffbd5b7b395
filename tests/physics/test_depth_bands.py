"""Which part of a segment lies in a band, by hand and against many points on the line."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from logbook_app.physics.depth_bands import share_within

depths = st.floats(-5.0, 40.0)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("depth_m", "shares"),
    [
        ((0.0, 12.0), (0.25, 0.5)),
        ((12.0, 0.0), (0.5, 0.75)),
        ((4.0, 5.0), (0.0, 1.0)),
        ((5.0, 5.0), (0.0, 1.0)),
        ((6.0, 6.0), (0.0, 1.0)),
        ((3.0, 3.0), (0.0, 0.0)),
    ],
)
def test_the_band_from_3_to_6_m(depth_m, shares):
    found = share_within(np.array(depth_m), 3.0, 6.0)
    assert tuple(share.item() for share in found) == pytest.approx(shares)


@pytest.mark.law
@given(depths, depths, depths, st.floats(0.1, 20.0))
def test_as_many_points_on_the_line_say(start_m, end_m, over_m, height_m):
    assume(start_m == end_m or abs(start_m - end_m) > 1e-6)  # less than a thousandth of a millimetre is level
    enters, leaves = share_within(np.array([start_m, end_m]), over_m, over_m + height_m)
    points_m = np.linspace(start_m, end_m, 2001)
    inside = np.mean((points_m > over_m) & (points_m <= over_m + height_m))
    assert max(0.0, (leaves - enters).item()) == pytest.approx(inside, abs=2e-3)

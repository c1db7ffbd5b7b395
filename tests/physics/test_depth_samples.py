"""Time and depth of a recording: what does not belong together is refused."""

import numpy as np
import pytest

from logbook_app.physics.depth_samples import depth_samples


@pytest.mark.law
def test_rows_come_back_as_they_are():
    time_s, depth_m = depth_samples([0, 10, 20], (0.0, 3.5, 0.0))
    np.testing.assert_array_equal(time_s, [0.0, 10.0, 20.0])
    np.testing.assert_array_equal(depth_m, [0.0, 3.5, 0.0])


@pytest.mark.law
@pytest.mark.parametrize(("time_s", "depth_m"), [([], []), ([0, 10], [3.0]), ([0, 10], [[3.0, 4.0]])])
def test_rows_that_do_not_belong_together_are_refused(time_s, depth_m):
    with pytest.raises(ValueError, match="need the same one row of samples"):
        depth_samples(time_s, depth_m)

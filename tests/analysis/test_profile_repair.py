"""What is mended in a recording, what is left, and that the recording itself stays.

The limits are the module's own, common practice, no source: the cases stand well on either side of them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from dives_by_hand import dive_of
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.profile_repair import (
    FLICKER_M,
    LEAST_JUMP_M,
    Mended,
    gaps,
    mended_copy,
    surface_reading_m,
    usual_step_s,
)
from logbook_app.dive.profile import GasSwitch, Profile, Remark

EVERY_S = 10.0


def series(*depths_m: float, every_s: float = EVERY_S, **more) -> Profile:
    return Profile(np.arange(len(depths_m)) * every_s, np.array(depths_m), **more)


def square(bottom_m: float = 20.0, minutes: int = 20) -> list[float]:
    """Return a plain dive at 10 s: half a minute at the surface, down, along, up, half a minute."""
    way = np.linspace(0, bottom_m, 13)
    return [0.0] * 4 + [*way, *[bottom_m] * (minutes * 6), *way[::-1]] + [0.0] * 4


def kinds(profile: Profile) -> list[str]:
    return [one.kind for one in mended_copy(profile)[1]]


def test_a_clean_profile_comes_back_as_the_very_same_object():
    clean = series(*square())
    assert mended_copy(clean) == (clean, ())
    assert mended_copy(clean)[0] is clean


@pytest.mark.law
@given(
    st.lists(st.floats(-0.8 * LEAST_JUMP_M, 0.8 * LEAST_JUMP_M), min_size=1, max_size=200),
    st.floats(1, 60),
)
def test_whatever_a_diver_can_swim_at_a_regular_interval_is_left_alone(steps_m, every_s):
    depths = np.maximum(np.cumsum([0.0, *steps_m]), 0.0)
    samples = series(*[-FLICKER_M, *depths], every_s=every_s)
    assert mended_copy(samples)[0] is samples


@pytest.mark.law
@given(st.lists(st.floats(0, 60), min_size=1, max_size=12), st.lists(st.integers(30, 5000), min_size=12))
def test_points_written_by_hand_are_left_alone(depths_m, minutes):
    """A recording with no regular interval has no gaps, however long its steps are."""
    time_s = np.cumsum(minutes[: len(depths_m)]) * 60.0
    samples = Profile(time_s, np.array(depths_m))
    assert mended_copy(samples)[0] is samples


def spiked(to_m: float, samples: int = 1, at: int = 60) -> tuple[Profile, Profile]:
    clean = square()
    depths = list(clean)
    depths[at : at + samples] = [to_m] * samples
    return series(*depths), series(*clean)


@pytest.mark.parametrize("to_m", [80.0, 0.0, -5.0])
def test_a_spike_is_taken_from_the_samples_beside_it_and_told(to_m):
    recorded, clean = spiked(to_m if to_m > 0 else to_m - 40, samples=2)
    mended, found = mended_copy(recorded)
    assert mended == clean
    assert [(one.kind, one.from_s, one.to_s) for one in found] == [("spike", 590.0, 620.0)]
    assert found[0].taken_m == 20.0
    assert recorded.depth_m[60] == found[0].recorded_m  # the recording is as it was


def test_a_spike_in_two_steps_is_one_spike():
    depths = square()
    depths[60:62] = [70.0, 130.0]
    mended, found = mended_copy(series(*depths))
    assert mended == series(*square())
    assert [one.recorded_m for one in found] == [130.0]


def test_a_gauge_that_lost_its_sensor_for_two_minutes_is_a_drop_out():
    recorded, clean = spiked(0.0, samples=12)
    quick = replace(recorded, time_s=recorded.time_s / 10)  # 20 m within a second
    mended, found = mended_copy(quick)
    assert (mended.depth_m == clean.depth_m).all()
    assert [one.kind for one in found] == ["drop-out"]


@pytest.mark.parametrize(
    ("to_m", "samples"),
    [
        pytest.param(45.0, 1, id="25 m in ten seconds is 150 m/min"),
        pytest.param(80.0, 5, id="five samples deep are no spike"),
        pytest.param(0.0, 20, id="up for longer than three minutes"),
    ],
)
def test_what_could_be_a_dive_stays_as_it_was_recorded(to_m, samples):
    recorded, _ = spiked(to_m, samples)
    assert mended_copy(recorded)[0] is recorded


def test_a_flicker_of_a_fast_gauge_is_no_spike():
    depths = square()
    depths[60] += 2.5
    fast = series(*depths, every_s=0.1)
    assert "spike" not in kinds(fast)


def with_gap(depths: list[float], first: int, last: int, **more) -> Profile:
    keep = np.r_[0:first, last + 1 : len(depths)]
    return Profile(keep * EVERY_S, np.array(depths)[keep], **more)


def test_a_gap_under_water_is_held_at_its_deeper_end():
    depths = [*square()[:60], *[12.0] * 60, *square()[-17:]]
    recorded = with_gap(depths, 50, 99, channels={"temperature_c": np.arange(len(depths) - 50.0)})
    mended, found = mended_copy(recorded)
    assert [(one.kind, one.from_s, one.to_s, one.taken_m) for one in found] == [("gap", 490.0, 1000.0, 20.0)]
    added = np.flatnonzero(~np.isin(mended.time_s, recorded.time_s))
    assert mended.time_s[added].tolist() == [1000.0 - 48.0]  # 8 m at 10 m/min
    assert mended.depth_m[added].tolist() == [20.0]
    assert np.isnan(mended.channel("temperature_c")[added]).all()
    kept = np.isin(mended.time_s, recorded.time_s)
    assert (mended.channel("temperature_c")[kept] == recorded.channel("temperature_c")).all()


@pytest.mark.law
@given(
    st.lists(st.floats(4, 40), min_size=62, max_size=80),
    st.integers(20, 30),
    st.integers(10, 29),
)
def test_a_mended_gap_is_never_shallower_than_the_straight_line(depths_m, first, length):
    recorded = with_gap(depths_m, first, first + length)
    mended, found = mended_copy(recorded)
    straight_m = np.interp(mended.time_s, recorded.time_s, recorded.depth_m)
    if not any(one.kind in {"spike", "drop-out"} for one in found):
        assert (mended.depth_m >= straight_m - 1e-9).all()
        assert [one.kind for one in found] == ["gap"]


def test_a_recorder_that_falls_silent_near_the_surface_was_in_the_dry():
    depths = [*square(), *square()]
    surface = len(square())
    recorded = with_gap(depths, surface - 3, surface + 40)
    mended, found = mended_copy(recorded)
    assert [one.kind for one in found] == ["gap"]
    assert "at the surface" in found[0].words
    added = np.flatnonzero(~np.isin(mended.time_s, recorded.time_s))
    assert mended.depth_m[added].tolist() == [0.0]
    assert mended.time_s[added].tolist() == [recorded.time_s[surface - 3] - 120.0]  # 20 m at 10 m/min


def test_a_few_missing_samples_and_a_silence_at_the_surface_are_no_matter():
    depths = [*square(), *[0.0] * 60, *square()]
    assert kinds(with_gap(square(), 50, 54)) == []
    silent = with_gap(depths, len(square()) + 5, len(square()) + 50)
    assert mended_copy(silent)[0] is silent


def test_a_gauge_above_zero_at_the_surface_is_taken_that_much_deeper():
    recorded = series(*(np.array(square()) - 0.6))
    mended, found = mended_copy(recorded)
    assert np.allclose(mended.depth_m, square())
    assert [(one.kind, one.taken_m) for one in found] == [("zero", pytest.approx(0.6))]


def test_a_gauge_below_zero_at_the_surface_leaves_the_dive_as_deep_as_it_was_recorded():
    recorded = series(*(np.array(square()) + 1.4))
    mended, found = mended_copy(recorded)
    assert mended.depth_m[:4].tolist() == mended.depth_m[-4:].tolist() == [0.0] * 4
    under = recorded.depth_m > 2
    assert (mended.depth_m[under] == recorded.depth_m[under]).all()
    assert [(one.kind, one.recorded_m) for one in found] == [("zero", pytest.approx(1.4))]


@pytest.mark.parametrize(
    "depths",
    [
        pytest.param(np.r_[[1.4] * 8, square()], id="held still at the start, zero at the end"),
        pytest.param(np.r_[[4.0] * 8, square()[5:-5], [4.0] * 8], id="a stop, not the surface"),
        pytest.param(np.array(square()) + 0.2, id="a flicker"),
    ],
)
def test_what_may_be_the_diver_is_not_taken_for_the_gauge(depths):
    assert "zero" not in kinds(series(*depths))


def test_depths_above_the_surface_are_the_surface():
    depths = np.array(square())
    depths[[0, -1]] = -1.2
    mended, found = mended_copy(series(*depths))
    assert mended.depth_m.min() == 0
    assert [(one.kind, one.recorded_m, one.taken_m) for one in found] == [("negative", -1.2, 0.0)]


def test_switches_and_remarks_stay_where_they_were():
    more = {"switches": (GasSwitch(600.0, 1),), "remarks": (Remark(610.0, "alarm"),)}
    recorded = replace(spiked(80.0)[0], **more)
    mended, _ = mended_copy(recorded)
    assert (mended.switches, mended.remarks) == (recorded.switches, recorded.remarks)


def test_what_was_mended_is_told_in_order_of_time():
    depths = square()
    depths[40], depths[90], depths[-1] = 80.0, 80.0, -1.0
    found = mended_copy(series(*depths))[1]
    assert [one.kind for one in found] == ["spike", "spike", "negative"]
    assert found == tuple(sorted(found, key=lambda one: one.from_s))
    assert all(isinstance(one, Mended) and one.words.endswith(".") for one in found)


@pytest.mark.law
def test_mending_a_gap_or_a_lost_sensor_never_lowers_the_load():
    for recorded in (with_gap(square(), 60, 100), spiked(-60.0, samples=2)[0]):
        mended, found = mended_copy(recorded)
        assert found
        dive = replace(dive_of(series(*square())), max_depth_m=20.0)
        load = [
            analyse(dive, samples, nothing_carried(dive), Rules()).tensions_end.n2_bar
            for samples in (recorded, mended)
        ]
        assert (load[1] >= load[0] - 1e-12).all()


def test_the_usual_step_and_the_surface_reading_are_told_where_they_can_be():
    times_s = np.arange(0, 600, 10.0)
    assert usual_step_s(times_s) == 10.0
    assert usual_step_s(times_s[:10]) is None
    assert usual_step_s(np.cumsum(np.arange(1.0, 60.0))) is None
    assert gaps(np.r_[times_s, times_s + 1200]) == [59]
    assert surface_reading_m(times_s, np.full(60, 0.0)) == 0

"""Dives made together, compared. Profiles are drawn so that every figure can be read off the drawing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from logbook_app.analysis.compared_dives import Comparison, Limits, compared
from logbook_app.analysis.comparison_words import (
    ascent_words,
    gap_words,
    laying_words,
    side_by_side,
    stop_words,
)
from logbook_app.analysis.dive_analysis import Carried, Rules, analyse
from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.gas_use import gas_use
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.tissue_loading import saturated_on_air

BEGAN = datetime(2026, 6, 14, 9, tzinfo=UTC)
TIMES_MIN = [0, 2, 8, 14, 20, 26, 30, 31, 35, 36]
LEADER_M = [0, 18, 20, 14, 17, 9, 9, 5, 5, 0]

pytestmark = pytest.mark.derived


def view(
    depths_m: list[float],
    dive_id: str,
    diver: str = "",
    began: datetime = BEGAN,
    later_s: float = 0.0,
    pressures_bar: tuple[float, float] | None = None,
) -> DiveView:
    """Return a dive along these depths at `TIMES_MIN`, a sample every 2 s."""
    time_s = np.arange(0.0, 36 * 60 + 1, 2.0)
    depth_m = np.interp(time_s, np.array(TIMES_MIN) * 60, depths_m)
    channels = {} if pressures_bar is None else {"pressure_bar_0": np.linspace(*pressures_bar, len(time_s))}
    cylinder = Cylinder(AIR, 12.0, *(pressures_bar or (None, None)))
    dive = Dive(
        id=dive_id,
        diver=diver,
        began_at=began,
        duration_min=36,
        max_depth_m=max(depths_m),
        cylinders=(cylinder,),
    )
    profile = Profile(time_s + later_s, depth_m, channels)
    rules = Rules()
    analysis = analyse(dive, profile, Carried(saturated_on_air(1.01325)), rules)
    return DiveView(dive, profile, analysis, gas_use(dive, profile), (), rules)


@pytest.fixture
def pair() -> Callable[..., Comparison]:
    """A leader, and a buddy who stayed 5 m above them from minute 8 to 14 and came up fast at 26."""

    def build(limits: Limits = Limits(), **of_buddy: object) -> Comparison:  # noqa: B008 (frozen)
        buddy_m = [0, 18, 20, 9, 17, 9, 9, 5, 5, 0]
        leader = view(LEADER_M, "leader", pressures_bar=(200.0, 56.0))
        buddy = view(buddy_m, "buddy", "Imke", **of_buddy)  # type: ignore[arg-type]
        return compared(leader, [buddy], limits)

    return build


def test_the_gap_and_the_time_apart(pair: Callable[..., Comparison]) -> None:
    """From minute 8 the gap grows to 5 m at minute 14 and shrinks to nothing at 20: past 3 m for 4.8 min."""
    beside = pair().others[0]
    assert beside.laid_by == "shape"
    assert beside.lag_s == pytest.approx(0.0, abs=1.0)
    assert beside.largest_gap_m == pytest.approx(5.0, abs=0.05)
    assert beside.largest_gap_at_s == pytest.approx(14 * 60, abs=2)
    assert beside.mean_gap_m == pytest.approx(5.0 * 12 / 2 / 36, abs=0.03)
    (apart,) = beside.apart
    assert apart.began_s == pytest.approx((8 + 6 * 3 / 5) * 60, abs=3)
    assert apart.ended_s == pytest.approx((20 - 6 * 3 / 5) * 60, abs=3)
    assert beside.apart_min == pytest.approx(4.8, abs=0.1)


@pytest.mark.parametrize(("apart_m", "apart_s", "times"), [(5.1, 60.0, 0), (3.0, 300.0, 0), (4.0, 60.0, 1)])
def test_the_limits_are_the_divers(
    pair: Callable[..., Comparison], apart_m: float, apart_s: float, times: int
) -> None:
    assert len(pair(Limits(apart_m, apart_s)).others[0].apart) == times


def test_a_clock_that_is_an_hour_ahead_changes_nothing_but_itself(pair: Callable[..., Comparison]) -> None:
    right, wrong = pair().others[0], pair(began=BEGAN + timedelta(hours=1), later_s=90.0).others[0]
    assert wrong.clock_offset_s == pytest.approx(3600 + 90, abs=3.0)  # the depths differ a little
    assert wrong.lag_s == pytest.approx(-90, abs=3.0)
    assert wrong.largest_gap_m == pytest.approx(right.largest_gap_m, abs=0.2)
    assert wrong.apart_min == pytest.approx(right.apart_min, abs=0.1)


def test_a_lag_by_hand_goes_before_all() -> None:
    leader, buddy = view(LEADER_M, "leader"), view(LEADER_M, "buddy")
    beside = compared(leader, [buddy], lags_s={"buddy": 120.0}).others[0]
    assert (beside.laid_by, beside.lag_s, beside.clock_offset_s) == ("hand", 120.0, -120.0)
    assert beside.largest_gap_m == pytest.approx(18.0, abs=0.1)  # two minutes are the whole way down


def test_shapes_that_are_not_alike_are_laid_by_the_clocks() -> None:
    leader = view(LEADER_M, "leader")
    other = view([0, 5, 6, 20, 6, 20, 6, 20, 5, 0], "other", began=BEGAN + timedelta(minutes=3))
    beside = compared(leader, [other]).others[0]
    assert (beside.laid_by, beside.lag_s, beside.one_dive) == ("clocks", 180.0, False)
    assert "clocks alone" in laying_words(beside)


def test_dives_of_other_weeks_share_no_time() -> None:
    leader = view(LEADER_M, "leader")
    other = view([0, 5, 6, 20, 6, 20, 6, 20, 5, 0], "other", began=BEGAN + timedelta(days=20))
    beside = compared(leader, [other]).others[0]
    assert (beside.largest_gap_m, beside.mean_gap_m, beside.apart) == (None, None, ())
    assert list(gap_words(beside, compared(leader, [other]), SpokenUnits())) == [
        "The two recordings share no time."
    ]


def test_fast_ascents_alone_and_together() -> None:
    """The leader comes up 13 m at 13 m/min from minute 26; one buddy with them, one only later."""
    fast = [0, 18, 20, 20, 20, 20, 20, 5, 5, 0]  # 15 m in the minute from 30
    slow = [0, 18, 20, 20, 20, 20, 10, 5, 5, 0]
    comparison = compared(view(fast, "leader"), [view(fast, "with"), view(slow, "without")])
    assert [a.together for a in comparison.leader.fast_ascents] == [True]
    assert [a.together for a in comparison.others[0].side.fast_ascents] == [True]
    assert comparison.others[1].side.fast_ascents == ()
    alone = compared(view(fast, "leader"), [view(slow, "without")])
    assert [a.together for a in alone.leader.fast_ascents] == [False]
    words = ascent_words(alone.others[0], alone.leader, SpokenUnits())
    assert words.startswith("Faster up: you, 15 m/min at 30:")


def test_gas_at_the_turn_and_at_the_end(pair: Callable[..., Comparison]) -> None:
    """From 20 m at minute 8 the line goes to 14 m at minute 14, so the leader passes 18 m at minute 10."""
    comparison = pair(pressures_bar=(200.0, 92.0))
    assert comparison.turn_s == pytest.approx(600, abs=2)
    assert comparison.leader.turn_bar == pytest.approx(200 - 144 * 10 / 36, abs=0.2)
    assert comparison.others[0].side.turn_bar == pytest.approx(200 - 108 * 10 / 36, abs=0.5)
    assert comparison.leader.end_bar == 56.0
    assert comparison.others[0].side.end_bar == 92.0


def test_what_was_not_recorded_is_said_so(pair: Callable[..., Comparison]) -> None:
    table = dict(side_by_side(pair(), SpokenUnits()))
    assert table["Diver"] == ("you", "Imke")
    assert table["Pressure at the turn"] == ("160 bar", "not recorded")
    assert table["Coldest"] == ("not recorded", "not recorded")
    assert table["Greatest depth"] == ("20.0 m", "20.0 m")


def test_the_stop_of_both(pair: Callable[..., Comparison]) -> None:
    comparison = pair()
    assert stop_words(comparison.others[0], comparison.leader).startswith("Both")
    none = replace(comparison.leader, safety_stop_min=0.0)
    assert stop_words(comparison.others[0], none) == "Only Imke held a safety stop of three minutes."


def test_what_cannot_be_compared() -> None:
    leader = view(LEADER_M, "leader")
    with pytest.raises(RefusedRecord, match="with itself"):
        compared(leader, [leader])
    with pytest.raises(RefusedRecord, match="Between two and 8"):
        compared(leader, [])
    with pytest.raises(RefusedRecord, match="Between two and 8"):
        compared(leader, [view(LEADER_M, f"{place}") for place in range(8)])
    without = replace(view(LEADER_M, "other"), profile=None)
    with pytest.raises(RefusedRecord, match="has no samples"):
        compared(leader, [without])

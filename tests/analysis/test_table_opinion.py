"""The US Navy tables on recorded dives: how a dive is read, what is passed on, what is said at the surface.

Groups, residual times and intervals: tests/sources/usn_rev7_table_9_6.toml to _9_8.toml.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from dives_by_hand import NITROX_50, NOON, dive_of, profile

from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.repetitive_dives import (
    carried_into,
    end_state,
    end_state_from_bytes,
    end_state_to_bytes,
)
from logbook_app.analysis.surface_state import fly_time, surface_state
from logbook_app.analysis.table_opinion import AT_ALTITUDE, NOT_AIR, table_words
from logbook_app.dive.record import Site, Water
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.repetitive_group import OutsideTables
from logbook_app.physics.repetitive_series import AFTER_UNKNOWN

# 60 fsw is 18.3858 m by a recorder; these stay a little under 40, 60 and 80 fsw.
M_40_FSW, M_60_FSW, M_80_FSW = 12.2, 18.3, 24.5


def table_dive(depth_m, bottom_min):
    """Return samples of a dive as the tables mean it: up at 30 fsw/min, which is 9.1929 m/min."""
    return profile((0, 0), (1, depth_m), (bottom_min, depth_m), (bottom_min + depth_m / 9.1929, 0))


def seen(samples, carried=None, **fields):
    dive = dive_of(samples, **fields)
    return analyse(dive, samples, carried or nothing_carried(dive), Rules()).table


def chain(*parts):
    """Return the end states of dives given as (minutes at the surface before, samples, fields)."""
    states = []
    for interval_min, samples, fields in parts:
        began_at = NOON if not states else states[-1].ended_at + timedelta(minutes=interval_min)
        dive = dive_of(samples, began_at, **fields)
        carried = carried_into(dive, states[-1] if states else None)
        states.append(end_state(dive, analyse(dive, samples, carried, Rules())))
    return states


def at_surface_after(states, minutes):
    return surface_state(states, states[-1].ended_at + timedelta(minutes=minutes), Rules())


@pytest.mark.derived
class TestReading:
    def test_depth_and_bottom_time_become_a_group(self):
        view = seen(table_dive(M_60_FSW, 40))
        assert (view.schedule_fsw, view.equivalent_min, view.group_after) == (60, 40, "H")

    def test_a_recorder_metre_is_a_tenth_of_a_bar_and_fresh_water_weighs_less(self):
        """0.030643 bar to the fsw: 18.40 m are 60.05 fsw by a recorder and 58.9 fsw in fresh water."""
        samples = table_dive(18.4, 40)
        assert seen(samples).schedule_fsw == 70
        assert seen(samples, water=Water.FRESH).schedule_fsw == 60

    def test_minutes_afloat_after_the_dive_are_no_bottom_time(self):
        samples = profile((0, 0), (1, 12), (40, 12), (41.5, 0), (60, 0))
        assert seen(samples).entered.bottom_time_min == 41

    def test_a_dive_without_samples_counts_whole_at_its_greatest_depth(self):
        view = seen(None, duration_min=40, max_depth_m=M_60_FSW)
        assert (view.entered.bottom_time_min, view.group_after) == (40, "H")

    def test_a_recording_that_hardly_left_the_surface_is_read_in_the_first_row(self):
        view = seen(profile((0, 0), (10, 0.2), (20, 0)))
        assert (view.schedule_fsw, view.group_after) == (10, "A")

    def test_gas_that_nobody_wrote_down_is_taken_as_air_as_for_the_load(self):
        assert seen(table_dive(M_60_FSW, 40), gases=(None,)).group_after == "H"

    def test_air_as_an_analyser_shows_it_is_air(self):
        assert seen(table_dive(M_60_FSW, 40), gases=(BreathingGas(0.209),)).group_after == "H"


class TestOutside:
    @pytest.mark.parametrize("gas", [BreathingGas(0.32), BreathingGas(0.21, 0.35), BreathingGas(1.0)])
    def test_another_gas(self, gas):
        assert seen(table_dive(M_40_FSW, 30), gases=(gas,)).group_after == NOT_AIR

    def test_another_gas_for_the_stop(self):
        samples = profile((0, 0), (2, 18), (20, 18), (22, 5), (26, 5), (27, 0), switches=((22, 1),))
        assert seen(samples, gases=(BreathingGas(0.21), NITROX_50)).group_after == NOT_AIR

    def test_another_gas_that_was_carried_and_not_breathed_does_not_matter(self):
        assert seen(table_dive(M_40_FSW, 30), gases=(BreathingGas(0.21), NITROX_50)).group_after == "D"

    @pytest.mark.parametrize(
        "fields", [{"elevation_m": 310.0}, {"surface_bar": 0.970}, {"site": Site("a", "A lake", 420.0)}]
    )
    def test_a_dive_above_1000_ft_or_in_air_as_thin(self, fields):
        """1,000 ft is 304.8 m; the standard atmosphere has 0.9772 bar there."""
        assert seen(table_dive(M_40_FSW, 30), **fields).group_after == AT_ALTITUDE

    @pytest.mark.parametrize(
        "fields", [{"elevation_m": 300.0}, {"surface_bar": 0.980}, {"surface_bar": 1.15}]
    )
    def test_a_dive_below_1000_ft_is_inside(self, fields):
        assert seen(table_dive(M_40_FSW, 30), **fields).group_after == "D"

    def test_over_the_no_stop_limit(self):
        view = seen(table_dive(M_80_FSW, 45))
        assert "no-stop limit of 39 min at 80 fsw" in view.group_after.reason
        assert table_words(view).startswith("No group. ")


@pytest.mark.derived
class TestChain:
    def test_the_second_dive_begins_in_the_group_that_the_interval_left(self):
        first, second = chain((0, table_dive(M_80_FSW, 35), {}), (90, table_dive(M_60_FSW, 15), {}))
        assert first.table.group_after == "I"
        assert (second.table.group_before, second.table.residual_nitrogen_min) == ("H", 46)
        assert (second.table.equivalent_min, second.table.group_after) == (61, "K")
        words = table_words(second.table)
        assert words == "Group K, read at 60 fsw for 61 min; a repetitive dive, begun in group H."

    def test_8_minutes_between_two_dives_make_them_one(self):
        _, second = chain((0, table_dive(M_80_FSW, 20), {}), (8, table_dive(M_60_FSW, 15), {}))
        assert (second.table.schedule_fsw, second.table.equivalent_min) == (80, 35)

    def test_a_nitrox_dive_leaves_the_next_air_dive_unknown(self):
        nitrox = {"gases": (BreathingGas(0.32),)}
        states = chain((0, table_dive(M_60_FSW, 40), nitrox), (120, table_dive(M_40_FSW, 30), {}))
        assert states[-1].table.group_after == AFTER_UNKNOWN

    def test_the_view_comes_back_from_beside_the_dive(self):
        nitrox = {"gases": (BreathingGas(0.32),)}
        for state in chain((0, table_dive(M_80_FSW, 35), {}), (90, table_dive(M_60_FSW, 15), {})) + chain(
            (0, table_dive(M_60_FSW, 40), nitrox)
        ):
            assert end_state_from_bytes(end_state_to_bytes(state)).table == state.table

    def test_the_analysis_names_the_group_and_none_outside(self):
        samples = table_dive(M_60_FSW, 40)
        for gas, group in ((BreathingGas(0.21), "H"), (BreathingGas(0.32), None)):
            dive = dive_of(samples, gases=(gas,))
            assert analyse(dive, samples, nothing_carried(dive), Rules()).repetitive_group == group


@pytest.mark.derived
class TestAtTheSurface:
    def test_the_group_falls_with_the_interval_and_ends(self):
        states = chain((0, table_dive(M_60_FSW, 40), {}))
        groups = [
            at_surface_after(states, minutes).repetitive_group for minutes in (5, 52, 53, 120, 532, 533)
        ]
        assert groups == ["H", "H", "G", "F", "A", None]
        assert at_surface_after(states, 533).table_outside == ""

    def test_a_dive_outside_is_named_for_24_hours(self):
        states = chain((0, table_dive(M_60_FSW, 40), {"gases": (BreathingGas(0.32),)}))
        assert at_surface_after(states, 60).repetitive_group is None
        assert at_surface_after(states, 60).table_outside == NOT_AIR.reason
        assert at_surface_after(states, 24 * 60).table_outside == ""

    def test_the_table_governs_where_it_is_the_latest(self):
        """Group J waits 14:13 for 8,000 ft; the guideline asks 12 h of a single dive."""
        states = chain((0, table_dive(M_40_FSW, 90), {}))
        fly = at_surface_after(states, 60).fly
        assert states[0].table.group_after == "J"
        assert not states[0].required_stops
        assert fly.table_at - states[0].ended_at == timedelta(hours=14, minutes=13)
        assert fly.guideline_at - states[0].ended_at == timedelta(hours=12)
        assert (fly.governed_by, fly.at) == ("table", fly.table_at)

    def test_the_table_does_not_shorten_the_guideline(self):
        states = chain((0, table_dive(M_40_FSW, 30), {}))
        fly = at_surface_after(states, 60).fly
        assert fly.table_at - states[0].ended_at == timedelta(hours=1, minutes=45)  # group D
        assert (fly.governed_by, fly.at) == ("guideline", fly.guideline_at)

    def test_the_highest_group_of_the_last_24_hours_counts_from_the_last_surfacing(self):
        states = chain((0, table_dive(M_40_FSW, 90), {}), (700, table_dive(8.0, 10), {}))
        assert [state.table.group_after for state in states] == ["J", "A"]
        assert fly_time(states, Rules()).table_at == states[-1].ended_at + timedelta(hours=14, minutes=13)
        later = chain((0, table_dive(M_40_FSW, 90), {}), (1500, table_dive(8.0, 10), {}))
        assert fly_time(later, Rules()).table_at == later[-1].ended_at

    def test_no_table_time_within_48_hours_of_a_dive_outside_with_the_reason(self):
        nitrox = {"gases": (BreathingGas(0.32),)}
        recent = chain((0, table_dive(M_60_FSW, 40), nitrox), (46 * 60, table_dive(M_40_FSW, 30), {}))
        assert recent[-1].table.group_after == "D"
        assert fly_time(recent, Rules()).table_at is None
        assert NOT_AIR.reason in fly_time(recent, Rules()).table_outside
        past = chain((0, table_dive(M_60_FSW, 40), nitrox), (48 * 60, table_dive(M_40_FSW, 30), {}))
        assert fly_time(past, Rules()).table_at is not None

    def test_a_pass_has_its_own_wait_and_beyond_10_000_ft_there_is_none(self):
        """Group J: 6:19 for 5,000 ft, which is 1,524 m."""
        states = chain((0, table_dive(M_40_FSW, 90), {}))
        wait = fly_time(states, Rules(), elevation_m=1524.0).table_at - states[0].ended_at
        assert wait == timedelta(hours=6, minutes=19)
        assert fly_time(states, Rules(), elevation_m=3100.0).table_at is None

    def test_a_diver_who_never_dived_is_in_no_group(self):
        state = surface_state([], NOON, Rules())
        assert (state.repetitive_group, state.table_outside, state.fly) == (None, "", None)


@pytest.mark.law
def test_the_table_hears_nothing_of_the_compartments():
    """Carrying another load into a dive changes the load after it and nothing that the table says."""
    samples = table_dive(M_60_FSW, 40)
    dive = dive_of(samples)
    rested = analyse(dive, samples, nothing_carried(dive), Rules())
    loaded = analyse(dive, samples, nothing_carried(dive_of(samples, surface_bar=0.7)), Rules())
    assert rested.load_end != loaded.load_end
    assert rested.table == loaded.table
    assert not isinstance(rested.table.group_after, OutsideTables)

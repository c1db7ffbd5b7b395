"""The US Navy's air tables, Revision 7, cell by cell, and cases worked through them by hand.

Labels and what was checked against what stand in the sources. Worked examples of Revision 7 itself were not
found; those of older editions below test the procedure and never a number of Revision 7.
"""

import math

import pytest
from printed import rows, table

from logbook_app.physics.ascent_to_altitude import (
    Surfacing,
    group_on_arrival,
    sea_level_equivalent_fsw,
    wait_after_dives_min,
    wait_before_ascent_min,
)
from logbook_app.physics.bottom_time import ASCENT_FSW_MIN, fsw_from_gauge_bar
from logbook_app.physics.navy_tables import COMMERCIAL_FLIGHT_FT, EXCEPTIONAL_EXPOSURE_WAIT_MIN, GROUPS
from logbook_app.physics.repetitive_group import (
    OutsideTables,
    ResidualNitrogen,
    group_after_dive,
    group_after_interval,
    no_stop_limit_min,
    residual_nitrogen,
    table_depth_fsw,
)
from logbook_app.physics.repetitive_series import AirDive, work_dive, work_series

TABLE_9_6 = table("usn_rev7_table_9_6")
TABLE_9_7 = table("usn_rev7_table_9_7")
TABLE_9_8 = table("usn_rev7_table_9_8")


def minutes(printed):
    """Return minutes for hours:minutes as printed."""
    hours, past = printed.split(":")
    return 60 * int(hours) + int(past)


def cells(printed_rows, column):
    """Return every cell of some rows as a named case: the row, what the cell stands under, what is in it."""
    return [
        pytest.param(row, under, cell, id=f"{row['id']} {under}")
        for row in printed_rows
        for under, cell in row[column].items()
    ]


def altitude_cells():
    return [
        pytest.param(row["id"], feet, wait, id=f"{row['id']} {feet} ft")
        for row in TABLE_9_6["rows"]
        for feet, wait in zip(TABLE_9_6["increase_ft"], row["wait"], strict=True)
    ]


@pytest.mark.published
class TestEveryPrintedCell:
    @pytest.mark.parametrize("row", rows("usn_rev7_table_9_7"))
    def test_no_stop_limit(self, row):
        printed = row["no_stop_min"]
        assert no_stop_limit_min(row["depth_fsw"]) == (math.inf if printed == "unlimited" else printed)

    @pytest.mark.parametrize(("row", "group", "longest"), cells(TABLE_9_7["rows"], "longest_min"))
    def test_longest_bottom_time_for_a_group(self, row, group, longest):
        if longest == "*":
            assert group_after_dive(row["depth_fsw"], 10_000.0) == group
            return
        # 170 and 180 fsw print one limit twice or leave groups out; the first group that fits is read.
        assert group_after_dive(row["depth_fsw"], longest) == group
        longer = group_after_dive(row["depth_fsw"], longest + 1)
        assert isinstance(longer, OutsideTables) or GROUPS.index(longer) > GROUPS.index(group)

    @pytest.mark.parametrize(("row", "group", "printed"), cells(TABLE_9_8["rows"], "interval"))
    def test_surface_interval(self, row, group, printed):
        shortest, longest = map(minutes, printed.split("-"))
        assert group_after_interval(row["id"], shortest) == group
        assert group_after_interval(row["id"], longest) == group
        assert group_after_interval(row["id"], longest + 1) != group

    @pytest.mark.parametrize(("row", "group", "printed"), cells(TABLE_9_8["residual_rows"], "residual_min"))
    def test_residual_nitrogen_time(self, row, group, printed):
        found = residual_nitrogen(group, row["depth_fsw"])
        if printed == "**":
            assert isinstance(found, OutsideTables)
        elif printed == "+":
            assert found == residual_nitrogen(group, 30.0)
        else:
            assert found == ResidualNitrogen(printed, row["depth_fsw"])

    @pytest.mark.parametrize(("group", "feet", "printed"), altitude_cells())
    def test_interval_before_ascent_to_altitude(self, group, feet, printed):
        assert wait_before_ascent_min(group, feet) == minutes(printed)

    @pytest.mark.parametrize("row", rows("usn_rev7_table_9_5"))
    def test_group_on_arrival_at_altitude(self, row):
        assert group_on_arrival(row["altitude_ft"]) == row["group"]

    def test_tables_are_whole(self):
        assert len(cells(TABLE_9_7["rows"], "longest_min")) == 219
        assert len(cells(TABLE_9_8["rows"], "interval")) == 16 * 17 / 2
        assert len(cells(TABLE_9_8["residual_rows"], "residual_min")) == 24 * 16
        assert len(altitude_cells()) == 160


@pytest.mark.derived
class TestCellsFollowOneLaw:
    """A misprint in one cell would stand out. The few constants were fitted to all the cells of a table."""

    @pytest.mark.parametrize(("row", "group", "printed"), cells(TABLE_9_8["rows"], "interval"))
    def test_intervals(self, row, group, printed):
        # 52.215 min for each step down; the steps from D, C and B are longer, A lasts 140.1 min.
        steps = GROUPS.index(row["id"]) - GROUPS.index(group)
        last_steps = {"A": (140.1, 76.35, 54.52), "B": (76.35, 54.52), "C": (54.52,)}.get(group, ())
        taken = last_steps[: steps + 1]
        longest = sum(taken) + 52.215 * (steps + 1 - len(taken))
        assert round(longest) == minutes(printed.split("-")[1])

    @pytest.mark.parametrize(("row", "group", "printed"), cells(TABLE_9_8["residual_rows"], "residual_min"))
    def test_residual_nitrogen_times(self, row, group, printed):
        # One compartment of 120.054 min that takes up nitrogen in proportion to depth (less
        # 0.007 fsw), groups in even steps of it; rounded up.
        share = (1.576316 * (GROUPS.index(group) + 1) + 1.261016) / (row["depth_fsw"] - 0.007359)
        if share < 1.0:
            expected = math.ceil(-120.054216 * math.log2(1.0 - share))
            assert printed in (expected, "**", "+")
        else:
            assert printed in ("**", "+")

    @pytest.mark.parametrize(("group", "feet", "printed"), altitude_cells())
    def test_intervals_before_ascent(self, group, feet, printed):
        # t = T log2((n + k) / q), rounded: between two groups at one altitude the q falls out. Tolerance: two
        # intervals of half a minute.
        longest = wait_before_ascent_min("Z", feet)
        if minutes(printed) > 0:
            steps = 640.28387 * math.log2((16 + 0.8067484) / (GROUPS.index(group) + 1 + 0.8067484))
            assert longest - minutes(printed) == pytest.approx(steps, abs=1.0)


@pytest.mark.derived
class TestCases:
    """Worked by hand from the printed tables."""

    @pytest.mark.parametrize(
        ("depth_fsw", "limit_min"), [(20, math.inf), (25, 1102), (60, 63), (61, 48), (100, 25), (130, 12)]
    )
    def test_limit(self, depth_fsw, limit_min):
        assert no_stop_limit_min(depth_fsw) == limit_min

    @pytest.mark.parametrize(
        ("depth_fsw", "time_min", "group"),
        [(57, 40, "H"), (100, 10, "D"), (10, 500, "F"), (15, 2000, "I"), (20, 500, "L")],
    )
    def test_group_after_a_dive(self, depth_fsw, time_min, group):
        assert group_after_dive(depth_fsw, time_min) == group

    @pytest.mark.parametrize(
        ("before", "interval", "after"),
        [("H", "2:00", "F"), ("K", "4:21", "G"), ("K", "4:22", "F"), ("A", "2:20", "A"), ("A", "2:21", None)],
    )
    def test_group_after_an_interval(self, before, interval, after):
        assert group_after_interval(before, minutes(interval)) == after

    @pytest.mark.parametrize(
        ("group", "depth_fsw", "residual_min"), [("F", 60, 35), ("B", 40, 21), ("E", 52, 32)]
    )
    def test_residual_nitrogen_time(self, group, depth_fsw, residual_min):
        assert residual_nitrogen(group, depth_fsw).minutes == residual_min

    def test_a_repetitive_dive(self):
        first = work_dive(AirDive(80, 35))
        second = work_dive(AirDive(60, 15), 90, first)
        assert (first.group_after, second.group_before, second.residual_nitrogen_min) == ("I", "H", 46)
        assert no_stop_limit_min(60) - second.residual_nitrogen_min == 17
        assert (second.equivalent_min, second.group_after) == (61, "K")
        assert work_dive(AirDive(60, 17), 90, first).group_after == "K"
        assert isinstance(work_dive(AirDive(60, 18), 90, first).group_after, OutsideTables)

    def test_an_interval_under_10_minutes_makes_one_dive(self):
        first = work_dive(AirDive(80, 20))
        joined = work_dive(AirDive(70, 20), 8, first)
        assert joined.entered == AirDive(80, 40)
        assert joined.group_after == OutsideTables(
            "The table's time of 40 min is over the no-stop limit of 39 min at 80 fsw."
        )
        assert work_dive(AirDive(70, 20), 10, first).entered == AirDive(70, 20)

    def test_residual_time_longer_than_the_dive_that_it_stands_for(self):
        first = work_dive(AirDive(60, 10))
        second = work_dive(AirDive(60, 20), 30, first)
        assert (second.group_before, second.residual_nitrogen_min) == ("B", 14)
        assert (second.equivalent_min, second.group_after) == (30, "F")

    def test_the_exception_is_not_for_a_shallower_dive(self):
        first = work_dive(AirDive(60, 10))
        second = work_dive(AirDive(50, 20), 30, first)
        assert second.equivalent_min == 17 + 20

    def test_the_dagger_at_25_fsw(self):
        assert residual_nitrogen("Z", 25) == ResidualNitrogen(372, 30)

    @pytest.mark.parametrize(
        ("group", "wait"), [("C", "0:00"), ("D", "1:45"), ("J", "14:13"), ("K", "15:35")]
    )
    def test_wait_before_a_commercial_flight(self, group, wait):
        assert wait_before_ascent_min(group, COMMERCIAL_FLIGHT_FT) == minutes(wait)

    def test_exceptional_exposure_and_the_end_of_the_table(self):
        assert minutes(TABLE_9_6["exceptional_exposure"]) == EXCEPTIONAL_EXPOSURE_WAIT_MIN
        assert wait_before_ascent_min("A", 10_000) == 0
        for group in "AZ":
            assert isinstance(wait_before_ascent_min(group, 10_001), OutsideTables)
            assert isinstance(wait_before_ascent_min(group, 5_000, 10_001), OutsideTables)
        assert isinstance(group_on_arrival(10_001), OutsideTables)

    def test_no_wait_for_a_climb_that_is_none_or_a_diver_in_no_group(self):
        assert wait_before_ascent_min("Z", 0, 8_500) == 0
        assert wait_before_ascent_min(None, 8_000) == 0
        assert group_on_arrival(0) is None

    def test_a_climb_counts_to_the_next_thousand_feet(self):
        assert wait_before_ascent_min("K", 7_001) == minutes("15:35")
        assert group_on_arrival(5_500) == "E"

    def test_ascent_time_from_100_fsw(self):
        assert pytest.approx(3 + 20 / 60) == 100 / ASCENT_FSW_MIN

    def test_feet_of_sea_water(self):
        # 0.030643 bar each, so 100 fsw are 3.0643 bar and 1 msw of 0.1 bar is 3.2634 fsw.
        assert fsw_from_gauge_bar(3.0643) == pytest.approx(100.0)
        assert fsw_from_gauge_bar(0.1) == pytest.approx(3.2634, abs=5e-5)


@pytest.mark.published
class TestWorkedExamples:
    def test_sea_level_equivalent_depth(self):
        """Revision 4, p. 9-38: 60 fsw at 5,000 ft, 843 mb, is 72.1 fsw; a stop at 20 fsw becomes 16.6 fsw."""
        assert sea_level_equivalent_fsw(60, 0.843) == pytest.approx(72.1, abs=0.05)
        assert table_depth_fsw(sea_level_equivalent_fsw(60, 0.843)) == 80
        # Half of the last digit of the stop, brought to sea level.
        assert sea_level_equivalent_fsw(16.6, 0.843) == pytest.approx(20.0, abs=0.05 * 1013 / 843)

    def test_a_dive_after_arrival_at_altitude(self):
        """Revision 4, p. 9-41: 6,000 ft, 90 minutes, 100 fsw: E, D, 130 fsw, 11 min.

        The numbers of Revision 7 give the same; 6,000 ft is 0.812 bar (ISO 2533).
        """
        group = group_after_interval(group_on_arrival(6_000), 90)
        equivalent_fsw = table_depth_fsw(sea_level_equivalent_fsw(100, 0.812))
        assert (group_on_arrival(6_000), group, equivalent_fsw) == ("E", "D", 130)
        assert residual_nitrogen(group, equivalent_fsw).minutes == 11

    def test_the_highest_group_of_the_day_decides_on_flying(self):
        """NOAA newsletter of October 1999: J, later C, fly at 8,000 ft: the wait is that of J.

        The procedure only; 17:35 is a number of the tables of that year.
        """
        wait = wait_after_dives_min([Surfacing("J", 390), Surfacing("C", 0)], COMMERCIAL_FLIGHT_FT)
        assert wait == wait_before_ascent_min("J", COMMERCIAL_FLIGHT_FT) > 0

    def test_entry_with_the_next_deeper_row_and_the_sum_of_times(self):
        """Revision 4: 101 fsw is read at 110; 98 fsw / 15 min after it with 7 min residual counts as 22 min.

        The procedure only; group and residual time belong to the tables of that year.
        """
        assert table_depth_fsw(101) == 110
        first = work_dive(AirDive(101, 18))
        second = work_dive(AirDive(98, 15), minutes("6:26"), first)
        assert second.schedule_fsw == 100
        assert second.equivalent_min == second.residual_nitrogen_min + 15

    def test_an_interval_of_8_minutes(self):
        """Slides of the NOAA Diving Center: 80 fsw / 20, interval 0:08, 70 fsw / 20: schedule 80/40."""
        assert work_dive(AirDive(70, 20), 8, work_dive(AirDive(80, 20))).entered == AirDive(80, 40)


@pytest.mark.derived
def test_group_k_before_a_flight_is_neither_12_nor_18_hours():
    """60 fsw for 63 minutes is K; the table has 15:35 for 8,000 ft."""
    series = work_series([(60.0, 63.0, 0.0)])
    assert series.dives[0].group_after == "K"
    assert series.wait_before_flight_min == minutes("15:35")

"""The next dive by depth: tables, equivalent depths and densities as printed; the rest are laws.

Groups and limits: tests/sources/usn_rev7_table_9_7.toml and _9_8.toml. Nitrox depths:
tests/sources/nitrox_training_texts.toml. Densities: tests/sources/anthony_mitchell_2016_gas_density.toml.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed import rows, table

from logbook_app.analysis.dive_analysis import Carried, Rules
from logbook_app.analysis.next_dive import next_dive
from logbook_app.analysis.next_dive_table import (
    FOR_AIR_ALONE,
    FOR_SEA_LEVEL,
    Heaviness,
    best_mix,
    depth_rows,
    heaviness,
    table_limit_min,
    why_no_table,
)
from logbook_app.analysis.table_opinion import NOT_AIR, TableCarried
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.repetitive_group import OutsideTables
from logbook_app.physics.repetitive_series import AFTER_UNKNOWN, AirDive, TabledDive, work_dive
from logbook_app.physics.tissue_loading import saturated_on_air

AT = datetime(2026, 6, 14, 9, tzinfo=UTC)
SURFACE_BAR = 1.01325
M_PER_FSW = 0.30643  # of a recorder: 0.030643 bar to the foot of sea water, 10 m to the bar
RESTED = Carried(saturated_on_air(SURFACE_BAR))
NITROX_32 = BreathingGas(0.32)
RESIDUAL = table("usn_rev7_table_9_8")["residual_rows"]


def metres(fsw: float) -> float:
    """Return a depth a little under a row of the tables, as a recorder shows it."""
    return fsw * M_PER_FSW - 0.01


def after(group: str, interval_min: float) -> TableCarried:
    """Return a diver who surfaced in a group; the exception for deeper dives is kept out of it."""
    return TableCarried(TabledDive(entered=None, group_after=group), interval_min)


def table_of(gas: BreathingGas, depths_m: tuple[float, ...], surface_bar: float = SURFACE_BAR) -> Any:
    found = next_dive(AT, RESTED, surface_bar, gas, Rules(), depths_m)
    return depth_rows(found, None)


def _id(row: dict[str, Any]) -> str:
    return str(row["id"])


@pytest.mark.published
@pytest.mark.parametrize("row", rows("usn_rev7_table_9_7"))
def test_a_rested_diver_has_the_printed_limit(row: dict[str, Any]) -> None:
    printed = math.inf if row["no_stop_min"] == "unlimited" else row["no_stop_min"]
    assert table_limit_min(metres(row["depth_fsw"]), AIR, SURFACE_BAR, None) == printed


@pytest.mark.published
@pytest.mark.parametrize("row", RESIDUAL, ids=_id)
def test_residual_time_is_taken_off_the_limit(row: dict[str, Any]) -> None:
    """The limit of table 9-7 less the residual time of table 9-8, ten minutes after surfacing."""
    limits = {each["depth_fsw"]: each["no_stop_min"] for each in table("usn_rev7_table_9_7")["rows"]}
    limit = limits[row["depth_fsw"]]
    for group, residual in row["residual_min"].items():
        if isinstance(residual, str) or limit == "unlimited":
            continue  # no figure in print
        found = table_limit_min(metres(row["depth_fsw"]), AIR, SURFACE_BAR, after(group, 10.0))
        assert found == max(0, limit - residual), group


@pytest.mark.law
@given(
    st.sampled_from([40, 60, 80, 100, 130]),
    st.integers(1, 60),
    st.floats(0, 900),
    st.sampled_from([40, 50, 70, 90, 120]),
)
def test_the_limit_is_the_last_minute_that_the_tables_hold(
    first_fsw: int, first_min: int, interval_min: float, next_fsw: int
) -> None:
    """A dive of so many minutes has a group, one of a minute more has none."""
    before = work_dive(AirDive(float(first_fsw), float(first_min)))
    limit = table_limit_min(metres(next_fsw), AIR, SURFACE_BAR, TableCarried(before, interval_min))
    if isinstance(limit, OutsideTables):
        assert isinstance(before.group_after, OutsideTables)
        return
    depth_fsw = metres(next_fsw) / M_PER_FSW
    for minutes, held in ((limit, True), (limit + 1, False)):
        if minutes:
            worked = work_dive(AirDive(depth_fsw, minutes), interval_min, before)
            assert isinstance(worked.group_after, str) is held


@pytest.mark.law
def test_where_the_tables_do_not_hold_they_say_why() -> None:
    assert table_limit_min(20.0, NITROX_32, SURFACE_BAR, None) is FOR_AIR_ALONE
    assert table_limit_min(20.0, AIR, 0.8, None) is FOR_SEA_LEVEL
    lost = TableCarried(TabledDive(group_after=NOT_AIR), 60.0)
    assert table_limit_min(20.0, AIR, SURFACE_BAR, lost) == AFTER_UNKNOWN
    assert isinstance(table_limit_min(70.0, AIR, SURFACE_BAR, None), OutsideTables)
    assert why_no_table(table_of(NITROX_32, (12.0, 30.0))) == FOR_AIR_ALONE.reason
    assert why_no_table(table_of(AIR, (12.0, 70.0))) == ""


@pytest.mark.published
@pytest.mark.parametrize("row", rows("nitrox_training_texts"))
def test_equivalent_air_depth_as_printed(row: dict[str, Any]) -> None:
    """The texts take an atmosphere as 10 m, which is a surface of 1 bar here."""
    (found,) = table_of(BreathingGas(row["oxygen"]), (row["depth_m"],), 1.0)
    # Half the last digit; the texts cut 18.35 to 18.3, so that one is met at its edge.
    assert found.equivalent_air_m == pytest.approx(row["ead_m"], abs=row["half_digit_m"] + 0.01)


@pytest.mark.law
def test_only_nitrox_has_an_equivalent_air_depth() -> None:
    for gas in (AIR, BreathingGas(0.18, 0.45), BreathingGas(0.16)):
        assert all(row.equivalent_air_m is None for row in table_of(gas, (12.0, 30.0)))


@pytest.mark.published
@pytest.mark.parametrize("row", rows("anthony_mitchell_2016_gas_density"))
def test_the_guidance_is_met_at_the_printed_depth_on_air(row: dict[str, Any]) -> None:
    """Depths are printed in whole metres: a metre above it is within, a metre below it is beyond."""
    above, below = table_of(AIR, (row["air_depth_m"] - 1.0, row["air_depth_m"] + 1.0))
    assert above.density_g_l < row["density_g_l"] < below.density_g_l
    order = list(Heaviness)
    assert order.index(below.heaviness) == order.index(above.heaviness) + 1
    assert heaviness(row["density_g_l"]) is above.heaviness


@pytest.mark.published
def test_the_clock_of_a_stay_by_the_printed_limit() -> None:
    """At 1.4 bar the whole clock takes as long as the printed single exposure."""
    printed = next(row for row in table("noaa_4th_oxygen_limits")["rows"] if row["ppo2"] == 1.4)
    depth_m = (1.4 / 0.4 - SURFACE_BAR) * 10
    (row,) = table_of(BreathingGas(0.4), (depth_m,))
    assert row.limit.no_stop_min is not None
    assert row.clock_fraction == pytest.approx(row.limit.no_stop_min / printed["single_min"], rel=1e-6)


@pytest.mark.law
def test_no_clock_where_nothing_says_how_fast_it_runs() -> None:
    shallow, deep = table_of(BreathingGas(0.5), (3.0, 40.0))
    assert shallow.clock_fraction is None or shallow.clock_fraction >= 0
    assert deep.clock_fraction is None


@pytest.mark.derived
@given(st.floats(6.0, 80.0), st.sampled_from([1.2, 1.4, 1.6]))
def test_the_best_mix_is_the_richest_that_may_be_breathed(depth_m: float, limit_bar: float) -> None:
    """Dalton: one percent more would be over the limit; where even air is over it there is none."""
    best = best_mix(depth_m, AT, RESTED, SURFACE_BAR, Rules(ppo2_limit_bar=limit_bar))
    ambient_bar = SURFACE_BAR + depth_m / 10.0  # a recorder's metre, EN 13319
    if best.gas is None:
        assert ambient_bar * 0.21 > limit_bar - 1e-6
        return
    assert best.row is not None
    assert ambient_bar * best.gas.oxygen <= limit_bar + 1e-6
    assert best.gas.oxygen == 1.0 or ambient_bar * (best.gas.oxygen + 0.01) > limit_bar - 1e-6
    assert not best.row.limit.beyond_gas

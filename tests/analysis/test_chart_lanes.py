"""The lanes under a section: what there is, their scales, and the load of one compartment. No window."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from logbook_app.analysis.chart_lanes import compartment_lane, lanes, quantities
from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.readout import readout
from logbook_app.analysis.section_of_dive import Section, section_of_dive
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.physics.breathing_gas import AIR, BreathingGas

TIME_S = np.arange(0.0, 1801, 10)
DEPTH_M = np.interp(TIME_S, [0, 120, 1300, 1600, 1800], [0, 42, 40, 5, 0])


def section(units: str = "metric", **channels: np.ndarray) -> Section:
    """Return a dive to 42 m with these channels."""
    dive = Dive(
        began_at=datetime(2026, 11, 14, 10, 5, tzinfo=UTC),
        duration_min=30,
        max_depth_m=42,
        cylinders=(Cylinder(AIR, 15.0), Cylinder(BreathingGas(0.5), 7.0)),
    )
    profile = Profile(TIME_S, DEPTH_M, channels)
    analysis = analyse(dive, profile, nothing_carried(dive), Rules())
    return section_of_dive(dive, profile, analysis, SpokenUnits(units))


TWO_TANKS = {
    "pressure_bar_0": np.linspace(200, 80, len(TIME_S)),
    "pressure_bar_1": np.where(TIME_S > 1000, np.linspace(190, 90, len(TIME_S)), np.nan),
    "temperature_c": np.linspace(18, 7, len(TIME_S)),
    "heading_deg": np.full(len(TIME_S), 275.0),
}


def test_only_what_was_recorded_can_be_shown() -> None:
    """ppO2 is worked out for every dive; the rest needs a recorder that wrote it."""
    assert quantities(section()) == ("ppo2",)
    assert quantities(section(**TWO_TANKS)) == ("temperature", "pressure", "ppo2")
    assert lanes(section(), ["temperature", "pressure", "load"]) == ()


def test_scale_runs_from_the_least_to_the_greatest_value() -> None:
    """Its ends are figures that occurred, in the diver's units."""
    temperature, pressure, ppo2 = lanes(section(**TWO_TANKS), ["ppo2", "temperature", "pressure"])
    assert (temperature.low_words, temperature.high_words) == ("7 °C", "18 °C")
    assert (pressure.low_words, pressure.high_words) == ("80 bar", "200 bar")
    assert (ppo2.low_words, ppo2.high_words) == ("0.21 bar", "1.09 bar")  # 0.21 * (1.01325 + 4.2), by hand
    assert lanes(section("imperial", **TWO_TANKS), ["temperature"])[0].high_words == "64 °F"


def test_cylinders_are_called_by_place_and_gas() -> None:
    """Two lines of one lane are told apart in words; a gap in the readings is no reading."""
    (pressure,) = lanes(section(**TWO_TANKS), ["pressure"])
    assert [line.words for line in pressure.lines] == ["tank 1 air", "tank 2 nitrox 50"]
    assert pressure.lines[1].time_s[0] == 1010.0
    said = readout(section(**TWO_TANKS), 1800)
    assert said[4] == "tank 1 air 80 bar · tank 2 nitrox 50 90 bar"
    assert said[5] == "heading 275°"


def test_a_value_that_never_changed_has_a_scale_all_the_same() -> None:
    """A line in the middle of its lane, and one figure."""
    (lane,) = lanes(section(temperature_c=np.full(len(TIME_S), 9.0)), ["temperature"])
    assert float(lane.share(9.0)) == pytest.approx(0.5)
    assert (lane.low_words, lane.high_words) == ("9 °C", "")


@pytest.mark.law
def test_load_of_a_compartment_is_that_of_the_dive() -> None:
    """The largest of the sixteen at every sample is the load that the dive is said to have."""
    drawn = section()
    values = np.stack([compartment_lane(drawn, place).lines[0].values for place in range(16)])
    assert values.max(axis=0) == pytest.approx(drawn.series.load)


def test_limit_is_ruled_and_what_passes_it_is_said() -> None:
    """20 min at 41 m on air take the fast compartments over their surfacing limit."""
    fast = compartment_lane(section(), 0)
    assert fast.words == "load of compartment 1, half-time 5 min"
    assert (fast.mark, fast.mark_words) == (1.0, "100 %")
    assert fast.high > 1.0
    assert fast.high_words == f"{fast.high * 100:.0f} %"
    slow = compartment_lane(section(), 15)
    assert (slow.high, slow.high_words) == (1.0, "")

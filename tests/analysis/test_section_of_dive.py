"""What a dive puts on its chart, from a recording to marks and a line. No window."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.readout import readout
from logbook_app.analysis.section_of_dive import Section, section_of_dive
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.profile import GasSwitch, Profile, Remark
from logbook_app.dive.record import Dive
from logbook_app.physics.breathing_gas import AIR, BreathingGas

METRIC = SpokenUnits("metric")


def dive(minutes: float, depth_m: float) -> Dive:
    """Return the record of a dive with air and nitrox 50."""
    return Dive(
        began_at=datetime(2026, 11, 14, 10, 5, tzinfo=UTC),
        duration_min=minutes,
        max_depth_m=depth_m,
        cylinders=(Cylinder(AIR, 15.0), Cylinder(BreathingGas(0.5), 7.0), Cylinder(None)),
    )


def section(way: list[tuple[float, float]], **more: object) -> Section:
    """Return the chart of a dive by minutes and metres, sampled every 10 s."""
    minutes, metres = zip(*way, strict=True)
    time_s = np.arange(0.0, minutes[-1] * 60 + 1, 10)
    profile = Profile(time_s, np.interp(time_s / 60, minutes, metres), **more)  # type: ignore[arg-type]
    record = dive(minutes[-1], max(metres))
    analysis = analyse(record, profile, nothing_carried(record), Rules())
    return section_of_dive(record, profile, analysis, METRIC)


EASY = [(0.0, 0.0), (1.0, 15.0), (20.0, 15.0), (22.0, 5.0), (26.0, 5.0), (27.0, 0.0)]
LONG = [(0.0, 0.0), (2.0, 45.0), (30.0, 45.0), (36.0, 6.0), (60.0, 5.0), (61.0, 0.0)]


@pytest.mark.law
def test_line_is_the_recording() -> None:
    """Every sample of the recorder is on the line, and nothing deeper or shallower is."""
    drawn = section(EASY)
    assert drawn.max_depth_m == 15.0
    assert drawn.end_s == 27 * 60
    assert drawn.depth_at(60) == 15.0


def test_switches_are_named_and_repeats_are_not() -> None:
    """The first gas, then each change; a cylinder whose gas nobody wrote down has no name to show."""
    switches = (GasSwitch(0.0, 0), GasSwitch(300.0, 0), GasSwitch(1200.0, 1), GasSwitch(1300.0, 2))
    gases = section(EASY, switches=switches).gases
    assert [(mark.from_s, mark.words) for mark in gases] == [(0.0, "air"), (1200.0, "nitrox 50")]


def test_fast_ascents_come_before_what_was_written() -> None:
    """Where room is short, the fast stretch keeps its words."""
    fast = [(0.0, 0.0), (1.0, 15.0), (20.0, 15.0), (20.5, 3.0), (24.0, 3.0), (25.0, 0.0)]
    remarks = section(fast, remarks=(Remark(120.0, "old anchor"), Remark(130.0, ""))).remarks
    assert remarks[0].words.startswith("ascent 2")  # 12 m in half a minute is 24 m/min
    assert " m/min for " in remarks[0].words
    assert [mark.words for mark in remarks[1:]] == ["old anchor"]


def test_stop_that_was_required_is_no_safety_stop() -> None:
    """The time between 3 and 6 m is named for what it was."""
    easy, long = section(EASY).stop, section(LONG).stop
    assert easy is not None
    assert long is not None
    assert easy.words.startswith("safety stop 4 min")
    assert long.words.startswith("stop ")


def test_ceiling_is_in_the_readout_while_there_is_one() -> None:
    """Half an hour at 45 m on air has a ceiling by any model; the start of the dive has none."""
    drawn = section(LONG)
    assert "ceiling none" in readout(drawn, 60)[1]
    assert "no-stop 0 min · ceiling " in readout(drawn, 30 * 60)[1]
    assert "ceiling none" not in readout(drawn, 30 * 60)[1]


def test_dive_without_samples_is_a_square() -> None:
    """Straight down, all the time at the greatest depth, straight up: what the load was taken from."""
    record = dive(40, 18)
    drawn = section_of_dive(record, None, analyse(record, None, nothing_carried(record), Rules()), METRIC)
    assert drawn.estimate
    assert drawn.depth_m.tolist() == [0, 18, 18, 0]
    assert (drawn.time_s[0], drawn.end_s) == (0, 2400)
    assert (np.diff(drawn.time_s) > 0).all()

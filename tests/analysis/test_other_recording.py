"""Another recording of a dive laid over the leading one: where it stands, and what is said of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from logbook_app.analysis.other_recording import OtherRecording, beside_words, other_recordings
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Account, Dive, Recording

METRIC = SpokenUnits("metric")
BEGAN = datetime(2026, 11, 14, 10, 5, tzinfo=UTC)
TIME_S = np.arange(0.0, 1801, 5)
DEPTH_M = np.interp(TIME_S, [0, 120, 400, 900, 1500, 1800], [0, 20, 14, 18, 5, 0])
DIVE = Dive(began_at=BEGAN, duration_min=30, max_depth_m=20)
LEADING = Profile(TIME_S, DEPTH_M)


def laid(seconds_later: float | None, *, deeper_m: float = 0.0, shape_later_s: float = 0.0) -> OtherRecording:
    """Return a second recording of the same dive by a clock that is this far off; None is no clock."""
    account = (
        None
        if seconds_later is None
        else Account(began_at=BEGAN + timedelta(seconds=seconds_later), duration_min=30, max_depth_m=20)
    )
    depth_m = np.interp(TIME_S, TIME_S + shape_later_s, DEPTH_M) + deeper_m
    profile = Profile(TIME_S, np.maximum(depth_m, 0), {"temperature_c": np.full(len(TIME_S), 8.0)})
    recording = Recording("f", "s", account=account)
    (other,) = other_recordings(DIVE, LEADING, [(recording, "wrist gauge", profile)])
    return other


@pytest.mark.law
def test_it_stands_where_its_own_clock_puts_it() -> None:
    """Nothing is shifted so that two recordings agree: 90 s on the clocks are 90 s on the chart."""
    other = laid(90.0)
    assert other.time_s[0] == 90.0
    assert other.depth_at(90 + 120) == pytest.approx(20.0)
    assert other.depth_at(89.0) is None
    assert other.clock_words == (
        "wrist gauge stands where its own clock puts it: it began 90 s later. "
        "By its shape it began at the same second."
    )


def test_clock_and_shape_are_both_told() -> None:
    """A clock that is an hour off, and a recorder that was switched on later, are two things."""
    assert "it began 1 h 00 min earlier." in laid(-3600.0).clock_words
    assert laid(0.0, shape_later_s=20.0).clock_words.endswith("By its shape it began 20 s earlier.")
    assert "it began 2 min 05 s later." in laid(125.0).clock_words


def test_without_a_clock_it_is_laid_by_its_shape() -> None:
    """Nobody kept its start."""
    other = laid(None, shape_later_s=30.0)
    assert other.time_s[0] == pytest.approx(-30.0, abs=1.0)
    assert other.clock_words == "wrist gauge has no clock of its own here, and is laid by its shape."


def test_both_values_and_the_difference_are_said() -> None:
    """Deeper and shallower in words, not by a sign."""
    assert beside_words(laid(0.0, deeper_m=0.4), 120.0, 20.0, METRIC) == [
        "wrist gauge: 20.4 m · 8 °C",
        "0.4 m deeper than this one",
    ]
    assert beside_words(laid(0.0, deeper_m=-0.5), 120.0, 20.0, METRIC)[1] == "0.5 m shallower than this one"
    assert beside_words(laid(0.0), 120.0, 20.0, METRIC)[1] == "as deep as this one"
    assert beside_words(laid(90.0), 10.0, 2.0, METRIC) == ["wrist gauge: nothing recorded"]


def test_dive_without_samples_has_nothing_to_lay_over() -> None:
    """A square that nobody measured is not compared with a recording."""
    recording = Recording("f", "s", account=None)
    assert other_recordings(DIVE, None, [(recording, "wrist gauge", LEADING)]) == ()

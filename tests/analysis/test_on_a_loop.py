"""A closed circuit: the oxygen pressure that was held decides what was breathed."""

from __future__ import annotations

import numpy as np
import pytest
from dives_by_hand import dive_of, profile

from logbook_app.analysis.breathed_samples import breathed_samples, fractions_breathed, oxygen_breathed_bar
from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried

NAN = float("nan")
POINTS = ((0, 0), (2, 20), (30, 20), (33, 5), (36, 0))


def analysed(samples):
    dive = dive_of(samples)
    return analyse(dive, samples, nothing_carried(dive), Rules())


def test_a_held_set_point_is_breathed_until_the_next():
    samples = profile(*POINTS, on_loop=[1, NAN, NAN, NAN, NAN], set_ppo2_bar=[0.7, 1.2, NAN, 0.9, NAN])
    at, start, end = oxygen_breathed_bar(breathed_samples(dive_of(samples), samples))
    assert at.tolist() == pytest.approx([0.7, 1.2, 1.2, 0.9, 0.9])
    assert start.tolist() == pytest.approx([0.7, 1.2, 1.2, 0.9])
    assert end.tolist() == pytest.approx([0.7, 1.2, 1.2, 0.9])


def test_sensors_are_averaged_and_read_in_a_straight_line():
    first, second = [0.6, 1.2, NAN, 1.0, 0.8], [0.8, 1.4, NAN, 1.2, 0.8]
    samples = profile(*POINTS, on_loop=[1] + [NAN] * 4, measured_ppo2_bar=first, measured_ppo2_bar_2=second)
    at, start, end = oxygen_breathed_bar(breathed_samples(dive_of(samples), samples))
    assert at[[0, 1, 3, 4]].tolist() == pytest.approx([0.7, 1.3, 1.1, 0.8])
    assert at[2] == pytest.approx(1.3 - 0.2 * 28 / 31)
    assert end[:3].tolist() == pytest.approx(start[1:].tolist())


def test_bailing_out_breathes_the_cylinder_again():
    samples = profile(*POINTS, on_loop=[1, NAN, 0, NAN, NAN], set_ppo2_bar=[1.2] + [NAN] * 4)
    at, _, _ = oxygen_breathed_bar(breathed_samples(dive_of(samples), samples))
    assert at[1] == pytest.approx(1.2)
    assert at[2] == pytest.approx(0.21 * (1.01325 + 2.0))


def test_a_loop_holds_no_more_oxygen_than_there_is_pressure():
    samples = profile(*POINTS, on_loop=[1] + [NAN] * 4, set_ppo2_bar=[1.4] + [NAN] * 4)
    breathed = breathed_samples(dive_of(samples), samples)
    at, _, _ = oxygen_breathed_bar(breathed)
    assert at[0] == pytest.approx(1.01325)
    nitrogen, helium = fractions_breathed(breathed)
    assert nitrogen[0] == 0
    assert (helium == 0).all()


@pytest.mark.law
def test_more_oxygen_in_the_loop_leaves_less_nitrogen():
    def end_bar(set_point):
        samples = profile(*POINTS, on_loop=[1] + [NAN] * 4, set_ppo2_bar=[set_point] + [NAN] * 4)
        return analysed(samples).tensions_end.n2_bar

    assert (end_bar(1.3) < end_bar(0.9)).all()


@pytest.mark.derived
def test_holding_what_air_would_give_loads_as_air_does():
    """At constant depth a loop that holds 0.21 of the dry gas inspires the nitrogen that air does."""
    flat = ((0, 20), (40, 20))
    dry_bar = 1.01325 + 2.0 - 0.0627
    loop = profile(*flat, on_loop=[1, NAN], set_ppo2_bar=[0.21 * dry_bar, NAN])
    open_circuit = profile(*flat)
    assert np.allclose(
        analysed(loop).tensions_end.n2_bar, analysed(open_circuit).tensions_end.n2_bar, rtol=0, atol=1e-12
    )


def test_the_tables_do_not_hold_a_dive_on_a_loop():
    loop = profile(*POINTS, on_loop=[1] + [NAN] * 4, set_ppo2_bar=[1.2] + [NAN] * 4)
    assert analysed(loop).repetitive_group is None
    assert analysed(profile(*POINTS)).repetitive_group is not None


def test_without_a_loop_nothing_changes():
    plain = profile(*POINTS)
    recorded_too = profile(*POINTS, ppo2_bar=[0.2, 0.6, 0.6, 0.3, 0.2])
    assert breathed_samples(dive_of(recorded_too), recorded_too).loop is None
    assert analysed(recorded_too).cns_fraction == analysed(plain).cns_fraction

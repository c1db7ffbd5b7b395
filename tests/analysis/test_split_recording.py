"""A recording of a whole day becomes its dives, and nothing of it is lost or made up."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest
from dives_by_hand import NOON, dive_of
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.split_recording import WHOLE_RECORDING, part_of, split_recording, stretches
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.profile import GasSwitch, Profile, Remark, profile_digest, profile_to_bytes
from logbook_app.dive.record import Dive, Recording
from logbook_app.physics.breathing_gas import AIR, BreathingGas

DOWN = [0.0, 4.0, *[12.0] * 30, 5.0, 0.0]  # 33 samples of 20 s


def day(*surface_samples: int, every_s: float = 20.0, **more) -> Profile:
    """Return dives with so many samples at the surface before, between and after them."""
    depths: list[float] = [0.0] * surface_samples[0]
    for count in surface_samples[1:]:
        depths += DOWN + [0.0] * count
    return Profile(np.arange(len(depths)) * every_s, np.array(depths), **more)


def record_of(profile: Profile, **more) -> Dive:
    fields = {"recordings": (Recording("whole", profile_digest(profile_to_bytes(profile))),), **more}
    return replace(dive_of(profile), **fields)


def test_dives_of_a_day_become_dives_of_their_own_with_the_surface_between():
    profile = day(10, 100, 60, 30)
    parts = split_recording(record_of(profile), profile)
    assert [part.began_at - NOON for part, _ in parts] == [
        timedelta(seconds=20 * start) for start in (10, 10 + 34 + 100, 10 + 34 + 100 + 34 + 60)
    ]
    assert [part.duration_min for part, _ in parts] == [11.0] * 3
    assert all(samples.depth_m.tolist() == DOWN for _, samples in parts)
    intervals = [second.began_at - first.ended_at for (first, _), (second, _) in pairwise(parts)]
    assert intervals == [timedelta(seconds=20 * steps) for steps in (101, 61)]


@pytest.mark.derived
@pytest.mark.parametrize(("samples_up", "dives"), [(6, 1), (7, 1), (8, 2)])
def test_a_visit_to_the_surface_of_under_three_minutes_is_one_dive(samples_up, dives):
    """From the last sample of one dive to the first of the next there is one step more: 8 + 1 make 180 s."""
    profile = day(0, samples_up, 0)
    assert len(split_recording(record_of(profile), profile)) == dives


def test_one_dive_comes_back_as_it_was():
    profile = day(40, 40)
    dive = record_of(profile)
    ((same, samples),) = split_recording(dive, profile)
    assert same is dive
    assert samples is profile


def test_the_same_file_gives_the_same_dives_again_and_another_gives_others():
    profile = day(0, 20, 20)
    first, again = (split_recording(record_of(profile), profile) for _ in range(2))
    assert [dive for dive, _ in first] == [dive for dive, _ in again]
    prints = [dive.recordings[0].fingerprint for dive, _ in first]
    assert len({dive.id for dive, _ in first}) == len(set(prints)) == 2
    other = record_of(profile, recordings=(Recording("another"),))
    assert {dive.id for dive, _ in split_recording(other, profile)}.isdisjoint({d.id for d, _ in first})


def test_switches_remarks_and_channels_go_with_their_part_and_the_gas_in_use_is_kept():
    second_s = (34 + 20) * 20.0
    profile = day(
        0,
        20,
        20,
        channels={"temperature_c": np.arange(108.0), "pressure_bar_0": np.r_[[200.0] * 34, [np.nan] * 74]},
        switches=(GasSwitch(300.0, 1), GasSwitch(second_s + 400, 0)),
        remarks=(
            Remark(100.0, "first"),
            Remark(second_s - 60, "at the surface"),
            Remark(second_s + 5, "second"),
        ),
    )
    nitrox = BreathingGas(0.5)
    dive = record_of(profile, cylinders=(Cylinder(AIR, 12.0, 200.0, 60.0), Cylinder(nitrox)))
    (one, first), (two, second) = split_recording(dive, profile)
    assert first.switches == (GasSwitch(300.0, 1),)
    assert second.switches == (GasSwitch(0.0, 1), GasSwitch(400.0, 0))
    assert first.remarks == (Remark(100.0, "first"),)
    assert second.remarks == (Remark(5.0, "second"),)
    assert second.channel("temperature_c").tolist() == list(range(54, 88))
    assert first.channel("pressure_bar_0") is not None
    assert second.channel("pressure_bar_0") is None
    assert [cylinder.gas for cylinder in two.cylinders] == [AIR, nitrox]
    assert two.cylinders[0].start_bar is None
    assert one.extra["cylinder pressures of the whole recording"] == "200 bar to 60 bar"


def test_each_part_names_the_whole_recording_and_only_the_first_keeps_its_number():
    profile = day(0, 20, 20)
    told = {"uddf:surfaceintervalbeforedive": "3600", "uddf:surfaceintervalafterdive": "7200"}
    parts = [dive for dive, _ in split_recording(record_of(profile, number=7, extra=told), profile)]
    whole = profile_digest(profile_to_bytes(profile))
    assert [dive.extra[WHOLE_RECORDING] for dive in parts] == [f"1 of 2, {whole}", f"2 of 2, {whole}"]
    assert [dive.number for dive in parts] == [7, None]
    assert [sorted(name for name in dive.extra if name in told) for dive in parts] == [
        ["uddf:surfaceintervalbeforedive"],
        ["uddf:surfaceintervalafterdive"],
    ]


def silent(profile: Profile, first: int, last: int) -> Profile:
    keep = np.r_[0:first, last + 1 : len(profile)]
    return Profile(profile.time_s[keep], profile.depth_m[keep])


def test_a_recorder_silent_in_the_dry_ends_the_dive_even_where_it_wakes_up_deep():
    profile = silent(day(0, 60, 0), 34, 34 + 60 + 2)  # from the surface to 12 m on the next dive
    parts = split_recording(record_of(profile), profile)
    assert [len(samples) for _, samples in parts] == [34, 31]
    assert parts[1][1].depth_m[0] == 12.0


def test_a_recorder_that_fails_under_water_does_not_end_the_dive():
    profile = silent(day(0, 60, 0), 20, 34 + 60 + 2)
    assert len(split_recording(record_of(profile), profile)) == 1


def test_a_gauge_beside_zero_surfaces_all_the_same():
    profile = day(10, 40, 40)
    drifted = replace(profile, depth_m=profile.depth_m + 1.5)
    dives = [dive for dive, _ in split_recording(record_of(drifted), drifted)]
    assert [dive.began_at for dive in dives] == [
        d.began_at for d, _ in split_recording(record_of(profile), profile)
    ]
    assert [dive.max_depth_m for dive in dives] == [13.5, 13.5]


@pytest.mark.law
@given(
    st.lists(st.sampled_from([0.0, 0.4, 1.0, 1.2, 6.0, 30.0]), min_size=1, max_size=120),
    st.lists(st.sampled_from([5.0, 30.0, 60.0, 190.0, 4000.0]), min_size=120, max_size=120),
)
def test_the_stretches_of_a_recording_put_together_are_the_recording(depths_m, steps_s):
    time_s = np.cumsum(steps_s[: len(depths_m)])
    profile = Profile(time_s, np.array(depths_m), {"temperature_c": np.arange(float(len(depths_m)))})
    found = stretches(profile)
    parts = [part_of(profile, stretch) for stretch in found]
    assert np.concatenate([part.depth_m for part in parts]).tolist() == depths_m
    whole_s = [part.time_s + time_s[stretch.first] for part, stretch in zip(parts, found, strict=True)]
    assert np.allclose(np.concatenate(whole_s), time_s, rtol=0, atol=1e-9)
    temperatures = [part.channel("temperature_c") for part in parts]
    assert np.concatenate(temperatures).tolist() == list(range(len(depths_m)))


@pytest.mark.law
@given(st.lists(st.integers(0, 60), min_size=2, max_size=5), st.lists(st.integers(0, 3000), max_size=5))
def test_no_switch_is_lost_and_the_gas_breathed_at_every_sample_stays(surface, switch_s):
    switches = tuple(GasSwitch(float(at_s), place % 3) for place, at_s in enumerate(switch_s))
    profile = day(*surface, switches=switches)
    for dive, samples in split_recording(record_of(profile), profile):
        since_s = (dive.began_at - NOON).total_seconds()
        for at_s in samples.time_s:
            assert breathed_at(samples, at_s) == breathed_at(profile, at_s + since_s)


def breathed_at(profile: Profile, at_s: float) -> int:
    before = [switch.cylinder for switch in profile.switches if switch.time_s <= at_s]
    return before[-1] if before else 0

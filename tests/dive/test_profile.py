"""A profile comes back to the last bit, small, and never as another one without notice."""

from __future__ import annotations

import hashlib
import json
import struct
import zlib
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.profile import (
    GasSwitch,
    Profile,
    Remark,
    profile_digest,
    profile_from_bytes,
    profile_to_bytes,
)
from tests.dive.strategies import profiles

pytestmark = pytest.mark.law

NAN = float("nan")


def small_profile(**changed: Any) -> Profile:
    """Return six samples with one channel of each kind: tenths with a gap, and doubles."""
    fields: dict[str, Any] = {
        "time_s": [0, 10, 20, 30, 40, 50],
        "depth_m": [0.0, 3.1, 9.8, 10.2, 4.0, 0.3],
        "channels": {"temperature_c": [19.5, 19.5, NAN, 8.0, 8.1, 12.0], "ppo2_bar": [1 / 3] * 6},
        "switches": (GasSwitch(20, 1),),
        "remarks": (Remark(30, "Hecht, groß"),),
    }
    return Profile(**{**fields, **changed})


def bits(values: np.ndarray[Any, Any]) -> bytes:
    return np.where(np.isnan(values), NAN, values).astype("<f8").tobytes()


@settings(deadline=None, max_examples=300)
@given(profile=profiles())
def test_every_sample_comes_back_to_the_last_bit(profile: Profile) -> None:
    """Compared bit by bit with the arrays themselves, not by the profile's own idea of equality."""
    again = profile_from_bytes(profile_to_bytes(profile))
    assert bits(again.time_s) == bits(profile.time_s)
    assert bits(again.depth_m) == bits(profile.depth_m)
    assert set(again.channels) == set(profile.channels)
    for name, values in profile.channels.items():
        assert bits(again.channels[name]) == bits(values)
    assert (again.switches, again.remarks) == (profile.switches, profile.remarks)
    assert again == profile
    assert profile_to_bytes(again) == profile_to_bytes(profile)


@pytest.mark.parametrize(
    "values",
    [
        [-0.0, 0.0, -0.1],
        [NAN, NAN, NAN],
        [NAN, 1.0, NAN],
        [float("inf"), float("-inf"), 0.0],
        [1.7976931348623157e308, -1.7976931348623157e308, 5e-324],
        [0.1 + 0.2, 0.3, 0.1],
        [536870911.0, -536870911.0, 536870911.0],
        [536870912.0, 2147483648.0, -2147483648.0],
        [1073741824.0, -1073741824.0, 0.0],
        [2e9, -2e9, 2e9],
        [53687091.1, -53687091.1, 0.0],
        [18.288, 0.3048, 199.9],
        [1e-4, 2e-4, 3e-4],
    ],
)
def test_awkward_values_come_back_to_the_last_bit(values: list[float]) -> None:
    profile = Profile(time_s=[0, 1, 2], depth_m=[0, 1, 0], channels={"odd": np.array(values)})
    with np.errstate(all="raise"):
        again = profile_from_bytes(profile_to_bytes(profile))
    assert bits(again.channels["odd"]) == bits(np.array(values))


@pytest.mark.parametrize("offset", [0.0, 1e-16, 1.0])
def test_a_difference_in_the_last_bit_is_a_difference(offset: float) -> None:
    nudged = np.array([0.0, 3.1, 9.8, 10.2, 4.0, 0.3])
    nudged[2] = np.nextafter(nudged[2], 99) if offset == 1e-16 else nudged[2] + offset
    assert (small_profile(depth_m=nudged) == small_profile()) == (offset == 0.0)


def test_any_field_makes_a_difference() -> None:
    others = [
        small_profile(time_s=[0, 10, 20, 30, 40, 51]),
        small_profile(channels={}),
        small_profile(switches=()),
        small_profile(remarks=(Remark(30, "Hecht, gross"),)),
    ]
    assert all(other != small_profile() for other in others)
    assert small_profile() != "a profile"


def test_equal_content_has_equal_bytes_however_it_was_handed_over() -> None:
    """Whole numbers for floats, another order of channels, another NaN: the same profile, one name."""
    other_nan = np.frombuffer(struct.pack("<Q", 0xFFF8_0000_0000_0001), dtype="<f8")[0]
    channels = small_profile().channels
    other = small_profile(
        time_s=np.arange(0, 60, 10, dtype=np.int32),
        channels={
            "ppo2_bar": channels["ppo2_bar"],
            "temperature_c": np.where(
                np.isnan(channels["temperature_c"]), other_nan, channels["temperature_c"]
            ),
        },
        switches=(GasSwitch(np.float64(20.0), np.int64(1)),),  # type: ignore[arg-type]
        remarks=(Remark(30.0, "Hecht, groß"),),
    )
    assert profile_to_bytes(other) == profile_to_bytes(small_profile())
    assert hash(other) == hash(small_profile())
    odd = {"odd": np.array([1 / 3, other_nan, 0, 0, 0, 0])}
    assert small_profile(channels=odd) == small_profile(channels={"odd": [1 / 3, NAN, 0, 0, 0, 0]})


def test_marks_are_put_in_order_and_of_one_instant_keep_theirs() -> None:
    switches = (GasSwitch(40, 0), GasSwitch(20, 2), GasSwitch(20, 1))
    remarks = (Remark(9, "late"), Remark(3, "early"))
    profile = small_profile(switches=switches, remarks=remarks)
    assert profile.switches == (GasSwitch(20, 2), GasSwitch(20, 1), GasSwitch(40, 0))
    assert [remark.text for remark in profile.remarks] == ["early", "late"]


def test_text_with_half_a_character_comes_back() -> None:
    profile = small_profile(remarks=(Remark(1, "\udce9 \ud83d\ude00 \0 🐙"),), channels={"\udcff": [1.0] * 6})
    again = profile_from_bytes(profile_to_bytes(profile))
    assert again.remarks == profile.remarks
    assert list(again.channels) == ["\udcff"]


def test_nothing_in_a_profile_can_be_changed() -> None:
    depth_m = np.array([0.0, 3.1, 9.8, 10.2, 4.0, 0.3])
    profile = small_profile(depth_m=depth_m)
    depth_m[0] = 99.0
    assert profile.depth_m[0] == 0.0
    for values in (profile.time_s, profile.depth_m, profile.channels["ppo2_bar"]):
        with pytest.raises(ValueError, match="read-only"):
            values[0] = 1.0
    with pytest.raises(TypeError):
        profile.channels["new"] = depth_m  # type: ignore[index]


def test_a_channel_that_was_not_sampled_is_none() -> None:
    assert small_profile().channel("heading_deg") is None
    assert len(small_profile()) == 6


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"time_s": [], "depth_m": [], "channels": {}}, "A profile needs at least one sample."),
        ({"time_s": [[0, 1], [2, 3]], "depth_m": [[0, 1], [2, 3]]}, "A profile needs at least one sample."),
        ({"depth_m": [0, 1]}, "Channel depth_m has 2 values for 6 samples."),
        ({"channels": {"ppo2_bar": [1.0]}}, "Channel ppo2_bar has 1 values for 6 samples."),
        ({"depth_m": [0, NAN, 9, 9, 9, 0]}, "Every sample needs a time and a depth."),
        ({"time_s": [0, 10, 20, 30, 40, float("inf")]}, "Every sample needs a time and a depth."),
        ({"time_s": [0, 10, 10, 30, 40, 50]}, "The times of a profile must increase from sample to sample."),
        ({"time_s": [0, 10, 9, 30, 40, 50]}, "The times of a profile must increase from sample to sample."),
        ({"channels": {"depth_m": [1.0] * 6}}, "A channel cannot be called time_s or depth_m"),
        ({"switches": (GasSwitch(1, -1),)}, "A gas switch names a cylinder by its place in the dive's list"),
        ({"switches": (GasSwitch(NAN, 1),)}, "Every gas switch and remark needs a time."),
        ({"remarks": (Remark(NAN, "when?"),)}, "Every gas switch and remark needs a time."),
    ],
)
def test_a_profile_that_contradicts_itself_is_refused(changed: dict[str, Any], sentence: str) -> None:
    with pytest.raises(RefusedRecord) as refusal:
        small_profile(**changed)
    assert str(refusal.value).startswith(sentence)


def test_a_profile_is_named_by_the_sha_256_of_its_bytes() -> None:
    """Published: FIPS 180-4, SHA-256 of "abc", NIST example values; recalled from memory."""
    abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert profile_digest(b"abc") == abc
    data = profile_to_bytes(small_profile())
    assert profile_digest(data) == hashlib.sha256(data).hexdigest()


def outcome(data: bytes) -> Profile | None:
    """Return what is read from these bytes, None where they are refused in words."""
    try:
        return profile_from_bytes(data)
    except RefusedRecord as refusal:
        said = str(refusal)
    assert said == "These bytes are not a stored profile." or said.startswith(
        "The stored profile is damaged ("
    )
    return None


def test_no_changed_byte_makes_another_profile() -> None:
    """Every byte to each of its 255 other values: refused or, in the few bits that mean nothing, the same."""
    data = profile_to_bytes(small_profile())
    read = [
        outcome(data[:at] + bytes([data[at] ^ flip]) + data[at + 1 :])
        for at in range(len(data))
        for flip in range(1, 256)
    ]
    refused = sum(profile is None for profile in read)
    assert {profile for profile in read if profile is not None} <= {small_profile()}
    assert refused > 0.98 * len(read)


def test_no_profile_cut_short_or_grown_is_read() -> None:
    data = profile_to_bytes(small_profile())
    assert [outcome(data[:length]) for length in range(len(data))] == [None] * len(data)
    assert outcome(data + b"\0") is None
    assert outcome(data + data) is None


@given(data=st.binary(max_size=80))
def test_whatever_else_is_read_is_refused_in_words(data: bytes) -> None:
    assert outcome(data) is None
    assert outcome(b"LLP1" + data) is None


@pytest.mark.parametrize(
    "header",
    [
        "[]",
        "{}",
        "null",
        "1e999",
        '{"samples": 1, "channels": [], "switches": [], "remarks": []}',
        '{"samples": 1, "channels": [["time_s", 1]], "switches": [], "remarks": []}',
        '{"samples": 1, "channels": [["time_s", 1, 0]], "switches": [], "remarks": []}',
        '{"samples": 1, "channels": {"time_s": 1}, "switches": [], "remarks": []}',
    ],
)
def test_a_header_that_names_nonsense_is_refused_in_words(header: str) -> None:
    head = zlib.compress(header.encode())
    assert outcome(b"LLP1" + struct.pack("<I", len(head)) + head) is None


def test_a_switch_to_an_infinite_cylinder_is_refused_in_words() -> None:
    data = profile_to_bytes(small_profile())
    length = int.from_bytes(data[4:8], "little")
    header = json.loads(zlib.decompress(data[8 : 8 + length]))
    header["switches"] = [[1.0, float("inf")]]
    head = zlib.compress(json.dumps(header).encode())
    assert outcome(b"LLP1" + struct.pack("<I", len(head)) + head + data[8 + length :]) is None


def test_an_hour_at_ten_seconds_takes_little_room() -> None:
    """A made-up hour with the unrest of a real one: depth in tenths, water cooling, gas going down."""
    unrest = np.random.default_rng(3)
    time_s = np.arange(361) * 10.0
    shape_m = np.interp(time_s, [0, 180, 1500, 2700, 3300, 3600], [0, 24, 19, 11, 5, 0])
    profile = Profile(
        time_s=time_s,
        depth_m=np.round(np.abs(shape_m + unrest.normal(0, 0.25, 361)), 1),
        channels={
            "temperature_c": np.round(18 - 0.4 * np.sqrt(shape_m) + unrest.normal(0, 0.05, 361), 1),
            "pressure_bar_0": np.round(200 - time_s / 3600 * 140 - unrest.uniform(0, 0.5, 361), 1),
        },
    )
    assert len(profile_to_bytes(profile)) < 2500
    assert profile_from_bytes(profile_to_bytes(profile)) == profile


def test_a_profile_is_mended_by_making_another() -> None:
    assert replace(small_profile(), remarks=()) == small_profile(remarks=())

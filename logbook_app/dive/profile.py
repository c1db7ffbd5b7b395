"""What a recorder wrote down, sample by sample, and its compact form in the logbook file.

A profile is immutable: it is named by the SHA-256 of its bytes, and whatever is mended or
decided later (gas, offset, dive bounds) is kept beside it, never in it.

**The bytes.** A JSON header, then one block a channel. Recorders write decimals, so a channel
whose every value is a whole multiple of 1, 0.1, 0.01 or 0.001 is kept as the differences of those
multiples, byte-transposed and deflated: about one byte a sample. Any other channel is kept as
the doubles themselves. Both come back equal to the last bit; NaN marks a sample without a value.
"""

from __future__ import annotations

import hashlib
import json
import math
import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _

FloatArray = NDArray[np.float64]

MAGIC = b"LLP1"
_SCALES = (1, 10, 100, 1000)
_MISSING = np.int32(-(2**31))
_LARGEST_STEP_COUNT = 2**29  # leaves room for differences in 32 bits
_HALF_CHARACTERS = "surrogatepass"  # a recorder's text may hold them; they come back as they were


@dataclass(frozen=True, slots=True)
class GasSwitch:
    """From `time_s` on the diver breathes from the cylinder with this place in the dive's list."""

    time_s: float
    cylinder: int


@dataclass(frozen=True, slots=True)
class Remark:
    """Something the recorder or the diver marked at an instant: an alarm, a bookmark, a stop."""

    time_s: float
    text: str


@dataclass(frozen=True, eq=False)
class Profile:
    """Samples of one dive from one recorder.

    time_s    seconds from the start of the recording, strictly increasing, (n,)
    depth_m   depth at each, 10 m per bar unless the dive says otherwise, (n,)
    channels  whatever else was sampled, each (n,), NaN where a sample has no value:
              `temperature_c`, `pressure_bar_<cylinder>`, `ppo2_bar`, `heading_deg`,
              `recorded_no_stop_min`, `recorded_cns_fraction`, ...
    switches  changes of cylinder, put in order of time
    remarks   marks on the time line, put in order of time

    Raises RefusedRecord where the shapes differ, time does not increase, depth is not a number or
    a switch names no cylinder.
    """

    time_s: FloatArray
    depth_m: FloatArray
    channels: Mapping[str, FloatArray] = field(default_factory=dict)
    switches: tuple[GasSwitch, ...] = ()
    remarks: tuple[Remark, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "time_s", _frozen_array(self.time_s))
        object.__setattr__(self, "depth_m", _frozen_array(self.depth_m))
        channels = {name: _frozen_array(values) for name, values in self.channels.items()}
        object.__setattr__(self, "channels", MappingProxyType(channels))
        object.__setattr__(self, "switches", tuple(sorted(self.switches, key=_time_s)))
        object.__setattr__(self, "remarks", tuple(sorted(self.remarks, key=_time_s)))
        _refuse_contradictions(self)

    def __len__(self) -> int:
        return len(self.time_s)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Profile) and profile_to_bytes(self) == profile_to_bytes(other)

    def __hash__(self) -> int:
        return hash(profile_to_bytes(self))

    @cached_property
    def packed(self) -> bytes:
        """The compact form, worked out once: an import names, compares and saves by it."""
        return _packed(self)

    def channel(self, name: str) -> FloatArray | None:
        """Return one sampled quantity (n,), or None where the recorder did not write it."""
        return self.channels.get(name)


def profile_to_bytes(profile: Profile) -> bytes:
    """Return the compact form of a profile; `profile_from_bytes` gives an equal one back."""
    return profile.packed


def profile_from_bytes(data: bytes) -> Profile:
    """Return the profile kept in `data`.

    Raises RefusedRecord where the bytes are not a profile or are damaged.
    """
    if data[:4] != MAGIC:
        raise RefusedRecord(_("These bytes are not a stored profile."))
    try:
        return _unpack_all(data)
    except (ValueError, KeyError, TypeError, ArithmeticError, struct.error, zlib.error) as error:
        raise RefusedRecord(_("The stored profile is damaged ({error}).").format(error=error)) from error


def profile_digest(data: bytes) -> str:
    """Return the name of a stored profile: the SHA-256 of its bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def _frozen_array(values: ArrayLike) -> FloatArray:
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


def _time_s(mark: GasSwitch | Remark) -> float:
    return mark.time_s


def _refuse_contradictions(profile: Profile) -> None:
    time_s, depth_m = profile.time_s, profile.depth_m
    if time_s.ndim != 1 or len(time_s) == 0:
        raise RefusedRecord(_("A profile needs at least one sample."))
    if not profile.channels.keys().isdisjoint({"time_s", "depth_m"}):
        raise RefusedRecord(
            _("A channel cannot be called time_s or depth_m; those are fields of the profile.")
        )
    for name, values in {"depth_m": depth_m, **profile.channels}.items():
        if values.shape != time_s.shape:
            raise RefusedRecord(
                _("Channel {name} has {size} values for {size2} samples.").format(
                    name=name, size=values.size, size2=time_s.size
                )
            )
    if not np.isfinite(time_s).all() or not np.isfinite(depth_m).all():
        raise RefusedRecord(_("Every sample needs a time and a depth."))
    if (np.diff(time_s) <= 0).any():
        raise RefusedRecord(_("The times of a profile must increase from sample to sample."))
    if any(switch.cylinder < 0 for switch in profile.switches):
        raise RefusedRecord(_("A gas switch names a cylinder by its place in the dive's list, from 0."))
    marks: tuple[GasSwitch | Remark, ...] = (*profile.switches, *profile.remarks)
    if not all(math.isfinite(mark.time_s) for mark in marks):
        raise RefusedRecord(_("Every gas switch and remark needs a time."))


def _packed(profile: Profile) -> bytes:
    series = {"time_s": profile.time_s, "depth_m": profile.depth_m, **dict(sorted(profile.channels.items()))}
    packed = {name: _pack(values) for name, values in series.items()}
    header = {
        "samples": len(profile),
        "channels": [[name, scale, len(block)] for name, (scale, block) in packed.items()],
        "switches": [[float(switch.time_s), int(switch.cylinder)] for switch in profile.switches],
        "remarks": [[float(remark.time_s), remark.text] for remark in profile.remarks],
    }
    words = json.dumps(header, ensure_ascii=False, separators=(",", ":"))
    head = zlib.compress(words.encode("utf-8", _HALF_CHARACTERS), 6)
    return MAGIC + struct.pack("<I", len(head)) + head + b"".join(block for _, block in packed.values())


def _pack(values: FloatArray) -> tuple[int, bytes]:
    """Return (scale, block); scale 0 means the doubles themselves."""
    missing = np.isnan(values)
    known = values[~missing] if missing.any() else values
    largest = float(np.abs(known).max(initial=0.0))
    for scale in () if np.signbit(known[known == 0.0]).any() else _SCALES:
        if not largest * scale < _LARGEST_STEP_COUNT - 0.5:
            break
        steps = np.rint(known * scale)
        if (steps / scale == known).all():
            return scale, _pack_steps(steps.astype(np.int32), missing)
    one_nan = np.where(missing, np.nan, values)  # there are many; equal profiles have equal bytes
    return 0, zlib.compress(one_nan.astype("<f8").tobytes(), 6)


def _pack_steps(steps: NDArray[np.int32], missing: NDArray[np.bool_]) -> bytes:
    steps[1:] -= steps[:-1].copy()
    deltas = steps.astype("<i4", copy=False)
    if len(steps) < len(missing):
        deltas = np.full(missing.shape, _MISSING, dtype="<i4")
        deltas[~missing] = steps
    return zlib.compress(deltas.view(np.uint8).reshape(-1, 4).T.tobytes(), 6)


def _unpack(block: bytes, scale: int, samples: int) -> FloatArray:
    raw = zlib.decompress(block)
    if scale == 0:
        values = np.frombuffer(raw, dtype="<f8").astype(np.float64)
    else:
        deltas = np.frombuffer(raw, dtype=np.uint8).reshape(4, -1).T.copy().view("<i4")[:, 0]
        missing = deltas == _MISSING
        values = np.full(deltas.shape, np.nan)
        values[~missing] = np.cumsum(deltas[~missing], dtype=np.int64) / scale
    if values.size != samples:
        raise ValueError("a channel is short")
    return values


def _unpack_all(data: bytes) -> Profile:
    (head_length,) = struct.unpack_from("<I", data, 4)
    at = 8 + head_length
    header: dict[str, Any] = json.loads(zlib.decompress(data[8:at]).decode("utf-8", _HALF_CHARACTERS))
    series: dict[str, FloatArray] = {}
    for name, scale, length in header["channels"]:
        series[name] = _unpack(data[at : at + length], scale, header["samples"])
        at += length
    if at != len(data):
        raise ValueError("there are bytes left over")
    return Profile(
        time_s=series.pop("time_s"),
        depth_m=series.pop("depth_m"),
        channels=series,
        switches=tuple(GasSwitch(float(time_s), int(cylinder)) for time_s, cylinder in header["switches"]),
        remarks=tuple(Remark(float(time_s), str(text)) for time_s, text in header["remarks"]),
    )

"""One dive in the letters of a picture code, so that two devices need no network to hand it over.

**The letters.** `LEADLINE/1:`, then the deflated record in base 45. **The record** is a run of
whole numbers, seven bits a byte with the rest to follow: start and length in seconds, depths in tenths of a
metre, pressures in bar, shares of a gas in tenths of a percent; names are UTF-8 after their length. Of the
samples only the times and depths travel, each as its difference from the one before.

A recorder's second and decimetre come through unchanged; what is finer is rounded, and what is left out is
said (`left_out`). What is read may come from anybody: it is bounded before it is unfolded, and refused in
one sentence where it is no dive.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Final

import numpy as np

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.diver_settings import LONGEST_NAME
from logbook_app.dive.problems import LeadlineError, RefusedFile, RefusedRecord
from logbook_app.dive.profile import FloatArray, GasSwitch, Profile
from logbook_app.dive.record import GREATEST_DEPTH_M, LONGEST_DIVE_MIN, Dive, Site, Water
from logbook_app.files.base45 import from_base45, to_base45
from logbook_app.files.read_dive import ReadDive, ReadOptions, recorded
from logbook_app.language import _
from logbook_app.physics.breathing_gas import BreathingGas

MARK: Final = "LEADLINE/"
VERSION: Final = 1
MOST_LETTERS: Final = 4296  # the largest picture code there is holds no more
MOST_BYTES: Final = 400_000  # unfolded: a day at a sample a second
MOST_SAMPLES: Final = 90_000
MOST_CYLINDERS: Final = 16
MOST_SWITCHES: Final = 200
_FIRST_DAY: Final = datetime(2000, 1, 1, tzinfo=UTC)
_LOWEST_M: Final = -1000  # of an elevation
_WATERS: Final = tuple(Water)


def picture_code(dive: Dive, profile: Profile | None, diver: str) -> str:
    """Return a dive as the letters of a picture code.

    diver   whose dive it is; never empty, or it would count in the load of whoever reads it

    Raises RefusedRecord where there are no samples or nobody's name.
    """
    diver = _printable(diver).strip()
    if not diver:
        raise RefusedRecord(_("Write down your name first: else the dive would count as the reader's own."))
    if profile is None:
        raise RefusedRecord(_("This dive has no samples, only its depth and time; tell them instead."))
    if not _is_fit(profile.time_s, profile.depth_m):
        raise RefusedRecord(_("The samples of this dive cannot be right; hand it over as a file."))
    packed = zlib.compress(b"".join(_numbers(dive, profile, diver)), 9)
    return f"{MARK}{VERSION}:{to_base45(packed)}"


def left_out(dive: Dive, profile: Profile) -> list[str]:
    """Return what this dive has that its picture code does not carry, in words."""
    channels = " ".join(profile.channels)
    found = {
        _("temperatures along the dive"): "temperature" in channels,
        _("pressures along the dive"): "pressure" in channels,
        _("marks of the recorder"): bool(profile.remarks),
        _("notes"): bool(dive.notes or dive.conditions or dive.purpose),
        _("kit and weights"): bool(dive.kit or dive.weights_kg or dive.suit),
        _("buddies, tags and rating"): bool(dive.buddies or dive.tags or dive.rating),
        _("photos"): bool(dive.photos),
        _("samples closer together than a second"): len(_whole_seconds(profile)[0]) < len(profile),
    }
    return [words for words, there in found.items() if there]


def parse_picture_code(text: str, name: str, options: ReadOptions = ReadOptions()) -> ReadDive:  # noqa: B008 (frozen)
    """Return the dive in the letters of a picture code.

    name   of the picture, for the record and for what is said
    Raises RefusedFile, in one sentence, for what is no dive, damaged, or of another version.
    """
    mark, _colon, letters = text.partition(":")
    if not mark.startswith(MARK) or len(text) > MOST_LETTERS:
        raise RefusedFile(_("{name} shows a picture code that holds no dive.").format(name=name))
    if mark != f"{MARK}{VERSION}":
        raise RefusedFile(
            _("{name} shows a dive of another version of Leadline; update the older of the two.").format(
                name=name
            )
        )
    try:
        dive, profile = _unpacked(_unfolded(from_base45(letters)))
    except (ValueError, OverflowError, zlib.error, LeadlineError) as error:
        raise RefusedFile(
            _("{name} shows a picture code that is damaged; take the photo again.").format(name=name)
        ) from error
    whose = options.diver or ("" if dive.diver == options.owner else dive.diver)
    return recorded(replace(dive, diver=whose), profile, recorder="", file_name=name)


def _numbers(dive: Dive, profile: Profile, diver: str) -> Iterator[bytes]:
    yield from map(_signed, (round((dive.began_at - _FIRST_DAY).total_seconds()), dive.utc_offset_min))
    yield from map(_whole, (max(1, round(dive.duration_min * 60)), max(1, round(dive.max_depth_m * 10))))
    yield _perhaps(dive.surface_bar, 1000)
    elevation_m = dive.surface_elevation_m
    yield _perhaps(None if elevation_m is None else elevation_m - _LOWEST_M, 1)
    yield _whole(_WATERS.index(dive.water))
    yield _perhaps(None if dive.lowest_temperature_c is None else dive.lowest_temperature_c + 100, 10)
    yield from map(_name, (diver, dive.site.name if dive.site else ""))
    cylinders = dive.cylinders[:MOST_CYLINDERS]
    yield _whole(len(cylinders))
    for cylinder in cylinders:
        yield from _of_cylinder(cylinder)
    switches = [each for each in profile.switches if each.cylinder < len(cylinders)][:MOST_SWITCHES]
    yield _whole(len(switches))
    for switch in switches:
        yield _signed(round(switch.time_s)) + _whole(switch.cylinder)
    time_s, depth_dm = _whole_seconds(profile)
    yield _whole(len(time_s))
    yield from map(_signed, np.diff(time_s, prepend=0).tolist())
    yield from map(_signed, np.diff(depth_dm, prepend=0).tolist())


def _of_cylinder(cylinder: Cylinder) -> Iterator[bytes]:
    gas = cylinder.gas
    yield _perhaps(None if gas is None else gas.oxygen, 1000)
    yield _perhaps(None if gas is None else gas.helium, 1000)
    yield _perhaps(None if cylinder.volume_l is None else max(0.1, cylinder.volume_l), 10)
    yield from (_perhaps(each, 1) for each in (cylinder.start_bar, cylinder.end_bar))


def _whole_seconds(profile: Profile) -> tuple[np.ndarray, np.ndarray]:
    """Return times in whole seconds and depths in whole decimetres; of one second the deepest."""
    time_s = np.rint(profile.time_s).astype(np.int64)
    depth_dm = np.rint(profile.depth_m * 10).astype(np.int64)
    kept, first = np.unique(time_s, return_index=True)
    return kept, np.maximum.reduceat(depth_dm, first)


def _unfolded(packed: bytes) -> bytes:
    unfold = zlib.decompressobj()
    data = unfold.decompress(packed, MOST_BYTES)
    if not unfold.eof or unfold.unused_data:
        raise ValueError("more than a dive, or less")
    return data


def _unpacked(data: bytes) -> tuple[Dive, Profile]:
    told = _Told(data)
    began_s, utc_offset_min = told.signed(), told.signed()
    duration_s, depth_dm = told.whole(), told.whole()
    surface_bar, elevation = told.perhaps(1000), told.perhaps(1)
    water = _WATERS[told.at_most(len(_WATERS) - 1)]
    temperature = told.perhaps(10)
    diver, site = told.name(), told.name()
    cylinders = tuple(_cylinder(told) for _place in range(told.at_most(MOST_CYLINDERS)))
    switches = tuple(_switch(told) for _place in range(told.at_most(MOST_SWITCHES)))
    profile = replace(_samples(told), switches=switches)
    told.ends()
    if not diver or any(switch.cylinder >= len(cylinders) for switch in switches):
        raise ValueError("nobody's dive, or a switch to no cylinder")
    dive = Dive(
        began_at=_FIRST_DAY + timedelta(seconds=began_s),
        utc_offset_min=utc_offset_min,
        duration_min=duration_s / 60,
        max_depth_m=depth_dm / 10,
        diver=diver,
        site=Site.named(site) if site else None,
        surface_bar=surface_bar,
        elevation_m=None if elevation is None else elevation + _LOWEST_M,
        water=water,
        lowest_temperature_c=None if temperature is None else round(temperature - 100, 1),
        cylinders=cylinders,
    )
    return dive, profile


def _cylinder(told: _Told) -> Cylinder:
    oxygen, helium = told.perhaps(1000), told.perhaps(1000)
    gas = None if oxygen is None else BreathingGas(oxygen, helium or 0.0)
    return Cylinder(gas, told.perhaps(10), told.perhaps(1), told.perhaps(1))


def _switch(told: _Told) -> GasSwitch:
    return GasSwitch(float(told.signed()), told.whole())


def _samples(told: _Told) -> Profile:
    count = told.at_most(MOST_SAMPLES)
    if not count:
        raise ValueError("no samples")
    time_s, depth_dm = (np.cumsum([told.signed() for _place in range(count)]) for _line in range(2))
    times, depths = time_s.astype(np.float64), np.round(depth_dm / 10, 1)
    if not _is_fit(times, depths):
        raise ValueError("nobody dives so deep, or so long")
    return Profile(times, depths)


def _is_fit(time_s: FloatArray, depth_m: FloatArray) -> bool:
    """Return whether these can be the samples of a dive; a code carries nothing else."""
    spread_s = np.unique(np.rint(time_s))
    fits = np.abs(depth_m).max() <= GREATEST_DEPTH_M and np.abs(time_s).max() <= 60 * LONGEST_DIVE_MIN
    return bool(fits) and 2 <= len(spread_s) <= MOST_SAMPLES


class _Told:
    """The numbers of a record, one after the other. Raises ValueError where they are none of ours."""

    def __init__(self, data: bytes) -> None:
        self._data, self._at = data, 0

    def whole(self) -> int:
        value = 0
        for place in range(0, 42, 7):
            byte = self._byte()
            value |= (byte & 0x7F) << place
            if byte < 0x80:
                return value
        raise ValueError("a number without an end")

    def signed(self) -> int:
        value = self.whole()
        return value >> 1 if value % 2 == 0 else -(value >> 1) - 1

    def at_most(self, most: int) -> int:
        value = self.whole()
        if value > most:
            raise ValueError("more than there can be")
        return value

    def perhaps(self, parts: int) -> float | None:
        value = self.whole()
        return (value - 1) / parts if value else None

    def name(self) -> str:
        length = self.at_most(4 * LONGEST_NAME)
        self._at += length
        name = self._data[self._at - length : self._at].decode()
        if len(name) > LONGEST_NAME or (name and not name.isprintable()):
            raise ValueError("no name")
        return name

    def ends(self) -> None:
        if self._at != len(self._data):
            raise ValueError("more than a dive, or less")

    def _byte(self) -> int:
        if self._at >= len(self._data):
            raise ValueError("less than a dive")
        self._at += 1
        return self._data[self._at - 1]


def _whole(value: int) -> bytes:
    found = bytearray()
    while value > 0x7F:
        found.append(value & 0x7F | 0x80)
        value >>= 7
    return bytes([*found, value])


def _signed(value: int) -> bytes:
    return _whole(2 * value if value >= 0 else -2 * value - 1)


def _perhaps(value: float | None, parts: int) -> bytes:
    """Return a quantity in so many parts of its unit, with nothing as nought."""
    return _whole(0 if value is None else max(0, round(value * parts)) + 1)


def _name(name: str) -> bytes:
    kept = _printable(name)[:LONGEST_NAME].encode()
    return _whole(len(kept)) + kept


def _printable(text: str) -> str:
    return "".join(letter for letter in text if letter.isprintable())

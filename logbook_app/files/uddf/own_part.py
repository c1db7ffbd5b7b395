"""Leadline's own part of a UDDF dive: what the standard's elements do not give back.

It stands in `applicationdata`, in a namespace of its own, and other programs may ignore it:

    <applicationdata>
      <leadline:record xmlns:leadline="urn:leadline:logbook:1">{"id": ..., ...}</leadline:record>
      <leadline:samples xmlns:leadline="..." recording="0" channel="3">nan 1.5 ...</leadline:samples>
    </applicationdata>

The record is a JSON object:

    id, diver, recordings   as the logbook has them
    instead    for each key of `dive_to_json` that the standard's elements give back differently: what
               they give and what is meant. A value of `extra` is named "extra:" and its key
    samples    for each recording: null where it has none, true where they are those of the
               standard's waypoints, else `channels` (names), `switches`, `remarks` and `of`, which
               names the waypoints that they stand beside

A `samples` element holds a part of one channel; parts follow each other. A channel without any
is that of the waypoints.

What is meant counts only where the standard's element still gives what it gave: a program that
corrected a note or took out a sample is believed, and the dive says so.
"""

from __future__ import annotations

import hashlib
import json
from array import array
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final
from xml.etree.ElementTree import Element  # the class only; parsing is defusedxml's

import numpy as np

from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.profile import FloatArray, GasSwitch, Profile, Remark
from logbook_app.dive.record import Dive
from logbook_app.files.json_pieces import parsed
from logbook_app.files.logbook_json import Json, dive_to_json
from logbook_app.files.logbook_json_reader import dive_from_json
from logbook_app.files.read_dive import ReadDive, kept_again
from logbook_app.files.uddf.fields import Odd
from logbook_app.files.uddf.xml_text import OWN_NAMESPACE, OWN_PREFIX, UNFIT
from logbook_app.language import _

RECORD: Final = f"{OWN_PREFIX}record"
SAMPLES: Final = f"{OWN_PREFIX}samples"
MOST_VALUES: Final = 10_000_000  # of all channels of one dive; twenty channels of its longest
_VALUES_IN_A_PART: Final = 2000
_OWN: Final = {"id", "diver", "recordings"}  # stand in the record by themselves
_EXTRA: Final = "extra:"


def own_part(dive: Dive, profiles: Sequence[Profile | None], given: ReadDive) -> Iterator[Element]:
    """Yield the elements that make of a dive, as the standard's elements give it, the dive that is meant.

    profiles  the samples of each of its recordings
    given     what a reader makes of the standard's elements
    """
    entries, parts = [], []
    for place, profile in enumerate(profiles):
        entry, of_profile = _told_samples(place, profile, given.profile if place == 0 else None)
        entries.append(entry)
        parts += of_profile
    record = {
        "id": dive.id,
        "diver": dive.diver,
        "recordings": dive_to_json(dive)["recordings"],
        "instead": _differences(_flat(given.dive), _flat(dive)),
        "samples": entries,
    }
    element = Element(f"{{{OWN_NAMESPACE}}}record")
    element.text = _xml_json(record)
    yield element
    for part in parts:
        yield from part


def _xml_json(record: Json) -> str:
    """Return a record as JSON in which a character that XML cannot hold is an escape."""
    text = json.dumps(record, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return UNFIT.sub(lambda unfit: f"\\u{ord(unfit[0]):04x}", text)


def _flat(dive: Dive) -> Json:
    """Return the record as JSON, each value of `extra` under a key of its own."""
    told = dive_to_json(dive)
    extra = told.pop("extra")
    kept = {name: value for name, value in told.items() if name not in _OWN}
    return kept | {_EXTRA + name: text for name, text in extra.items()}


def _differences(given: Json, meant: Json) -> dict[str, list[Any]]:
    return {
        name: [given.get(name), meant.get(name)]
        for name in given | meant
        if given.get(name) != meant.get(name)
    }


def _told_samples(
    place: int, profile: Profile | None, given: Profile | None
) -> tuple[Json | bool | None, list[Iterator[Element]]]:
    if profile is None:
        return None, []
    if profile == given:
        return True, []
    channels, beside = _channels(profile), _channels(given) if given is not None else {}
    if not all(_same(channels[name], beside.get(name)) for name in ("time_s", "depth_m")):
        beside = {}
    entry: Json = {
        "of": _digest(given),
        "channels": list(channels),
        "switches": [[switch.time_s, switch.cylinder] for switch in profile.switches],
        "remarks": [[remark.time_s, remark.text] for remark in profile.remarks],
    }
    return entry, [
        _parts(place, number, values)
        for number, (name, values) in enumerate(channels.items())
        if not _same(values, beside.get(name))
    ]


def _parts(recording: int, channel: int, values: FloatArray) -> Iterator[Element]:
    for start in range(0, len(values), _VALUES_IN_A_PART):
        part = Element(f"{{{OWN_NAMESPACE}}}samples", {"recording": str(recording), "channel": str(channel)})
        part.text = " ".join(repr(float(value)) for value in values[start : start + _VALUES_IN_A_PART])
        yield part


def _channels(profile: Profile) -> dict[str, FloatArray]:
    return {"time_s": profile.time_s, "depth_m": profile.depth_m, **profile.channels}


def _same(one: FloatArray, other: FloatArray | None) -> bool:
    return other is not None and _bytes(one) == _bytes(other)


def _bytes(values: FloatArray) -> bytes:
    return np.where(np.isnan(values), np.nan, values).astype("<f8").tobytes()  # there are many NaN


def _digest(profile: Profile | None) -> str:
    """Return a name of samples that does not depend on a device; empty where there are none."""
    if profile is None:
        return ""
    digest = hashlib.sha256()
    for name, values in sorted(_channels(profile).items()):
        digest.update(f"{name}\n".encode("utf-8", "surrogatepass"))
        digest.update(_bytes(values))
    marks = [[s.time_s, s.cylinder] for s in profile.switches], [[r.time_s, r.text] for r in profile.remarks]
    digest.update(json.dumps(marks).encode())
    return digest.hexdigest()


@dataclass(frozen=True, slots=True)
class Restored:
    """A dive as it is meant; `exact` is False where another program has changed what it rests on."""

    read: ReadDive
    exact: bool


class OwnSamples:
    """The channels of one dive that stand in Leadline's own part, while they are being read."""

    def __init__(self) -> None:
        self._values: dict[tuple[int, int], array[float]] = {}
        self._count = 0
        self._damaged = False

    def add(self, part: Element) -> None:
        """Take in a part of a channel."""
        try:
            key = (int(part.get("recording", "")), int(part.get("channel", "")))
            values = array("d", map(float, (part.text or "").split()))
        except ValueError:
            self._damaged = True
            return
        self._count += len(values)
        self._damaged = self._damaged or self._count > MOST_VALUES
        if not self._damaged:
            self._values.setdefault(key, array("d")).extend(values)

    def channel(self, recording: int, channel: int) -> FloatArray | None:
        """Return a whole channel, None where none of it stands here.

        Raises RefusedRecord where the parts cannot be read or are more than a dive can have.
        """
        if self._damaged:
            raise RefusedRecord(_("its samples cannot be read"))
        values = self._values.get((recording, channel))
        return None if values is None else np.array(values)


def restored(record: str, samples: OwnSamples, given: ReadDive, diver: str, odd: Odd) -> Restored:
    """Return the dive that is meant by the standard's elements and Leadline's own part together.

    record  text of the record element, empty where there is none
    given   what the standard's elements give
    diver   whose dives the reader says they are
    odd     is told where the own part cannot be used, or no longer fits
    """
    if not record:
        return Restored(given, False)
    try:
        return _Restoring(parsed(record), samples, given).dive(diver, odd)
    except (RefusedRecord, ValueError, TypeError, KeyError, AttributeError, OverflowError) as error:
        odd(
            _("what Leadline had written beside the standard's elements cannot be used ({error})").format(
                error=error
            )
        )
        return Restored(given, False)


class _Restoring:
    def __init__(self, told: Mapping[str, Any], samples: OwnSamples, given: ReadDive) -> None:
        self._told = told
        self._samples = samples
        self._given = given
        self._changed: list[str] = []

    def dive(self, diver: str, odd: Odd) -> Restored:
        dive = self._record()
        profiles = [self._profile(place, entry) for place, entry in enumerate(self._told["samples"])]
        if not dive.recordings and self._given.profile is not None:
            self._changed.append("samples")
            dive, profiles = replace(dive, recordings=self._given.dive.recordings), [self._given.profile]
        if self._changed:
            odd(
                _("was changed after Leadline had written it ({changed}); the change was kept").format(
                    changed=", ".join(self._changed)
                )
            )
        return Restored(kept_again(dive, profiles, diver), not self._changed)

    def _record(self) -> Dive:
        record = _flat(self._given.dive)
        for name, (was, meant) in self._told["instead"].items():
            if record.get(name) == was:
                record[name] = meant
            elif record.get(name) != meant:
                self._changed.append(name.removeprefix(_EXTRA))
        extra = {
            name.removeprefix(_EXTRA): text
            for name, text in record.items()
            if name.startswith(_EXTRA) and text is not None
        }
        plain = {name: value for name, value in record.items() if not name.startswith(_EXTRA)}
        own = {name: self._told[name] for name in _OWN}
        return dive_from_json({**plain, **own, "extra": extra})

    def _profile(self, place: int, entry: Any) -> Profile | None:
        given = self._given.profile if place == 0 else None
        if entry is None or entry is True:
            return given
        if entry["of"] != _digest(given):
            self._changed.append("samples")
            return given
        channels = {
            name: self._channel(place, number, name, given) for number, name in enumerate(entry["channels"])
        }
        return Profile(
            time_s=channels.pop("time_s"),
            depth_m=channels.pop("depth_m"),
            channels=channels,
            switches=tuple(GasSwitch(float(time_s), int(cylinder)) for time_s, cylinder in entry["switches"]),
            remarks=tuple(Remark(float(time_s), str(text)) for time_s, text in entry["remarks"]),
        )

    def _channel(self, place: int, number: int, name: str, given: Profile | None) -> FloatArray:
        values = self._samples.channel(place, number)
        if values is None and given is not None:
            values = _channels(given).get(name)
        if values is None:
            raise RefusedRecord(_("the channel {name} is missing").format(name=name))
        return values

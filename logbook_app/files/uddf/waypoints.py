"""The waypoints of one dive become a profile.

Waypoints arrive one by one and are let go at once; only their numbers stay. A waypoint without a
usable time or depth is left out and counted, and so is one whose time does not come after the
sample before. What it marks (a change of gas, an alarm) is kept all the same: a mark has
its own time and needs no depth, and a lost change of gas would be a wrong loading.

Depth stays as it was recorded, the small negative readings of a gauge at the surface included.
"""

from __future__ import annotations

from array import array
from collections.abc import Mapping
from dataclasses import dataclass
from math import nan
from typing import Final

import numpy as np

from logbook_app.dive.profile import FloatArray, Remark
from logbook_app.files.uddf.block_columns import Columns, columns_of
from logbook_app.files.uddf.channels import CHANNELS, DEPTHS_M, TIMES_S
from logbook_app.files.uddf.fields import GAUGE_PA, Odd, Span, parse_number, shown, tidy
from logbook_app.files.uddf.plain_waypoints import Block, Sampled, Waypoint
from logbook_app.files.uddf.unread import UNREAD
from logbook_app.language import _, later, ngettext
from logbook_app.physics.units import bar_from_pascals

MOST_SAMPLES: Final = 500_000  # two days at three samples a second
MOST_MARKS: Final = 20_000
MOST_COLUMNS: Final = 50  # of tank pressures, and as many of everything else
_STOP_DEPTH, _STOP_MIN = "recorded_stop_depth_m", "recorded_stop_min"


@dataclass(frozen=True, slots=True)
class Reference:
    """At this time the file names a mix or a cylinder to breathe from; `kind` tells which."""

    time_s: float
    kind: str
    ref: str


ON_LOOP: Final = "on_loop"
"""Channel: 1 where the closed circuit begins to be breathed, 0 where the open one does."""


class Waypoints:
    """The samples of one dive while they are being read.

    Columns of tank pressure are keyed by the id that the file gives, empty where it gives none;
    which cylinder that is can only be told when the whole dive has been read.
    """

    def __init__(self) -> None:
        self.switches: list[Reference] = []
        self.remarks: list[Remark] = []
        self.unread: list[tuple[float, str]] = []
        self.seen = 0
        self._time_s = array("d")
        self._depth_m = array("d")
        self._columns: dict[str, array[float]] = {}
        self._pressures: dict[str, array[float]] = {}
        self._left_out: dict[str, tuple[int, str]] = {}
        self._unusable: dict[tuple[str, str], tuple[int, str]] = {}
        self._alarms: tuple[str, ...] = ()
        self._stop: tuple[str, str] | None = None
        self._more_marks = 0

    def __len__(self) -> int:
        return len(self._time_s)

    @property
    def first_s(self) -> float:
        """Time of the first sample that was kept, zero where there is none. [s]"""
        return self._time_s[0] if self._time_s else 0.0

    @property
    def time_s(self) -> FloatArray:
        """Times of the samples that were kept (n,). [s]"""
        return np.array(self._time_s)

    @property
    def depth_m(self) -> FloatArray:
        """Depths of the samples that were kept (n,). [m]"""
        return np.array(self._depth_m)

    def take_as_rebreather(self) -> None:
        """Take the whole dive as on the loop where no waypoint says which circuit it was."""
        if ON_LOOP not in self._columns and self._time_s:
            self._columns[ON_LOOP] = array("d", [1.0])

    def on_loop_without_oxygen(self) -> bool:
        """Tell whether a loop was dived whose oxygen pressure nobody wrote down."""
        oxygen = ("measured_ppo2_bar", "set_ppo2_bar", "ppo2_bar")
        return 1.0 in self._columns.get(ON_LOOP, ()) and not any(name in self._columns for name in oxygen)

    def channels(self) -> dict[str, FloatArray]:
        """Return what else was sampled, each (n,), NaN where a sample has no value."""
        return {name: self._filled(column) for name, column in self._columns.items()}

    def pressures_bar(self) -> dict[str, FloatArray]:
        """Return the tank pressures by the id that the file gives for the tank, each (n,)."""
        return {ref: self._filled(column) for ref, column in self._pressures.items()}

    def add(self, sampled: Sampled) -> None:
        """Take in one waypoint or many."""
        if isinstance(sampled, Block):
            self._add_block(sampled)
        else:
            self._add_waypoint(sampled)

    def _add_waypoint(self, waypoint: Waypoint) -> None:
        self.seen += 1
        told_time = told_depth = None
        others = []
        for part in waypoint:
            if part[0] == "depth":
                told_depth = part[1] if told_depth is None else told_depth
            elif part[0] == "divetime":
                told_time = part[1] if told_time is None else told_time
            else:
                others.append(part)
        time_s = self._usable_time(told_time)
        kept = self._kept(time_s, told_time, parse_number(told_depth))
        if others or self._alarms or self._stop:  # most samples have nothing but time and depth
            at_s = time_s if time_s is not None else (self._time_s[-1] if self._time_s else 0.0)
            self._take_marks(others, at_s)
            if kept:
                self._take_values(others)

    def _add_block(self, block: Block) -> None:
        columns = columns_of(block)
        if columns is None or not self._follows(columns):
            for waypoint in block.waypoints():
                self._add_waypoint(waypoint)
            return
        self.seen += block.count
        self._alarms, self._stop = (), None
        self._time_s.frombytes(columns.time_s.tobytes())
        self._depth_m.frombytes(columns.depth_m.tobytes())
        for name, values in columns.channels.items():
            self._put_many(self._columns, name, values)
        for ref, values in columns.pressures_bar.items():
            self._put_many(self._pressures, ref, values)

    def _follows(self, columns: Columns) -> bool:
        """Tell whether there is room for all of it, and it comes after the samples so far."""
        return (
            not (self._time_s and columns.time_s[0] <= self._time_s[-1])
            and len(self._time_s) + len(columns.time_s) <= MOST_SAMPLES
            and len(self._columns.keys() | columns.channels.keys()) <= MOST_COLUMNS
            and len(self._pressures.keys() | columns.pressures_bar.keys()) <= MOST_COLUMNS
        )

    def report(self, odd: Odd) -> None:
        """Say in one sentence a kind what was left out."""
        if self._left_out:
            count = sum(number for number, _first in self._left_out.values())
            reason = _("{count} {why}, first {first}")
            reasons = "; ".join(
                reason.format(count=number, why=why, first=first)
                for why, (number, first) in self._left_out.items()
            )
            odd(
                _("{count} of {seen} waypoints were left out (what they mark was kept): {reasons}").format(
                    count=count, seen=self.seen, reasons=reasons
                )
            )
        for (tag, _why), (number, first) in self._unusable.items():
            left_out = ngettext(
                "{count} {tag} value was left out, the first {first}",
                "{count} {tag} values were left out, the first {first}",
                number,
            )
            odd(left_out.format(count=number, tag=tag, first=first))

        if self._more_marks:
            odd(
                _("{more_marks} marks beyond {most} were left out").format(
                    more_marks=f"{self._more_marks:,}", most=f"{MOST_MARKS:,}"
                )
            )

    def _usable_time(self, told: str | None) -> float | None:
        time_s = parse_number(told)
        return time_s if time_s is not None and TIMES_S.holds(time_s) else None

    def _kept(self, time_s: float | None, told_time: str | None, depth_m: float | None) -> bool:
        if time_s is None:
            self._leave_out(_("without a usable time"), shown(told_time))
        elif depth_m is None or not DEPTHS_M.holds(depth_m):
            self._leave_out(_("without a usable depth"), _at(time_s))
        elif self._time_s and time_s <= self._time_s[-1]:
            self._leave_out(_("not later than the one before"), _at(time_s))
        elif len(self._time_s) >= MOST_SAMPLES:
            self._leave_out(_("beyond {most} samples").format(most=f"{MOST_SAMPLES:,}"), _at(time_s))
        else:
            self._time_s.append(time_s)
            self._depth_m.append(depth_m)
            return True
        return False

    def _leave_out(self, why: str, first: str) -> None:
        number, kept_first = self._left_out.get(why, (0, first))
        self._left_out[why] = (number + 1, kept_first)

    def _take_marks(self, parts: Waypoint, at_s: float) -> None:
        alarms: list[str] = []
        stop: tuple[str, str] | None = None
        for name, text, attributes in parts:
            if name in {"switchmix", "switchtank"}:
                self._switch(Reference(at_s, name, attributes.get("ref", "").strip()))
            elif name == "alarm":
                alarms.append(_one_line(text))
            elif name == "setmarker":
                self._remark(at_s, f"bookmark {_one_line(text)}".strip())
            elif name == "decostop":
                stop = (attributes.get("kind", "").strip(), attributes.get("decodepth", "").strip())
                if stop != self._stop:
                    self._remark(at_s, _stop_words(attributes))
            elif name == UNREAD:
                self.unread.append((at_s, text))
        # A recorder that writes an alarm or a stop at every sample means one that goes on.
        for alarm in dict.fromkeys(alarms):
            if alarm not in self._alarms:
                self._remark(at_s, f"alarm: {alarm}")
        self._alarms, self._stop = tuple(alarms), stop

    def _switch(self, reference: Reference) -> None:
        """Note a change of gas; a recorder that names the gas at every sample changes nothing."""
        before = self.switches[-1] if self.switches else None
        if before is None or (before.kind, before.ref) != (reference.kind, reference.ref):
            if len(self.switches) < MOST_MARKS:
                self.switches.append(reference)
            else:
                self._more_marks += 1

    def _remark(self, at_s: float, text: str) -> None:
        if len(self.remarks) < MOST_MARKS:
            self.remarks.append(Remark(at_s, text))
        else:
            self._more_marks += 1

    def _take_values(self, parts: Waypoint) -> None:
        sensors: dict[str, int] = {}
        for name, text, attributes in parts:
            if name == "tankpressure":
                self._take_pressure(text, attributes)
            elif name == "decostop":
                self._take_stop(attributes)
            elif name == "divemode":
                self._put(self._columns, ON_LOOP, float(attributes.get("type", "").strip() in _CLOSED))
            elif channel := CHANNELS.get(name):
                place = sensors[channel.name] = sensors.get(channel.name, -1) + 1
                column = channel.name if place == 0 else f"{channel.name}_{place + 1}"
                value = self._value(name, text, channel.span)
                if value is not None:
                    self._put(self._columns, column, tidy(channel.convert(value)))

    def _take_pressure(self, text: str, attributes: Mapping[str, str]) -> None:
        # "ref" in the schema and the text of the documentation, "tankref" in one of its examples
        ref = (attributes.get("ref") or attributes.get("tankref") or "").strip()
        value = self._value("tankpressure", text, GAUGE_PA)
        if value is not None:
            self._put(self._pressures, ref, tidy(bar_from_pascals(value)))

    def _take_stop(self, attributes: Mapping[str, str]) -> None:
        depth_m = parse_number(attributes.get("decodepth"))
        duration_s = parse_number(attributes.get("duration"))
        if depth_m is not None:
            self._put(self._columns, _STOP_DEPTH, depth_m)
        if duration_s is not None:
            self._put(self._columns, _STOP_MIN, duration_s / 60.0)

    def _value(self, name: str, text: str, span: Span) -> float | None:
        value = parse_number(text)
        if value is not None and span.holds(value):
            return value
        self._note_unusable(name, span.why if value is not None else later("which is no number"), shown(text))
        return None

    def _note_unusable(self, tag: str, why: str, value: str) -> None:
        number, first = self._unusable.get((tag, why), (0, ""))
        self._unusable[tag, why] = (number + 1, first or f"{value} {_at(self._time_s[-1])}, {_(why)}")

    def _put(self, columns: dict[str, array[float]], name: str, value: float) -> None:
        if name not in columns and len(columns) >= MOST_COLUMNS:
            self._note_unusable("sampled", later("of yet another tank or sensor"), name)
            return
        column = columns.setdefault(name, array("d"))
        missing = len(self._time_s) - 1 - len(column)
        if missing < 0:  # the same thing twice in one waypoint: the first stays
            return
        column.extend([nan] * missing)
        column.append(value)

    def _put_many(self, columns: dict[str, array[float]], name: str, values: FloatArray) -> None:
        """Put values for the samples that were taken in last, NaN where one has none."""
        column = columns.setdefault(name, array("d"))
        column.extend([nan] * (len(self._time_s) - len(values) - len(column)))
        column.frombytes(values.tobytes())

    def _filled(self, column: array[float]) -> FloatArray:
        values = np.full(len(self._time_s), np.nan)
        values[: len(column)] = column
        return values


_CLOSED: Final = frozenset({"closedcircuit", "semiclosedcircuit"})


def _one_line(text: str) -> str:
    return " ".join(text.split())[:200]


def _stop_words(stop: Mapping[str, str]) -> str:
    kind = stop.get("kind", "").strip() or "recorded"
    depth_m, duration_s = parse_number(stop.get("decodepth")), parse_number(stop.get("duration"))
    words = f"{kind} stop"
    if depth_m is not None:
        words += f" {depth_m:g} m"
    return words if duration_s is None else f"{words}, {duration_s / 60:g} min"


def _at(time_s: float) -> str:
    return _("at {time} s").format(time=f"{time_s:g}")

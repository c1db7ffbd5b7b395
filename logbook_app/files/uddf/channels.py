"""What the numbers in a waypoint can be, and which channel of the profile each becomes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Protocol

from logbook_app.dive.record import GREATEST_DEPTH_M, LONGEST_DIVE_MIN
from logbook_app.files.uddf.fields import KELVIN, Span
from logbook_app.language import later
from logbook_app.physics.units import Numbers, bar_from_pascals, celsius_from_kelvin

LONGEST_S: Final = LONGEST_DIVE_MIN * 60.0
TIMES_S: Final = Span(0.0, LONGEST_S, later("without a usable time"))
DEPTHS_M: Final = Span(-20.0, GREATEST_DEPTH_M, later("a depth that cannot be"))


class Convert(Protocol):
    """Turns a number in the unit of the standard into that of the record; an array of them as well."""

    def __call__(self, number: Numbers, /) -> Numbers: ...


def _minutes(seconds: Numbers) -> Numbers:
    return seconds / 60.0


def _same(value: Numbers) -> Numbers:
    return value


@dataclass(frozen=True, slots=True)
class Channel:
    """How one child of a waypoint becomes a channel of the profile."""

    name: str
    span: Span
    convert: Convert = _same


PO2_PA: Final = Span(1000.0, 1e6, later("which is no oxygen pressure in pascals"))
SECONDS_S: Final = Span(0.0, 1e7, later("which is no time in seconds"))
ANY: Final = Span(-1e9, 1e9, later("which is out of all proportion"))

CHANNELS: Final = {
    "temperature": Channel("temperature_c", KELVIN, celsius_from_kelvin),
    "bodytemperature": Channel("body_temperature_c", KELVIN, celsius_from_kelvin),
    "calculatedpo2": Channel("ppo2_bar", PO2_PA, bar_from_pascals),
    "measuredpo2": Channel("measured_ppo2_bar", PO2_PA, bar_from_pascals),
    "ppo2": Channel("measured_ppo2_bar", PO2_PA, bar_from_pascals),
    "setpo2": Channel("set_ppo2_bar", PO2_PA, bar_from_pascals),
    "nodecotime": Channel("recorded_no_stop_min", SECONDS_S, _minutes),
    "timetosurface": Channel("recorded_time_to_surface_min", SECONDS_S, _minutes),
    "remainingbottomtime": Channel("remaining_bottom_min", SECONDS_S, _minutes),
    "remainingo2time": Channel("remaining_oxygen_min", SECONDS_S, _minutes),
    "cns": Channel("recorded_cns_as_written", Span(0.0, 1e5, later("which is no share of a limit"))),
    "otu": Channel("recorded_otu", Span(0.0, 1e5, later("which is no oxygen dose"))),
    "heading": Channel("heading_deg", Span(-360.0, 360.0, later("which is no heading in degrees"))),
    "heartrate": Channel("heart_rate_per_min", Span(0.0, 300.0, later("which is no heart rate"))),
    "pulserate": Channel("pulse_rate_per_min", Span(0.0, 300.0, later("which is no pulse rate"))),
    "gradientfactor": Channel("recorded_gradient_factor", ANY),
    "batterychargecondition": Channel("battery_charge", ANY),
}

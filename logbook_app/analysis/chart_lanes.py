"""What a chart shows under the section: quiet lines, each with a lane, a name and a scale of its own.

The scale of a lane says no more than it must: the least and the greatest value there was. Lines in one
lane differ by their dashes, and each dash stands beside its name.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from logbook_app.analysis.sampled import Sampled, nearest_sample
from logbook_app.analysis.section_of_dive import Section
from logbook_app.analysis.spoken_units import percent
from logbook_app.language import _, number
from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.units import FloatArray

Quantity = Literal["temperature", "pressure", "ppo2"]
NAMES: tuple[Quantity, ...] = ("temperature", "pressure", "ppo2")


@dataclass(frozen=True, eq=False, repr=False)
class LaneLine:
    """One line of a lane; `words` name it where there are several."""

    time_s: FloatArray
    values: FloatArray
    words: str = ""


@dataclass(frozen=True, eq=False, repr=False)
class Lane:
    """Lines that share a scale.

    short                   what it is called where `words` find no room; empty for the same
    low, high               values at the lower and the upper edge
    low_words, high_words   what they say; empty for nothing
    mark, mark_words        a value to rule a line at, and what it says; None for none
    """

    words: str
    lines: tuple[LaneLine, ...]
    low: float
    high: float
    low_words: str
    high_words: str
    mark: float | None = None
    mark_words: str = ""
    short: str = ""

    def share(self, values: FloatArray | float) -> FloatArray:
        """Return how far up the lane values stand, 0 to 1."""
        return np.asarray((np.asarray(values) - self.low) / (self.high - self.low))


def quantities(section: Section) -> tuple[Quantity, ...]:
    """Return what there is to show of a dive; nobody measured anything on a square profile."""
    if section.estimate:
        return ()
    there = {"temperature": section.temperature is not None, "pressure": bool(section.tanks), "ppo2": True}
    return tuple(name for name in NAMES if there[name])


def lanes(section: Section, chosen: list[str]) -> tuple[Lane, ...]:
    """Return the lanes that were chosen, of those that the dive has."""
    made = {"temperature": _temperature, "pressure": _pressure, "ppo2": _ppo2}
    return tuple(made[name](section) for name in quantities(section) if name in chosen)


def compartment_lane(section: Section, compartment: int) -> Lane:
    """Return the load of one compartment along the dive against its limit.

    compartment   its place, 0 to 15, the fastest first
    """
    loads = section.series.loads[:, compartment]
    greatest = float(loads.max())
    half_time = f"{number(float(ZHL16C.n2_half_time_min[compartment]), 'g')}"
    words = _("load of compartment {number}, half-time {minutes} min")
    return Lane(
        words=words.format(number=compartment + 1, minutes=half_time),
        lines=(LaneLine(section.series.time_s, loads),),
        low=min(0.0, float(loads.min())),
        high=max(1.0, greatest),
        low_words="",
        high_words=f"{greatest * 100:.0f} %" if greatest > 1.0 else "",
        mark=1.0,
        mark_words="100 %",
        short=_("no. {number}, {minutes} min").format(number=compartment + 1, minutes=half_time),
    )


def compartment_words(section: Section, compartment: int, time_s: float) -> str:
    """Return the load of one compartment at an instant: `compartment 5: 64 %`."""
    at = nearest_sample(section.sample_times_s, time_s)
    load = percent(float(section.series.loads[at, compartment]))
    return _("compartment {number}: {share}").format(number=compartment + 1, share=load)


def _temperature(section: Section) -> Lane:
    lines = tuple(_line(each) for each in (section.temperature,) if each is not None)
    return _lane(_("temperature"), lines, section.units.temperature, 1.0)


def _pressure(section: Section) -> Lane:
    lines = tuple(_line(tank) for tank in section.tanks)
    return _lane(_("tank pressure"), lines, section.units.pressure, 10.0)


def _ppo2(section: Section) -> Lane:
    lines = (LaneLine(section.series.time_s, section.series.ppo2_bar),)
    lane = _lane(_("oxygen pressure, ppO₂"), lines, lambda bar: f"{number(bar, '.2f')} bar", 0.1)
    return replace(lane, short="ppO₂")


def _line(sampled: Sampled) -> LaneLine:
    return LaneLine(sampled.time_s, sampled.values, sampled.words)


def _lane(words: str, lines: tuple[LaneLine, ...], say: Callable[[float], str], least: float) -> Lane:
    """Return a lane from the least to the greatest value; the scale spans `least` where that is more."""
    low = min(float(line.values.min()) for line in lines)
    high = max(float(line.values.max()) for line in lines)
    aside = max(0.0, least - (high - low)) / 2
    return Lane(words, lines, low - aside, high + aside, say(low), "" if say(high) == say(low) else say(high))

"""What the scrub card says about one instant of a dive, line by line.

It is asked for every frame in which a finger moves, so everything that can be looked up is.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from logbook_app.analysis.divers_together import divers_readout
from logbook_app.analysis.other_recording import beside_words
from logbook_app.analysis.sampled import nearest_sample
from logbook_app.analysis.spoken_units import percent, spoken_time
from logbook_app.language import _, number

if TYPE_CHECKING:
    from logbook_app.analysis.section_of_dive import Mark, Section

NEAR_A_MARK_S = 12.0  # about the width of a fingertip on the chart of an hour's dive


def readout(section: Section, time_s: float) -> list[str]:
    """Return what is known of one instant; the first line leads.

    Depth is read off the line; everything else is the value of the nearest sample that has one.
    """
    if section.divers:
        return divers_readout(section, time_s)
    at = nearest_sample(section.sample_times_s, time_s)
    leading = [spoken_time(time_s), section.units.depth(section.depth_at(time_s))]
    if section.temperature is not None:
        leading.append(section.units.temperature(section.temperature.nearest(time_s)))
    lines = [leading]
    if section.other is not None:
        beside = beside_words(section.other, time_s, section.depth_at(time_s), section.units)
        lines += [[words] for words in beside]
    lines += [_limits(section, at), _oxygen(section, at), _gas(section, time_s, at)]
    lines += [[line] for line in (_tanks(section, time_s), _heading(section, time_s)) if line]
    lines += [[mark.words] for mark in section.remarks if _covers(mark, time_s)]
    return [" · ".join(parts) for parts in lines]


def _limits(section: Section, at: int) -> list[str]:
    no_stop_min, ceiling_m = float(section.series.no_stop_min[at]), float(section.series.ceiling_m[at])
    no_stop = (
        _("no-stop over 24 h")
        if math.isnan(no_stop_min)
        else _("no-stop {minutes} min").format(minutes=int(no_stop_min))
    )
    if ceiling_m <= 0:
        return [no_stop, _("ceiling none")]
    return [no_stop, _("ceiling {depth}").format(depth=section.units.depth(ceiling_m))]


def _oxygen(section: Section, at: int) -> list[str]:
    series = section.series
    ppo2 = number(float(series.ppo2_bar[at]), ".2f")
    return [f"ppO₂ {ppo2} bar", f"CNS {percent(float(series.cns_fraction[at]))}"]


def _gas(section: Section, time_s: float, at: int) -> list[str]:
    said = [mark.words for mark in section.gases if mark.from_s <= time_s][-1:]
    said.append(f"{number(float(section.series.density_g_l[at]), '.1f')} g/L")
    return [*said, _("load {share}").format(share=percent(float(section.series.load[at])))]


def _tanks(section: Section, time_s: float) -> str:
    said = [(tank.words, section.units.pressure(tank.nearest(time_s))) for tank in section.tanks]
    return " · ".join(f"{words} {pressure}" if words else pressure for words, pressure in said)


def _heading(section: Section, time_s: float) -> str:
    if section.heading is None:
        return ""
    return _("heading {degrees}°").format(degrees=f"{section.heading.nearest(time_s) % 360:03.0f}")


def _covers(mark: Mark, time_s: float) -> bool:
    return mark.from_s - NEAR_A_MARK_S <= time_s <= mark.to_s + NEAR_A_MARK_S

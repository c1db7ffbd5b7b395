"""What `leadline compare` reports: two recordings of one dive, or a group beside its leader."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from logbook_app.analysis.compared_dives import Beside, Comparison, Side
from logbook_app.analysis.comparison_words import (
    ascent_words,
    gap_words,
    laying_words,
    named,
    side_by_side,
    stop_words,
)
from logbook_app.analysis.spoken_units import SpokenUnits


def comparison_to_json(comparison: Comparison, with_series: bool = False) -> dict[str, Any]:
    """Return a comparison for JSON; what is said of the first dive beside the leader's stands at the top."""
    others = [_beside_to_json(beside, with_series) for beside in comparison.others]
    first = {name: value for name, value in others[0].items() if name != "side"}
    return {
        **first,
        "turn_s": comparison.turn_s,
        "apart_limit_m": comparison.limits.apart_m,
        "apart_limit_s": comparison.limits.apart_s,
        "leader": _side_to_json(comparison.leader),
        "others": others,
    }


def comparison_words(comparison: Comparison, units: SpokenUnits) -> Iterator[str]:
    """Yield a comparison line by line: how each was laid, what the water did, then the table."""
    for beside in comparison.others:
        yield f"{named(beside.side)}: {laying_words(beside)}"
        yield from (f"  {line}" for line in gap_words(beside, comparison, units))
        yield f"  {ascent_words(beside, comparison.leader, units)}"
        yield f"  {stop_words(beside, comparison.leader)}"
    table = side_by_side(comparison, units)
    first = max(len(heading) for heading, _ in table)
    widths = [max(len(cells[place]) for _, cells in table) for place in range(len(table[0][1]))]
    for heading, cells in table:
        columns = (f"{cell:>{width}}" for cell, width in zip(cells, widths, strict=True))
        yield f"{heading:<{first}}  {'  '.join(columns)}"


def _beside_to_json(beside: Beside, with_series: bool) -> dict[str, Any]:
    alignment = beside.alignment
    told: dict[str, Any] = {
        "side": _side_to_json(beside.side),
        "one_dive": alignment.likeness.value if alignment else "unknown",
        "laid_by": beside.laid_by,
        "lag_s": round(beside.lag_s, 1),
        "clock_offset_s": round(beside.clock_offset_s, 1),
        "gauge_offset_m": round(alignment.offset_m, 2) if alignment else None,
        "depths_agree": round(alignment.depths_agree, 3) if alignment else None,
        "speeds_agree": round(alignment.speeds_agree, 3) if alignment else None,
        "largest_gap_m": _rounded(beside.largest_gap_m),
        "largest_gap_at_s": beside.largest_gap_at_s,
        "mean_gap_m": _rounded(beside.mean_gap_m),
        "apart": [
            {
                "began_s": stretch.began_s,
                "ended_s": stretch.ended_s,
                "largest_gap_m": round(stretch.largest_gap_m, 2),
            }
            for stretch in beside.apart
        ],
    }
    if with_series:
        told |= {
            "time_s": beside.time_s.tolist(),
            "leader_depth_m": beside.leader_m.round(2).tolist(),
            "depth_m": beside.own_m.round(2).tolist(),
        }
    return told


def _side_to_json(side: Side) -> dict[str, Any]:
    return {
        "dive_id": side.dive_id,
        "diver": side.diver,
        "max_depth_m": side.max_depth_m,
        "duration_min": side.duration_min,
        "fastest_ascent_m_min": round(side.fastest_m_min, 2),
        "fastest_ascent_at_s": side.fastest_at_s,
        "fast_ascents": [
            {
                "began_s": ascent.stretch.began_s,
                "ended_s": ascent.stretch.ended_s,
                "rate_m_min": round(ascent.stretch.rate_m_min, 2),
                "together": ascent.together,
            }
            for ascent in side.fast_ascents
        ],
        "minute_volume_l_min": side.minute_volume_l_min,
        "turn_bar": side.turn_bar,
        "end_bar": side.end_bar,
        "lowest_temperature_c": side.lowest_temperature_c,
        "load_end": side.load_end,
        "safety_stop_min": side.safety_stop_min,
    }


def _rounded(metres: float | None) -> float | None:
    return None if metres is None else round(metres, 2)

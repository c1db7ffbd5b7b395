"""The heights on a chart: the section on top, then its minutes, the lanes, and the map of loads.

Counted upward from the lower edge of the widget, in pixels.
"""

from __future__ import annotations

from dataclasses import dataclass

from kivy.metrics import dp, sp

LANE_DP, LANE_SP = 44, 30  # whichever is more, so that both ends of a scale have room
LANE_TITLE_SP = 21
ROW_DP = 12  # of one compartment
LEGEND_SP = 26
GAP_DP = 8
COMPARTMENTS = 16


@dataclass(frozen=True, slots=True)
class Band:
    """One strip across the chart."""

    bottom: float
    height: float

    @property
    def top(self) -> float:
        """Upper edge [px]."""
        return self.bottom + self.height


@dataclass(frozen=True, slots=True)
class Bands:
    """Where everything lies.

    height       of the whole chart
    section      the section with the minutes below it
    lanes        the lanes in their order; the name of each stands above it
    map          the rows of the compartments, the fastest on top; None where it is not shown
    compartment  the lane of the chosen compartment; None for none
    """

    height: float
    section: Band
    lanes: tuple[Band, ...]
    map: Band | None
    compartment: Band | None


def bands(section_height: float, lanes: int, *, has_map: bool, has_compartment: bool) -> Bands:
    """Return where everything lies under a section of this height with its minutes."""
    title, lane, gap = round(sp(LANE_TITLE_SP)), round(max(dp(LANE_DP), sp(LANE_SP))), round(dp(GAP_DP))
    row = round(dp(ROW_DP))
    heights = [(title + gap, lane)] * lanes
    if has_map:
        heights.append((title + gap, row * COMPARTMENTS))
        if has_compartment:
            heights.append((title + gap + round(sp(LEGEND_SP)), lane))
    legend = round(sp(LEGEND_SP)) if has_map and not has_compartment else 0
    below = sum(above + height for above, height in heights) + legend
    top, laid = float(below), []
    for above, height in heights:
        top -= above + height
        laid.append(Band(top, height))
    rest = laid[lanes:]
    return Bands(
        height=section_height + below,
        section=Band(below, section_height),
        lanes=tuple(laid[:lanes]),
        map=rest[0] if has_map else None,
        compartment=rest[1] if has_map and has_compartment else None,
    )

"""Going up to altitude by the US Navy's air tables: how long to wait, and what a diver carries on arrival.

A diver may go up once the interval of table 9-6 has passed since the last surfacing, read with the highest
group of the last 24 hours and the increase in altitude. After an exceptional-exposure dive it is 48 hours
whatever the altitude. The tables end at a final altitude of 10,000 ft; a commercial flight counts as 8,000
ft.

A diver who comes up from sea level to dive there has a group on arrival, table 9-5, and dives to a sea-level
equivalent depth. This logbook does not carry the Navy's altitude tables beyond that, so a dive at altitude is
told apart here, not worked.

Numbers: `navy_tables` (Revision 7). Rules of table 9-6: read with the table, and in a NOAA account of the
tables of 1999. The wait is one rule among several, for divers trained in these tables; a physician's word
goes before it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from logbook_app.physics.constants import STANDARD_PRESSURE_BAR
from logbook_app.physics.navy_tables import (
    EXCEPTIONAL_EXPOSURE_WAIT_MIN,
    HIGHEST_ALTITUDE_FT,
    TABLE_9_5,
    TABLE_9_6,
)
from logbook_app.physics.repetitive_group import ROUNDING_SLACK, OutsideTables, rank

LOOK_BACK_MIN: Final = 24 * 60
_STEP_FT: Final = 1000

# Below 300 ft nothing is corrected, above 1000 ft everything; between them only dives deeper than "about"
# 144 to 145 ft, of which the shallower is taken. First part read in Revision 4, the figure at second hand,
# the last part recalled from memory.
_NEVER_CORRECTED_FT: Final = 300.0
_ALWAYS_CORRECTED_FT: Final = 1000.0
_CORRECTED_BEYOND_FSW: Final = 144.0


@dataclass(frozen=True, slots=True)
class Surfacing:
    """The end of one dive, seen from the last one.

    group        group at surfacing, or why there is none
    minutes_ago  before the last surfacing, 0 for the last dive itself [min]
    """

    group: str | OutsideTables
    minutes_ago: float


def wait_before_ascent_min(
    group: str | None, increase_ft: float, final_altitude_ft: float | None = None
) -> int | OutsideTables:
    """Return the surface interval to keep before going up. [min]

    group              highest group of the last 24 hours, A to O or Z; None where there was no dive
    increase_ft        climb from the place of the dive; the next higher 1,000 counts [ft]
    final_altitude_ft  altitude or cabin altitude at the end of it; None for a start at sea level [ft]

    Source: table 9-6.

    >>> wait_before_ascent_min("J", 8000.0), wait_before_ascent_min("C", 8000.0)
    (853, 0)
    """
    final_ft = increase_ft if final_altitude_ft is None else final_altitude_ft
    if final_ft > HIGHEST_ALTITUDE_FT + ROUNDING_SLACK:
        return OutsideTables(f"The tables end at {HIGHEST_ALTITUDE_FT:,} ft.")
    steps = math.ceil((increase_ft - ROUNDING_SLACK) / _STEP_FT)
    if group is None or steps <= 0:
        return 0
    return TABLE_9_6[group][steps - 1]


def wait_after_dives_min(
    surfacings: Sequence[Surfacing], increase_ft: float, final_altitude_ft: float | None = None
) -> int | OutsideTables:
    """Return the surface interval to keep after the last of several dives. [min]

    surfacings         the ends of the dives, in any order
    increase_ft        climb from the place of the dives; the next higher 1,000 counts [ft]
    final_altitude_ft  altitude or cabin altitude at the end of it; None for a start at sea level [ft]

    A dive outside the tables within the last 48 hours leaves the wait unknown: it may have been an
    exceptional exposure, for which the tables ask as long as that. Source: table 9-6.

    >>> wait_after_dives_min([Surfacing("J", 390.0), Surfacing("C", 0.0)], 8000.0)
    853
    """
    groups = []
    for surfacing in surfacings:
        if isinstance(surfacing.group, OutsideTables):
            if surfacing.minutes_ago < EXCEPTIONAL_EXPOSURE_WAIT_MIN:
                return OutsideTables(f"A dive within 48 h is outside the tables. {surfacing.group.reason}")
        elif surfacing.minutes_ago <= LOOK_BACK_MIN:
            groups.append(surfacing.group)
    return wait_before_ascent_min(max(groups, key=rank, default=None), increase_ft, final_altitude_ft)


def group_on_arrival(altitude_ft: float) -> str | OutsideTables | None:
    """Return the group of a diver who has just come up from sea level, None at sea level itself.

    altitude_ft  altitude of the place, or for a further climb the difference of the two altitudes; the next
                 higher 1,000 counts [ft]

    Source: table 9-5; the use for a further climb was read in Revision 4.

    >>> group_on_arrival(6000.0)
    'E'
    """
    if altitude_ft > HIGHEST_ALTITUDE_FT + ROUNDING_SLACK:
        return OutsideTables(f"The tables end at {HIGHEST_ALTITUDE_FT:,} ft.")
    steps = math.ceil((altitude_ft - ROUNDING_SLACK) / _STEP_FT)
    return None if steps <= 0 else TABLE_9_5[steps * _STEP_FT]


def sea_level_equivalent_fsw(depth_fsw: float, surface_bar: float) -> float:
    """Return the sea-level depth that a dive at altitude counts as, before it is rounded up to a row. [fsw]

        equivalent = depth * sea-level pressure / pressure at altitude

    depth_fsw    depth of the dive at altitude [fsw]
    surface_bar  pressure of the air at the surface, above 0 [bar]

    Source: US Navy Diving Manual, Revision 4, p. 9-38. That Revision 7 rounds it up to the next depth of the
    tables is recalled from memory; `repetitive_group.table_depth_fsw` does.

    >>> round(sea_level_equivalent_fsw(60.0, 0.843), 1)
    72.1
    """
    return depth_fsw * STANDARD_PRESSURE_BAR / surface_bar


def is_altitude_dive(elevation_ft: float, depth_fsw: float) -> bool:
    """Return whether a dive has to be corrected for altitude before the tables are entered.

    elevation_ft  elevation of the water's surface [ft]
    depth_fsw     deepest depth of the dive [fsw]

    Source: the first two parts in Revision 4 and at second hand, the last recalled from memory; see the
    comment beside the limits.

    >>> is_altitude_dive(900.0, 100.0), is_altitude_dive(900.0, 150.0), is_altitude_dive(1100.0, 30.0)
    (False, True, True)
    """
    if elevation_ft <= _NEVER_CORRECTED_FT:
        return False
    return elevation_ft > _ALWAYS_CORRECTED_FT or depth_fsw > _CORRECTED_BEYOND_FSW

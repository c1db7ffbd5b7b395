"""Repetitive groups by the US Navy's air tables: a second opinion, apart from the compartment model.

The tables know a dive by its deepest depth and its bottom time, and sum up what is left afterwards in a
letter, A to O and Z. They are entered with the exact or next deeper depth and the exact or next longer
time; a surface interval counts in full minutes, which leaves the diver in the higher group. Nothing
here knows a tissue.

What the tables do not hold is never guessed: the answer is then `OutsideTables` with its reason in words.

Numbers: `navy_tables` (Revision 7). Rules: entry with the next deeper and next longer was read in Revision
4 and is recalled as unchanged; the limits of table 9-8 on what is a repetitive dive were read with the
table itself. Not for planning or making a dive: a printed table belongs in the hands of somebody trained to
use it.
"""

import math
from dataclasses import dataclass
from typing import Final

from logbook_app.physics.navy_tables import (
    GROUPS,
    TABLE_9_7,
    TABLE_9_8_INTERVALS,
    TABLE_9_8_RESIDUAL,
    Mark,
)

# A depth or time that came through a change of unit may stand this far over a printed step. [fsw, min]
ROUNDING_SLACK: Final = 1e-6
_DEPTHS_FSW: Final = tuple(TABLE_9_7)
_SCHEDULE_FOR_DAGGER_FSW: Final = 30


@dataclass(frozen=True, slots=True)
class OutsideTables:
    """The tables have no answer.

    reason  why, as a sentence for the diver
    """

    reason: str


@dataclass(frozen=True, slots=True)
class ResidualNitrogen:
    """What the tables add to the bottom time of a repetitive dive.

    minutes       residual nitrogen time [min]
    schedule_fsw  depth to read the dive's limit and group at; deeper than the dive's own row only where the
                  table says so [fsw]
    """

    minutes: int
    schedule_fsw: int


def table_depth_fsw(depth_fsw: float) -> int | OutsideTables:
    """Return the depth whose row a dive is read at: its own or the next deeper. [fsw]

    depth_fsw  deepest depth of the dive, above 0; the last row is 190 [fsw]

    Raises ValueError for a depth that is not above 0. Source: table 9-7 and its rule of entry.

    >>> table_depth_fsw(61.0)
    70
    """
    if not (math.isfinite(depth_fsw) and depth_fsw > 0.0):
        raise ValueError(f"A depth of {depth_fsw:g} fsw is no dive; give a number above 0.")
    for row_fsw in _DEPTHS_FSW:
        if depth_fsw <= row_fsw + ROUNDING_SLACK:
            return row_fsw
    return OutsideTables(f"The dive was deeper than the last row, {_DEPTHS_FSW[-1]} fsw.")


def no_stop_limit_min(depth_fsw: float) -> float | OutsideTables:
    """Return the longest bottom time without stops for a diver in no group, inf where unlimited. [min]

    depth_fsw  deepest depth of the dive, above 0; the last row is 190 [fsw]

    Raises ValueError for a depth that is not above 0. Source: table 9-7.

    >>> no_stop_limit_min(61.0), no_stop_limit_min(20.0)
    (48, inf)
    """
    row_fsw = table_depth_fsw(depth_fsw)
    return row_fsw if isinstance(row_fsw, OutsideTables) else TABLE_9_7[row_fsw][0]


def group_after_dive(depth_fsw: float, time_min: float) -> str | OutsideTables:
    """Return the group at surfacing from a dive without stops.

    depth_fsw  deepest depth of the dive, above 0; the last row is 190 [fsw]
    time_min   bottom time, with the residual nitrogen time of a repetitive dive added, 0 or more [min]

    Raises ValueError for a depth or time that cannot be. Source: table 9-7; the manual's tables for dives
    with stops are not carried here.

    >>> group_after_dive(57.0, 40.0)
    'H'
    """
    _refuse_negative("bottom time", time_min)
    row_fsw = table_depth_fsw(depth_fsw)
    if isinstance(row_fsw, OutsideTables):
        return row_fsw
    limit_min, longest_min = TABLE_9_7[row_fsw]
    if time_min > limit_min + ROUNDING_SLACK:
        return OutsideTables(
            f"The table's time of {math.ceil(time_min - ROUNDING_SLACK)} min is over the no-stop limit of "
            f"{limit_min:.0f} min at {row_fsw} fsw."
        )
    reached = (
        group
        for group, longest in zip(GROUPS, longest_min, strict=False)
        if longest is not None and time_min <= longest + ROUNDING_SLACK
    )
    return next(reached)


def group_after_interval(group: str, interval_min: float) -> str | None:
    """Return the group after a time at the surface, None once the next dive is no longer a repetitive one.

    group         group at surfacing, A to O or Z
    interval_min  time since surfacing; under 10 there is no change yet [min]

    Raises ValueError for a letter or time that cannot be. Source: table 9-8, upper part. A time between two
    printed minutes counts as the shorter.

    >>> group_after_interval("K", 4 * 60 + 21), group_after_interval("K", 4 * 60 + 22)
    ('G', 'F')
    >>> group_after_interval("A", 2 * 60 + 21) is None
    True
    """
    _refuse_negative("surface interval", interval_min)
    start = rank(group)
    for steps, longest_min in enumerate(TABLE_9_8_INTERVALS[group]):
        if interval_min < longest_min + 1:
            return GROUPS[start - steps]
    return None


def residual_nitrogen(group: str | None, depth_fsw: float) -> ResidualNitrogen | OutsideTables:
    """Return the time that counts as already spent at the depth of the next dive.

    group      group at the end of the surface interval, A to O or Z; None where the dive is not repetitive
    depth_fsw  deepest depth of the next dive, above 0; the last row is 190 [fsw]

    Raises ValueError for a letter or depth that cannot be. Source: table 9-8, lower part. Where the table has
    two asterisks it refers to a paragraph that could not be read; that is outside.

    >>> residual_nitrogen("F", 60.0)
    ResidualNitrogen(minutes=35, schedule_fsw=60)
    >>> residual_nitrogen("Z", 25.0)
    ResidualNitrogen(minutes=372, schedule_fsw=30)
    """
    row_fsw = table_depth_fsw(depth_fsw)
    if isinstance(row_fsw, OutsideTables):
        return row_fsw
    if group is None:
        return ResidualNitrogen(0, row_fsw)
    cell = TABLE_9_8_RESIDUAL[row_fsw][-1 - rank(group)]
    if cell is Mark.USE_30_FSW:
        return residual_nitrogen(group, _SCHEDULE_FOR_DAGGER_FSW)
    if isinstance(cell, Mark):
        return OutsideTables(f"The table gives no residual nitrogen time for group {group} at {row_fsw} fsw.")
    return ResidualNitrogen(cell, row_fsw)


def rank(group: str) -> int:
    """Return the place of a group from A = 0 up to Z = 15, to tell the higher of two. [count]

    group  a letter, A to O or Z

    Raises ValueError for any other. Source: the order of the tables' columns.

    >>> rank("Z") - rank("O")
    1
    """
    if len(group) != 1 or group not in GROUPS:
        raise ValueError(f'"{group}" is not a repetitive group; the tables have A to O and Z.')
    return GROUPS.index(group)


def _refuse_negative(what: str, minutes: float) -> None:
    if math.isnan(minutes) or minutes < 0.0:
        raise ValueError(f"A {what} of {minutes:g} min cannot be; give 0 or more.")

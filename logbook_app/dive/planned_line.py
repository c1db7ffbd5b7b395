"""The line of a plan as it stood when it was made, kept with the dive that followed.

Only what was decided is kept: depth over time, and the gas it was to take. What a model says of it may
change with the program; what was planned does not.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any, Final

from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _

MOST_POINTS: Final = 1_000
_GREATEST_DEPTH_M: Final = 500.0
_LONGEST_MIN: Final = 7 * 24 * 60.0


@dataclass(frozen=True, slots=True)
class PlannedLine:
    """Depth over the time of a plan, straight between its points.

    begins_at   when the dive was planned to begin, UTC
    time_min  of each point since leaving the surface, rising, (n,) [min]
    depth_m   of each point, (n,) [m]
    gas_l     that one diver was to breathe, None where nobody said how much they breathe [L]

    Raises RefusedRecord where that is no line.
    """

    begins_at: datetime
    time_min: tuple[float, ...]
    depth_m: tuple[float, ...]
    gas_l: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "begins_at", self.begins_at.astimezone(UTC))
        object.__setattr__(self, "time_min", tuple(map(float, self.time_min)))
        object.__setattr__(self, "depth_m", tuple(map(float, self.depth_m)))
        if not self._is_line():
            raise RefusedRecord(_("A planned line needs 2 to 1,000 points of rising time and a depth each."))

    def _is_line(self) -> bool:
        times, depths = self.time_min, self.depth_m
        return (
            2 <= len(times) == len(depths) <= MOST_POINTS
            and times[0] >= 0
            and all(before < after for before, after in pairwise(times))
            and times[-1] <= _LONGEST_MIN
            and all(0 <= depth <= _GREATEST_DEPTH_M for depth in depths)
            and (self.gas_l is None or 0 <= self.gas_l < 1e6)
        )

    @property
    def run_time_min(self) -> float:
        """From leaving the surface to reaching it again [min]."""
        return self.time_min[-1]

    @property
    def max_depth_m(self) -> float:
        """The deepest point [m]."""
        return max(self.depth_m)


def planned_line_to_plain(line: PlannedLine) -> dict[str, Any]:
    """Return a line as plain values, for JSON."""
    return {
        "begins_at": line.begins_at.isoformat(),
        "time_min": list(line.time_min),
        "depth_m": list(line.depth_m),
        "gas_l": line.gas_l,
    }


def planned_line_from_plain(told: Mapping[str, Any]) -> PlannedLine:
    """Return the line that `planned_line_to_plain` wrote.

    Raises RefusedRecord, KeyError, TypeError or ValueError where it is none.
    """
    begins_at = datetime.fromisoformat(told["begins_at"])
    if begins_at.tzinfo is None:
        raise RefusedRecord(_("An instant on a pre-dive card needs its offset from UTC."))
    gas_l = told.get("gas_l")
    return PlannedLine(
        begins_at,
        tuple(map(_number, told["time_min"])),
        tuple(map(_number, told["depth_m"])),
        None if gas_l is None else _number(gas_l),
    )


def _number(told: Any) -> float:
    if isinstance(told, bool) or not isinstance(told, int | float):
        raise TypeError(f"{told!r} is no number")
    return float(told)

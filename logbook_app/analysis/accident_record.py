"""What the logbook can tell those who treat a diver: the dives of three days, as they were recorded.

The window of 72 h is the longer of the two that are commonly asked for, 48 and 72 h (from memory of
diving medicine manuals; no edition was at hand). The sheet names it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.surface_state import SurfaceState
from logbook_app.dive.record import Dive

WINDOW = timedelta(hours=72)


@dataclass(frozen=True, eq=False)
class RecentDive:
    """One dive of the window; interval_before_min is None after no dive at all."""

    view: DiveView
    interval_before_min: float | None


@dataclass(frozen=True, eq=False)
class AccidentRecord:
    """Everything recorded that a sheet for an accident shows.

    at      the instant that the sheet speaks of, on the clock of the last dive
    dives   of the window before it, oldest first
    state   the diver's at that instant
    """

    at: datetime
    dives: tuple[RecentDive, ...]
    state: SurfaceState


def in_window(dives: Sequence[Dive], at: datetime) -> list[Dive]:
    """Return the dives that had ended at an instant, and not longer ago than the window."""
    return [dive for dive in dives if timedelta() <= at - dive.ended_at <= WINDOW]


def interval_before_min(dive: Dive, dives: Sequence[Dive]) -> float | None:
    """Return the time from the last surfacing before a dive to its start [min]; None for the first."""
    ends = [other.ended_at for other in dives if other.began_at < dive.began_at]
    return max(0.0, (dive.began_at - max(ends)).total_seconds() / 60) if ends else None


def local_to(dives: Sequence[Dive], at: datetime) -> datetime:
    """Return an instant on the clock of the last dive; as it is where there is none."""
    return at.astimezone(dives[-1].began_local.tzinfo) if dives else at

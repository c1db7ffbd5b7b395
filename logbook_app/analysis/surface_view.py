"""The time between dives with all that its page shows, as `dive_view` is one dive."""

from __future__ import annotations

from dataclasses import dataclass

from logbook_app.analysis.dive_analysis import Rules
from logbook_app.analysis.next_dive import NextDive
from logbook_app.analysis.surface_state import SurfaceState
from logbook_app.dive.record import Dive


@dataclass(frozen=True, eq=False)
class SurfaceView:
    """The state between dives with everything its page shows.

    last          the dive that it follows, None before any
    limits_now    of the next dive, on air
    limits_later  the same one hour on
    """

    state: SurfaceState
    last: Dive | None
    limits_now: NextDive
    limits_later: NextDive
    rules: Rules

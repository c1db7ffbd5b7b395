"""The time between dives with all that its page shows, as `dive_view` is one dive."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from logbook_app.analysis.dive_analysis import Rules
from logbook_app.analysis.next_dive import NextDive
from logbook_app.analysis.spoken_times import moment
from logbook_app.analysis.surface_state import SurfaceState
from logbook_app.dive.record import Dive
from logbook_app.language import ngettext


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


def left_out_words(to_come: int, now: datetime) -> str:
    """Return what is to be said of dives that have not ended yet: an empty battery may set a clock back.

    to_come  how many of the owner's dives end later than the device's clock shows
    now      what that clock shows, local
    """
    if not to_come:
        return ""
    return ngettext(
        "{count} dive ends after {now}, this device's time, and is in no figure here. "
        "Check the clock of the device and of the dive.",
        "{count} dives end after {now}, this device's time, and are in no figure here. "
        "Check the clock of the device and of the dives.",
        to_come,
    ).format(count=to_come, now=moment(now))

"""Looking ahead from the surface: which later instant the page may show, and how it says so.

The diver drags along the curve, or goes by the hour: "at 18:30 I shall be ...". An instant is kept on
five whole minutes, so that a finger can find it again, and never lies in the past.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from logbook_app.analysis.spoken_units import spoken_duration
from logbook_app.language import _
from logbook_app.screens import wording

SNAP = timedelta(minutes=5)
FARTHEST = timedelta(hours=72)  # every wait of the guideline and of the tables is over by then
HOUR = timedelta(hours=1)
KEY_STEP = timedelta(minutes=10)


def kept_ahead(wanted: datetime, now: datetime) -> datetime | None:
    """Return the instant that the page shows for one that is wanted; None is now.

    >>> from datetime import UTC
    >>> kept_ahead(datetime(2026, 11, 14, 18, 31, 20, tzinfo=UTC), datetime(2026, 11, 14, 14, 7, tzinfo=UTC))
    datetime.datetime(2026, 11, 14, 18, 30, tzinfo=datetime.timezone.utc)
    """
    midnight = wanted.replace(hour=0, minute=0, second=0, microsecond=0)
    kept = midnight + SNAP * round((wanted - midnight) / SNAP)
    return None if kept <= now else min(kept, now + FARTHEST)


def ahead_words(at: datetime, now: datetime) -> str:
    """Return the sentence that stands on the page while it shows a later instant."""
    return _(
        "Looking ahead: this page shows {when}, {wait} from now, if you do not dive before then."
    ).format(when=wording.soon(at, now), wait=spoken_duration(_minutes(at, now)))


def handle_words(at: datetime, now: datetime, load: str) -> str:
    """Return what stands beside the line under the finger."""
    return _("at {when}: {load} of the limit").format(when=wording.soon(at, now), load=load)


def _minutes(at: datetime, now: datetime) -> float:
    return -(-(at - now).total_seconds() // 60)

"""A dive begun at another time: every recorder of it moves along."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from logbook_app.dive.record import Dive


def shifted(dive: Dive, minutes: float) -> Dive:
    """Return the dive begun that much later, by every recorder of it; the offset from UTC stays."""
    later = timedelta(minutes=minutes)
    recordings = (
        replace(r, account=replace(r.account, began_at=r.account.began_at + later)) if r.account else r
        for r in dive.recordings
    )
    return replace(dive, began_at=dive.began_at + later, recordings=tuple(recordings))

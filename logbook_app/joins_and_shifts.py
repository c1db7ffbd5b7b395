"""Two records of one dive made one, and clocks that were wrong: each one change that can be taken back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from logbook_app.analysis.import_report import PastChange, report_from_text
from logbook_app.analysis.same_dive import could_be_one, told_dive
from logbook_app.dive.changes import Changes
from logbook_app.dive.joined_dive import joined
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.shifted_dive import shifted
from logbook_app.language import _
from logbook_app.store.kept_changes import KeptChange
from logbook_app.store.logbook_store import LogbookStore


def join_dives(store: LogbookStore, keep_id: str, other_id: str, at: datetime) -> Changes:
    """Make two records of one dive one, under the first one's id; the other goes to the bin.

    at   the instant of the change

    Raises UnknownDive, and RefusedRecord where they are two divers', the same record, or no one dive.
    """
    keep, other = store.dive(keep_id), store.dive(other_id)
    if not could_be_one(keep, other):
        raise RefusedRecord(
            _(
                "{dive} and {dive2} share neither time nor depth; nothing was joined. Where a clock "
                "was wrong, shift it first."
            ).format(dive=told_dive(keep), dive2=told_dive(other))
        )
    kept = KeptChange("join", at, binned=(other_id,), changed=((keep, joined(keep, other)),))
    return _made(store, kept)


def shift_clock(store: LogbookStore, dive_ids: Sequence[str], minutes: float, at: datetime) -> Changes:
    """Move the starts of dives whose recorder's clock was wrong, all of them or none.

    at   the instant of the change

    Raises UnknownDive, and RefusedRecord where a dive would begin in a year that cannot be.
    """
    dives = [store.dive(dive_id) for dive_id in dict.fromkeys(dive_ids)]
    moved = tuple((dive, shifted(dive, minutes)) for dive in dives)
    return _made(store, KeptChange("shift", at, changed=moved))


def past_changes(store: LogbookStore) -> list[PastChange]:
    """Return every import, join and shift of clocks, the latest first."""
    return [_past(change) for change in reversed(store.changes())]


def _made(store: LogbookStore, kept: KeptChange) -> Changes:
    after = [(dive, ()) for _, dive in kept.changed]
    undo_id = store.save_together(after, kept.at, kept=kept, to_bin=kept.binned)
    return Changes(kept.touched, totals=True, undo_id=undo_id)


def _past(change: KeptChange) -> PastChange:
    report = replace(report_from_text(change.report), import_id=change.id) if change.report else None
    return PastChange(change.id, change.kind, change.at, change.undone_at, change.touched, report)

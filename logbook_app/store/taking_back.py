"""Taking back an import, a join or a shift of clocks: everything as it was, but for what was done since.

Dives that it added go to the bin, dives that it put there come back, and dives that it changed become
what they were in every field that nobody has changed again.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from logbook_app.dive.changes import Changes
from logbook_app.dive.joined_dive import as_before
from logbook_app.dive.problems import UnknownChange
from logbook_app.language import _
from logbook_app.store.kept_changes import KeptChange
from logbook_app.store.logbook_store import LogbookStore


def take_back(store: LogbookStore, change_id: int, at: datetime) -> Changes:
    """Take back one change, after any later join that rests on it; return all that was touched.

    at   the instant at which it is taken back

    Raises UnknownChange where there is no such change or it was taken back before.
    """
    changes = store.changes()
    wanted = _standing(changes, change_id)
    resting = [change for change in changes if change.id > change_id and _rests_on(change, wanted)]
    for change in (*reversed(resting), wanted):
        _take_back_one(store, change, at)
    touched = frozenset[str]().union(*(change.touched for change in (wanted, *resting)))
    return Changes(touched, totals=True)


def _standing(changes: Iterable[KeptChange], change_id: int) -> KeptChange:
    wanted = next((change for change in changes if change.id == change_id), None)
    if wanted is None:
        raise UnknownChange(
            _("There is no import {change_id} in the logbook; list them and name one of them.").format(
                change_id=change_id
            )
        )
    if wanted.undone_at is not None:
        raise UnknownChange(
            _("Import {change_id} was taken back on {undone_at} UTC already.").format(
                change_id=change_id, undone_at=f"{wanted.undone_at:%Y-%m-%d %H:%M}"
            )
        )
    return wanted


def _rests_on(change: KeptChange, wanted: KeptChange) -> bool:
    """Tell whether a later join would be left hanging: it took up a dive that goes, or put one away."""
    if change.kind != "join" or change.undone_at is not None:
        return False
    altered = {after.id for _, after in wanted.changed}
    return not change.touched.isdisjoint(wanted.added) or not altered.isdisjoint(change.binned)


def _take_back_one(store: LogbookStore, change: KeptChange, at: datetime) -> None:
    dives = [as_before(store.dive(before.id), before, after) for before, after in change.changed]
    store.kit.bin_items(change.kit, at)
    store.save_together(
        [(dive, ()) for dive in dives], at, undone=change.id, to_bin=change.added, from_bin=change.binned
    )

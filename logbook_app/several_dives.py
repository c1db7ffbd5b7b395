"""What a diver does to several dives at once: each one change that can be taken back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from logbook_app.dive.changes import Changes
from logbook_app.dive.history import DELETE, TAGS
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Dive
from logbook_app.dive.search_words import same_name
from logbook_app.language import _
from logbook_app.store.kept_changes import KeptChange
from logbook_app.store.logbook_store import LogbookStore


def delete_dives(store: LogbookStore, dive_ids: Sequence[str], at: datetime) -> Changes:
    """Put dives into the bin, all of them or none.

    at   the instant of the change

    Raises UnknownDive.
    """
    chosen = tuple(dict.fromkeys(dive_ids))
    if not chosen:
        return Changes()
    undo_id = store.save_together([], at, kept=KeptChange(DELETE, at, binned=chosen), to_bin=chosen)
    return Changes(frozenset(chosen), totals=True, undo_id=undo_id)


def tag_dives(
    store: LogbookStore, dive_ids: Sequence[str], add: Sequence[str], remove: Sequence[str], at: datetime
) -> Changes:
    """Give dives tags and take tags from them, all of them or none.

    A tag is the same whatever its case. Dives that this changes nothing in are left alone.
    at   the instant of the change

    Raises UnknownDive, and RefusedRecord for a tag without a word.
    """
    if any(not tag.strip() for tag in add):
        raise RefusedRecord(_("A tag needs a word; write one."))
    before = store.dives_named(dive_ids)
    pairs = [(dive, replace(dive, tags=_tagged(dive, add, remove))) for dive in before]
    changed = tuple((dive, after) for dive, after in pairs if dive != after)
    if not changed:
        return Changes()
    entries = [(after, ()) for _before, after in changed]
    undo_id = store.save_together(entries, at, kept=KeptChange(TAGS, at, changed=changed))
    return Changes(frozenset(dive.id for dive, _after in changed), undo_id=undo_id)


def _tagged(dive: Dive, add: Iterable[str], remove: Iterable[str]) -> tuple[str, ...]:
    gone = set(map(same_name, remove))
    tags = {same_name(tag): tag for tag in reversed(dive.tags) if same_name(tag) not in gone}
    tags = dict(reversed(tags.items()))
    for tag in add:
        tags.setdefault(same_name(tag), " ".join(tag.split()))
    return tuple(tags.values())

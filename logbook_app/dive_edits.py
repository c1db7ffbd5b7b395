"""Corrections of a dive, and the way back: each is one change, kept in the history by field."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, replace
from datetime import datetime, timedelta
from typing import Any

from logbook_app.analysis.same_dive import overlapping, told_dive
from logbook_app.dive.changes import Changes
from logbook_app.dive.edited_dive import edited
from logbook_app.dive.history import (
    EDIT,
    EXTRA,
    JOIN,
    PRESENT,
    PUT_BACK,
    UNDO,
    FieldChange,
    told_value,
    value_from_json,
    with_values,
)
from logbook_app.dive.problems import RefusedRecord, UnknownChange
from logbook_app.dive.record import Dive, Site
from logbook_app.language import _
from logbook_app.store.logbook_store import LogbookStore

_CLOCKS_APART = timedelta(minutes=1)


def change_dive(store: LogbookStore, dive_id: str, given: Mapping[str, Any], now: datetime) -> Changes:
    """Give fields of a dive anew; see `Logbook.change_dive`."""
    before = store.dive(dive_id)
    after = edited(before, given)
    if after == before:
        return Changes()
    _refuse_impossible_place(store, before, after, now)
    return _rewritten(store, [after], now, EDIT)


def change_site(
    store: LogbookStore, dive_id: str, site: Site | None, everywhere: bool, now: datetime
) -> Changes:
    """Say anew where a dive was, there alone or for every dive at that site; see `Logbook.change_site`."""
    dive = store.dive(dive_id)
    if dive.site is None or site is None or not everywhere:
        return change_dive(store, dive_id, {"site": site}, now)
    told = {
        each.name: getattr(site, each.name)
        for each in fields(Site)
        if each.name != "id" and getattr(site, each.name) != getattr(dive.site, each.name)
    }
    there = [one for one in _all_dives(store) if one.site is not None and one.site.id == dive.site.id]
    after = [edited(one, {"site": replace(one.site, **told)}) for one in there if one.site is not None]
    changed = [one for one, was in zip(after, there, strict=True) if one != was]
    return _rewritten(store, changed, now, EDIT) if changed else Changes()


def dives_at_site_of(store: LogbookStore, dive_id: str) -> int:
    """Return how many dives of the logbook were at the site of this one, itself among them."""
    site = store.dive(dive_id).site
    return 0 if site is None else sum(1 for one in store.dives() if one.site and one.site.id == site.id)


def take_back(store: LogbookStore, number: int, now: datetime) -> Changes:
    """Take back one change in every field that nobody has changed since."""
    done = store.change_of(number)
    if not done:
        raise UnknownChange(_("There is no change {number} in the history.").format(number=number))
    return _set_back(store, [one for one in done if _stands(store, one)], now, UNDO)


def put_back(store: LogbookStore, dive_id: str, ids: Iterable[int], now: datetime) -> Changes:
    """Let fields of a dive say again what they said before a change; see `Logbook.put_back`."""
    wanted = set(ids)
    done = [one for one in store.history(dive_id) if one.id in wanted]
    if len(done) != len(wanted) or not done:
        raise UnknownChange(_("The history of this dive has no such line; look at it again."))
    parting = next((one for one in done if one.why == JOIN and one.field == "recordings"), None)
    if parting is not None:  # the other record of the two comes back as well
        done = store.change_of(parting.change)
    return _set_back(store, done, now, PUT_BACK)


def _set_back(store: LogbookStore, done: Sequence[FieldChange], now: datetime, why: str) -> Changes:
    to_bin = [one.record_id for one in done if one.field == PRESENT and one.after == "true"]
    from_bin = [one.record_id for one in done if one.field == PRESENT and one.after != "true"]
    earlier: dict[str, dict[str, str]] = {}
    for one in done:
        if one.field != PRESENT:
            earlier.setdefault(one.record_id, {})[one.field] = one.before
    dives = []
    for dive_id, values in earlier.items():
        before = store.dive(dive_id)
        after = _with_earlier(before, values)
        if why == PUT_BACK:
            _refuse_impossible_place(store, before, after, now)
        dives.append(after)
    return _rewritten(store, dives, now, why, to_bin, from_bin)


def _with_earlier(dive: Dive, values: Mapping[str, str]) -> Dive:
    """Return a dive with earlier values; those that go with a recording come and go with it."""
    if "recordings" in values:
        return with_values(dive, values)
    own = {name: value for name, value in values.items() if name.startswith(EXTRA) or name == "estimate"}
    plain = {name: value_from_json(name, text) for name, text in values.items() if name not in own}
    return edited(with_values(dive, own), plain)


def _stands(store: LogbookStore, one: FieldChange) -> bool:
    """Tell whether a field still says what the change left in it."""
    if one.field == PRESENT:
        return store.is_binned(one.record_id) == (one.after != "true")
    now = told_value(store.dive(one.record_id), one.field)
    return bool(now == value_from_json(one.field, one.after))


def _refuse_impossible_place(store: LogbookStore, before: Dive, after: Dive, now: datetime) -> None:
    """Refuse a dive that a correction would put into the future, or beside another of the same diver."""
    if _when(before) == _when(after):
        return
    if after.ended_at > now + _CLOCKS_APART:
        raise RefusedRecord(
            _("This dive would end on {at}, which is still to come; check its date and time.").format(
                at=f"{after.began_local + (after.ended_at - after.began_at):%Y-%m-%d %H:%M}"
            )
        )
    others = [one for one in store.dives() if one.id != after.id and not overlapping(before, [one])]
    other = overlapping(after, others)
    if other is not None:
        raise RefusedRecord(
            _(
                "This dive would overlap {other}, and nobody is in two places at once; change its start or "
                "its time."
            ).format(other=told_dive(other))
        )


def _when(dive: Dive) -> tuple[datetime, datetime, str]:
    return dive.began_at, dive.ended_at, dive.diver


def _all_dives(store: LogbookStore) -> list[Dive]:
    return [*store.dives(), *(dive for dive, _at in store.binned())]


def _rewritten(
    store: LogbookStore,
    dives: Sequence[Dive],
    now: datetime,
    why: str,
    to_bin: Sequence[str] = (),
    from_bin: Sequence[str] = (),
) -> Changes:
    number = store.rewrite(dives, now, why, to_bin=to_bin, from_bin=from_bin)
    touched = frozenset((*(dive.id for dive in dives), *to_bin, *from_bin))
    return Changes(touched, totals=True, change_id=number)

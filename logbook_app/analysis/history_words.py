"""What became of a dive, told: one entry a change, the newest first, with what each field said before."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta, timezone
from itertools import groupby
from typing import Any, Final

from logbook_app.analysis.field_words import field_label, field_words
from logbook_app.analysis.spoken_times import moment
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.history import (
    BY_HAND,
    DELETE,
    EDIT,
    EXTRA,
    IMPORT,
    JOIN,
    LEAD,
    NOT_THERE,
    PRESENT,
    PUT_BACK,
    RESTORE,
    SHIFT,
    SYNC,
    UNDO,
    FieldChange,
    value_from_json,
)
from logbook_app.dive.record import Dive
from logbook_app.language import _, later

_WHY: Final = {
    BY_HAND: later("Written by hand"),
    EDIT: later("Changed"),
    PUT_BACK: later("Put back"),
    UNDO: later("Taken back"),
    IMPORT: later("Import of a recording"),
    JOIN: later("Two records made one"),
    SHIFT: later("Clock moved"),
    LEAD: later("Another recording leads"),
    DELETE: later("Deleted"),
    RESTORE: later("Taken out of the bin"),
    "tags": later("Tags given to several dives"),
    SYNC: later("Brought by a sync"),
}
_START: Final = ("began_at", "utc_offset_min")


@dataclass(frozen=True, slots=True)
class ToldChange:
    """One field in words, or what belongs to a recording and comes and goes with it.

    ids         of the lines of the history that it tells
    can_return  whether what was before can be put back
    """

    label: str
    before: str
    after: str
    ids: tuple[int, ...]
    can_return: bool


@dataclass(frozen=True, slots=True)
class ToldHistory:
    """All that one change did to a dive: when, what did it, and the fields in words."""

    at: str
    why: str
    changes: tuple[ToldChange, ...]


def told_history(dive: Dive, lines: Sequence[FieldChange], units: SpokenUnits) -> tuple[ToldHistory, ...]:
    """Return the history of a dive in words, the newest change first.

    dive    as it is now; earlier offsets from UTC follow from the lines
    lines   its whole history, the first change first
    """
    told: list[ToldHistory] = []
    then = dive
    for _number, group in groupby(reversed(lines), key=lambda line: line.change):
        together = list(reversed(list(group)))
        local = together[0].at.astimezone(timezone(timedelta(minutes=dive.utc_offset_min)))
        before = _start_before(then, together)
        changes = tuple(_told(together, before, then, units))
        told.append(ToldHistory(moment(local), _(_WHY.get(together[0].why, together[0].why)), changes))
        then = before
    return tuple(told)


def _start_before(then: Dive, lines: Sequence[FieldChange]) -> Dive:
    """Return the dive with the start that it had before: instants are told by the offset of their time."""
    earlier = {line.field: value_from_json(line.field, line.before) for line in lines if line.field in _START}
    return replace(then, **earlier)


def _told(
    lines: Sequence[FieldChange], before: Dive, after: Dive, units: SpokenUnits
) -> Iterator[ToldChange]:
    whole = any(line.field == "recordings" for line in lines)
    ids = tuple(line.id for line in lines)
    start = [line for line in lines if line.field in _START]
    if start:
        was, now = (field_words(one, "began_at", one.began_at, units) for one in (before, after))
        its_ids = ids if whole else tuple(line.id for line in start)
        yield ToldChange(field_label("began_at"), was, now, its_ids, True)
    for line in lines:
        if line.field not in _START:
            yield _one(line, before, after, units, ids if whole else (line.id,))


def _one(
    line: FieldChange, before: Dive, after: Dive, units: SpokenUnits, ids: tuple[int, ...]
) -> ToldChange:
    was, now = (
        field_words(one, line.field, _value(line.field, text), units) or _("nothing")
        for one, text in ((before, line.before), (after, line.after))
    )
    came = line.field == PRESENT and line.before == NOT_THERE
    if came:
        was = _("not in the logbook")
    return ToldChange(field_label(line.field), was, now, ids, not came)


def _value(name: str, text: str) -> Any:
    return json.loads(text) if name == PRESENT or name.startswith(EXTRA) else value_from_json(name, text)

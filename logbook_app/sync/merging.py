"""What two devices know of one record becomes what both know.

A record is a map of fields. A field holds the edits that nobody has replaced yet, its *heads*, and
the names of those that somebody has, its *past*. Every edit names, for each field it writes, the
heads that its author saw. From that alone follows who knew of whom:

    merge(a, b):  past  = a.past + b.past
                  heads = (a.heads + b.heads) - past

Both lines are unions, so the order of merging, the grouping and repetition change nothing
(tests/sync/test_merging.py holds the three laws). An edit that comes late, after the one which
replaced it, finds its name in the past and changes nothing.

An edit also names what the heads that it saw had replaced. A head may be lost with every copy of it,
where a club comes back from an old backup and a phone is dropped into the sea; what was written upon it
must still know that the edits before are past, or the one before last would stand again.

One head is the ordinary case. Two heads are two people, or two devices of one, who wrote without
knowing of each other: a true conflict. The head with the later stamp shows, the other is kept
beside it on every device until somebody chooses, with an edit that saw both. Two heads of equal
value are no conflict. Stamps never overrule knowledge: what was written after reading replaces what
was read, even where the clock went back in between.

Deletion is the field `deleted`, so that it travels, merges and is taken back as every edit is. A
deletion names all heads of the whole record: a change of any field that it did not know of is
thereby found (`missed_by_deletion`) and can be shown before the record goes for good.

Fields nobody here knows are merged as the others are. A blob is a field's text with the SHA-256 of
its bytes; bytes never merge.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import reduce
from typing import Annotated, Any, Final, TypeAlias

from logbook_app.sync.stamps import STAMP
from logbook_app.sync.wire import AnyValue, Matching, Within

Json: TypeAlias = Any  # what JSON can hold; nothing here looks into it

DELETED: Final = "deleted"
MOST_PAST: Final = 40_000  # edits of one field; about as many as one message carries
MOST_PAST_NAMED: Final = 64  # in one edit; the chain of edits that all have to be lost is never that long


@dataclass(frozen=True, slots=True)
class Edit:
    """One value of one field.

    change   id of the change that wrote it
    stamp    when; the earlier one where two places know it under two stamps, because the club only
             ever stamps anew what lay too far ahead
    """

    change: Annotated[str, Within(1, 80)]
    stamp: Annotated[str, Matching(STAMP)]
    value: AnyValue

    @property
    def order(self) -> tuple[str, str]:
        """What decides which of several heads shows."""
        return self.stamp, self.change


@dataclass(frozen=True, slots=True)
class Field:
    """A field's heads, the one that shows first, and the ids of the edits they replaced."""

    heads: tuple[Edit, ...] = ()
    past: Annotated[frozenset[Annotated[str, Within(1, 80)]], Within(0, MOST_PAST)] = frozenset()


Record: TypeAlias = Mapping[str, Field]

NOTHING: Final = Field()
NO_RECORD: Final[Record] = {}


@dataclass(frozen=True, slots=True)
class Conflict:
    """A field that was written by people who did not know of each other.

    shown    the value that everybody sees
    others   the values kept beside it, the latest first
    """

    name: str
    shown: Edit
    others: tuple[Edit, ...]


def merged_fields(one: Field, other: Field) -> Field:
    """Return what two fields know together."""
    if one == other:
        return one
    past = one.past | other.past
    heads: dict[str, Edit] = {}
    for edit in (*one.heads, *other.heads):
        if edit.change not in past:
            known = heads.get(edit.change)
            heads[edit.change] = edit if known is None else _earlier(known, edit)
    if len(heads) < 2:  # the ordinary case
        return Field(tuple(heads.values()), past)
    return Field(tuple(sorted(heads.values(), key=lambda edit: edit.order, reverse=True)), past)


def _earlier(one: Edit, other: Edit) -> Edit:
    """Return the edit as the club stamped it; a forged second value is chosen the same way everywhere."""
    if one is other or one == other:
        return one
    return min(one, other, key=lambda edit: (edit.stamp, repr(edit.value)))


def merged(one: Record, other: Record) -> Record:
    """Return what two records know together."""
    if not one or not other:
        return one or other
    both = dict(one)
    for name, field in other.items():
        both[name] = merged_fields(one[name], field) if name in one else field
    return both


def all_merged(records: Iterable[Record]) -> Record:
    """Return what several records know together."""
    return reduce(merged, records, NO_RECORD)


def knows_all_of(one: Record, other: Record) -> bool:
    """Return whether nothing of the other record would be news to this one."""
    return merged(one, other) == one


def value_of(record: Record, name: str, otherwise: Json = None) -> Json:
    """Return the value that shows, `otherwise` where nobody wrote one."""
    heads = record.get(name, NOTHING).heads
    return heads[0].value if heads else otherwise


def values_of(record: Record) -> dict[str, Json]:
    """Return the value that shows of every field that has one."""
    return {name: field.heads[0].value for name, field in record.items() if field.heads}


def is_deleted(record: Record) -> bool:
    """Return whether the record is marked as deleted."""
    return value_of(record, DELETED) is True


def heads_of(record: Record) -> frozenset[str]:
    """Return the ids of all changes that still stand somewhere in the record."""
    return frozenset(edit.change for field in record.values() for edit in field.heads)


def conflicts_of(record: Record) -> Iterator[Conflict]:
    """Yield the fields that hold different values side by side, in the order of their names."""
    for name in sorted(record):
        heads = record[name].heads
        others = tuple(edit for edit in heads[1:] if not same_value(edit.value, heads[0].value))
        if others:
            yield Conflict(name, heads[0], others)


def missed_by_deletion(record: Record) -> dict[str, Edit]:
    """Return what was written by somebody who did not know of the deletion, nor the deletion of it."""
    if not is_deleted(record):
        return {}
    known = record[DELETED].past | {edit.change for edit in record[DELETED].heads}
    return {
        name: field.heads[0]
        for name, field in record.items()
        if name != DELETED and field.heads and field.heads[0].change not in known
    }


def what_an_edit_sees(record: Record, name: str, *, chooses: bool = False) -> tuple[str, ...]:
    """Return the edits that an edit of this field replaces: heads, and what these had replaced before.

    chooses   the author was shown both sides of a conflict; otherwise only the value that shows was
              seen, and what is kept beside it stays

    A deletion, or taking one back, sees everything that stands in the record.
    """
    field = record.get(name, NOTHING)
    if name == DELETED:
        seen = heads_of(record)
    else:
        shown = (edit for edit in field.heads if chooses or same_value(edit.value, field.heads[0].value))
        seen = frozenset(edit.change for edit in shown)
    return tuple(sorted(seen | _latest(field.past - seen)))


def _latest(past: frozenset[str]) -> frozenset[str]:
    """Return as many replaced edits as an edit names, the later ones of each device."""
    if len(past) <= MOST_PAST_NAMED:
        return past
    return frozenset(sorted(past, key=lambda change: (len(change), change))[-MOST_PAST_NAMED:])


def same_value(one: Json, other: Json) -> bool:
    """Return whether two values are the same as JSON: True is not 1, and 1 is 1.0."""
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same_value(one[key], other[key]) for key in one)
    if isinstance(one, list | tuple) and isinstance(other, list | tuple):
        return len(one) == len(other) and all(map(same_value, one, other))
    return bool(one == other)

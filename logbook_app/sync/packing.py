"""A record as one short text for a store: each change is named once, however many fields it wrote.

    [[change, stamp], ...]   the changes, in order
    {field: [[place, value, place, value, ...], [place, ...]]}   its heads, and its past

A dive has twenty-odd fields and few changes; written out field by field, the names of the changes would
be most of it. What is packed here comes from a store of one's own, so it is not looked at again for
what a stranger could have put into it.
"""

from __future__ import annotations

import json
from itertools import chain

from logbook_app.sync.merging import Edit, Field, Json, Record


def packed(record: Record) -> str:
    """Return a record as text; equal records may be packed differently."""
    named: dict[tuple[str, str], int] = {}

    def place(change: str, stamp: str) -> int:
        return named.setdefault((change, stamp), len(named))

    fields = {
        name: [
            list(chain.from_iterable((place(edit.change, edit.stamp), edit.value) for edit in field.heads)),
            [place(change, "") for change in sorted(field.past)],
        ]
        for name, field in record.items()
    }
    return json.dumps([list(named), fields], separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def unpacked(text: str) -> Record:
    """Return the record that `packed` wrote."""
    named, fields = json.loads(text)
    return {
        name: Field(
            tuple(_edit(named[place], value) for place, value in zip(heads[::2], heads[1::2], strict=True)),
            frozenset(named[place][0] for place in past),
        )
        for name, (heads, past) in fields.items()
    }


def _edit(named: tuple[str, str], value: Json) -> Edit:
    change, stamp = named
    return Edit(change, stamp, value)

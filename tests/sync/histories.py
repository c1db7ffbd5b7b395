"""Hypothesis strategies for histories of a record: several authors, each of whom saw some of the rest."""

from __future__ import annotations

from dataclasses import dataclass

from hypothesis import strategies as st

from logbook_app.sync.changes import Change
from logbook_app.sync.merging import DELETED, NO_RECORD, Record, all_merged, merged, what_an_edit_sees
from logbook_app.sync.stamps import StampClock

FIELDS = ("notes", "depth", DELETED)


@dataclass(frozen=True)
class History:
    """Changes in the order they were made, and for each the record that its author saw then."""

    changes: tuple[Change, ...]
    seen: tuple[Record, ...]

    def part(self, places: frozenset[int]) -> Record:
        return all_merged(self.changes[place].as_record() for place in sorted(places))


@st.composite
def histories(draw: st.DrawFn, *, most: int = 8) -> History:
    """Any history: clocks that are right or wrong, authors that see all, some or nothing."""
    changes: list[Change] = []
    seen: list[Record] = []
    places: list[Record] = [NO_RECORD, NO_RECORD, NO_RECORD]
    for number in range(1, draw(st.integers(1, most)) + 1):
        who = draw(st.integers(0, 2))
        for other in draw(st.sets(st.integers(0, 2))):
            places[who] = merged(places[who], places[other])
        names = draw(st.sets(st.sampled_from(FIELDS), min_size=1))
        chooses = draw(st.booleans())
        values = st.integers(0, 3)
        change = Change(
            origin="abc"[who],
            number=number,
            owner="",
            record="dive:1",
            stamp=StampClock(draw(st.integers(1, 6))).stamp,
            fields={name: draw(st.booleans() if name == DELETED else values) for name in names},
            saw={name: what_an_edit_sees(places[who], name, chooses=chooses) for name in names},
        )
        seen.append(places[who])
        places[who] = merged(places[who], change.as_record())
        changes.append(change)
    return History(tuple(changes), tuple(seen))


def some_of(history: History) -> st.SearchStrategy[frozenset[int]]:
    """Return any part of a history, as places in it."""
    return st.frozensets(st.integers(0, len(history.changes) - 1))

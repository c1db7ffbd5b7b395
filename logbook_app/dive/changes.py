"""What a change of the logbook touched."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Changes:
    """What a change touched, so that a screen refreshes that and nothing else.

    kit        pieces of kit, what is due of them, or sets
    undo_id    names an import, a join or a shift that can be taken back as a whole, 0 for any other
    change_id  number of the change in the history, for what is taken back by field; 0 where nothing changed
    """

    dives: frozenset[str] = frozenset()
    totals: bool = False
    settings: bool = False
    kit: bool = False
    undo_id: int = 0
    change_id: int = 0

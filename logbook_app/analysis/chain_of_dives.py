"""What each dive of a logbook left, worked out no more often than it must be.

What a dive leaves rests on the dive itself and on what the diver brought into it. The first is looked
after by whoever keeps the figures: they go when the dive changes. The second is looked at here: figures that
were kept are taken again where what is carried into the dive agrees with what they rest on, within the
tolerance of a tension. So a changed dive is worked out anew, and the dives after it, until the load that
it changed has gone; from there on the figures that were kept hold.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from itertools import takewhile
from typing import Any

import numpy as np

from logbook_app.analysis.dive_analysis import Carried, Rules
from logbook_app.analysis.repetitive_dives import (
    EndState,
    carried_into,
    end_state_from_bytes,
    end_state_to_bytes,
)
from logbook_app.analysis.whole_logbook import Left, left_by_each
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive

# 300 dives of an hour are ten megabytes of arrays, which a phone has to spare.
DIVES_AT_ONCE = 300

# Tensions [bar] and shares of the oxygen clock that differ by less are the same.
SAME = 1e-9


class ChainOfDives:
    """The end states of one diver's dives under one set of rules.

    rules        the diver's choices
    samples_of   finds the samples of a dive, None for one without
    kept         figures kept earlier, from `to_keep`: dive id -> bytes

    Good for as long as the logbook stays as it is; after a change make a new one.
    """

    def __init__(
        self, rules: Rules, samples_of: Callable[[Dive], Profile | None], kept: Mapping[str, bytes]
    ) -> None:
        self._rules, self._samples_of, self._kept = rules, samples_of, kept
        self._worked: dict[str, tuple[EndState | None, EndState]] = {}
        self._to_keep: dict[str, bytes] = {}

    def end_states(self, chain: Sequence[Dive]) -> list[EndState]:
        """Return what each dive of a chain left; dives in order of their start, from its first."""
        states: list[EndState] = []
        while len(states) < len(chain):
            dive, before = chain[len(states)], states[-1] if states else None
            known = self._known(dive, before)
            states += [known] if known else self._worked_out(chain[len(states) :], before)
        return states

    def to_keep(self) -> dict[str, bytes]:
        """Return what was worked out since this was last asked: dive id -> bytes."""
        fresh, self._to_keep = self._to_keep, {}
        return fresh

    def _known(self, dive: Dive, before: EndState | None) -> EndState | None:
        worked = self._worked.get(dive.id)
        if worked is not None and worked[0] is before:
            return worked[1]
        if dive.id not in self._kept:
            return None
        kept = json.loads(self._kept[dive.id])
        if not _agrees(kept["rests_on"], carried_into(dive, before)):
            return None
        state = end_state_from_bytes(kept["left"].encode())
        self._worked[dive.id] = before, state
        return state

    def _worked_out(self, chain: Sequence[Dive], before: EndState | None) -> list[EndState]:
        """Return what the first dive left, and those after it of which nothing is kept either."""
        unknown = [chain[0], *takewhile(lambda dive: dive.id not in self._kept, chain[1:DIVES_AT_ONCE])]
        left = left_by_each([(dive, self._samples_of(dive)) for dive in unknown], before, self._rules)
        for dive, one in zip(unknown, left, strict=True):
            self._worked[dive.id] = before, one.state
            self._to_keep[dive.id] = _to_bytes(one)
            before = one.state
        return [one.state for one in left]


def _to_bytes(left: Left) -> bytes:
    kept = {"rests_on": _plain(left.carried), "left": end_state_to_bytes(left.state).decode()}
    return json.dumps(kept).encode()


def _plain(carried: Carried) -> dict[str, Any]:
    return {
        "tensions_bar": [carried.tensions.n2_bar.tolist(), carried.tensions.he_bar.tolist()],
        "cns_fraction": carried.cns_fraction,
        "table": None if carried.table is None else asdict(carried.table),
    }


def _agrees(rested_on: Mapping[str, Any], carried: Carried) -> bool:
    now = _plain(carried)
    apart_bar = np.abs(np.subtract(rested_on["tensions_bar"], now["tensions_bar"])).max()
    apart = abs(rested_on["cns_fraction"] - now["cns_fraction"])
    return bool(apart_bar <= SAME and apart <= SAME) and rested_on["table"] == now["table"]

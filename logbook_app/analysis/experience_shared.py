"""Dives among several requirements of which each dive may serve but one.

As many requirements as possible get what they need: the first as many as it can, then the second as many
as it can beside the first, and so on. Which of them a dive could serve is all that matters, so the dives are
sorted into kinds, and a way is looked for that gives one more dive to a requirement by handing others on
(augmenting paths, as for any matching).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from logbook_app.analysis.experience_columns import Mask


def shared_out(able: Sequence[Mask], needs: Sequence[int]) -> list[Mask]:
    """Return which dives each requirement gets, none twice; what nobody needs goes to the first it fits.

    able    which dives each requirement could use
    needs   how many each asks for
    """
    bits = np.zeros(len(able[0]), dtype=np.int64)
    for place, mask in enumerate(able):
        bits |= mask.astype(np.int64) << place
    kinds = {int(kind): int((bits == kind).sum()) for kind in np.unique(bits) if kind}
    given = _given(kinds, needs)
    got = [np.zeros(len(bits), dtype=bool) for _ in needs]
    for kind in kinds:
        places = np.flatnonzero(bits == kind)
        taken = 0
        for place in range(len(needs)):
            count = given.get((kind, place), 0)
            got[place][places[taken : taken + count]] = True
            taken += count
        got[_lowest(kind)][places[taken:]] = True
    return got


def _given(kinds: dict[int, int], needs: Sequence[int]) -> dict[tuple[int, int], int]:
    """Return how many dives of each kind each requirement gets."""
    given: dict[tuple[int, int], int] = {}
    free = dict(kinds)
    for place, need in enumerate(needs):
        got = 0
        while got < need and (way := _way_to(place, free, given, len(needs))):
            got += _handed_on(way, free, given, need - got)
    return given


def _way_to(
    place: int, free: dict[int, int], given: dict[tuple[int, int], int], count: int
) -> list[tuple[int, int]]:
    """Return how a free dive gets to a requirement: kind and who takes it, from the wanting one back."""
    came: dict[int, tuple[int, int] | None] = {place: None}
    queue = deque([place])
    while queue:
        wanting = queue.popleft()
        for kind in free:
            if not kind >> wanting & 1:
                continue
            if free[kind]:
                return _traced(came, kind, wanting)
            for holder in range(count):
                if holder not in came and given.get((kind, holder)):
                    came[holder] = (kind, wanting)
                    queue.append(holder)
    return []


def _traced(came: dict[int, tuple[int, int] | None], kind: int, wanting: int) -> list[tuple[int, int]]:
    way = [(kind, wanting)]
    while (step := came[wanting]) is not None:
        way.append(step)
        wanting = step[1]
    return way


def _handed_on(
    way: list[tuple[int, int]], free: dict[int, int], given: dict[tuple[int, int], int], most: int
) -> int:
    """Hand dives along a way: each taker passes on as many of another kind as it is given."""
    (first, _taker), count = way[0], most
    count = min(count, free[first])
    for (_, holder), (kind, _taker) in pairwise(way):
        count = min(count, given[kind, holder])
    free[first] -= count
    for place, (kind, taker) in enumerate(way):
        given[kind, taker] = given.get((kind, taker), 0) + count
        if place:
            given[kind, way[place - 1][1]] -= count
    return count


def _lowest(kind: int) -> int:
    return (kind & -kind).bit_length() - 1

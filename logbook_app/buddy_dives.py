"""Dives that were made together, looked for in the logbook; what was laid once is remembered."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from logbook_app.analysis.clock_alignment import Likeness, aligned
from logbook_app.analysis.likely_partners import (
    LikelyPair,
    far_dives,
    in_order_of_likelihood,
    near_dives,
)
from logbook_app.analysis.profile_repair import mended_copy
from logbook_app.analysis.same_dive import overlap
from logbook_app.dive.problems import Cancelled
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.store.logbook_store import LogbookStore

MOST_LOOKED_AT = 300  # records of others, the latest; older ones are chosen by hand
MOST_PAIRS = 12
MOST_KEPT = 4000


class BuddyDives:
    """Who dived with whom, in one logbook file.

    store   the logbook file
    """

    def __init__(self, store: LogbookStore) -> None:
        self._store = store
        # Samples never change and are named by what they hold, so an answer holds for good.
        self._known: dict[tuple[str, str], Likeness] = {}

    def likely(
        self,
        progress: Callable[[int, int, str], None] = lambda _done, _all, _name: None,
        cancelled: Callable[[], bool] = lambda: False,
        most: int = MOST_PAIRS,
    ) -> list[LikelyPair]:
        """Return the owner's latest dives that have a likely partner, the newest first.

        progress    called with how many records were looked at, how many there are and nothing
        cancelled   asked before each record; True ends the work
        most        pairs wanted

        Raises Cancelled; what was worked out so far is kept.
        """
        recorded = [dive for dive in reversed(self._all()) if dive.profile_sha256]
        own = [dive for dive in recorded if not dive.diver]
        others = [dive for dive in recorded if dive.diver][:MOST_LOOKED_AT]
        found = list(self._recorded_twice(own))
        for place, other in enumerate(others):
            progress(place, len(others), "")
            if cancelled():
                raise Cancelled(_("The search for partners was not finished."))
            if len(found) >= most:
                break
            found += self._pairs_of(other, own)
        return sorted(found, key=lambda pair: pair.own.began_at, reverse=True)[:most]

    def to_choose_from(self, leader_id: str = "") -> list[Dive]:
        """Return the dives that have samples: the newest first, or after a leader those begun nearest to it.

        Raises UnknownDive.
        """
        dives = [dive for dive in self._all() if dive.profile_sha256]
        if not leader_id:
            return dives[::-1]
        leader = self._store.any_dive(leader_id)
        return [leader, *in_order_of_likelihood(leader, [dive for dive in dives if dive.id != leader_id])]

    def _all(self) -> list[Dive]:
        """Return the dives of the logbook and those that other members of the club show, by their start."""
        shown = self._store.shown_by_others()
        dives = self._store.dives()
        return sorted([*dives, *shown], key=lambda dive: (dive.began_at, dive.id)) if shown else dives

    def _recorded_twice(self, own: Sequence[Dive]) -> Iterator[LikelyPair]:
        """Yield dives of the owner's that were under way at once: one dive by two recorders, not joined."""
        for later, earlier in pairwise(own):
            if overlap(earlier, later) and self._likeness(earlier, later) is not Likeness.OTHER:
                yield LikelyPair(earlier, later, self._likeness(earlier, later))

    def _pairs_of(self, other: Dive, own: Sequence[Dive]) -> list[LikelyPair]:
        """Return the dives that a record goes with; of another day only one whose shape leaves no doubt."""
        near = [(dive, self._likeness(dive, other)) for dive in near_dives(other, own)]
        found = [LikelyPair(dive, other, like) for dive, like in near if like is not Likeness.OTHER]
        if found:
            return sorted(found, key=lambda pair: pair.likeness is not Likeness.SAME)[:1]
        far = (dive for dive in far_dives(other, own) if self._likeness(dive, other) is Likeness.SAME)
        return [LikelyPair(dive, other, Likeness.SAME) for dive in far][:1]

    def _likeness(self, own: Dive, other: Dive) -> Likeness:
        names = str(own.profile_sha256), str(other.profile_sha256)
        if names not in self._known:
            if len(self._known) >= MOST_KEPT:
                self._known.clear()
            alignment = aligned(self._samples(names[0]), self._samples(names[1]))
            self._known[names] = alignment.likeness if alignment else Likeness.OTHER
        return self._known[names]

    def _samples(self, sha256: str) -> Profile:
        return mended_copy(self._store.profile(sha256))[0]

"""The dives of each diver in their order, and what they left: read once, kept beside the dives.

What is read is good until the logbook changes; what is worked out is kept in the logbook file under
the model's version and the diver's rules, and taken again for as long as it holds.
"""

from __future__ import annotations

from bisect import bisect_left
from datetime import datetime

from logbook_app.analysis.chain_of_dives import ChainOfDives
from logbook_app.analysis.chart_series import outline
from logbook_app.analysis.dive_analysis import MODEL_VERSION, Carried, Rules
from logbook_app.analysis.profile_repair import REPAIR_RULES, Mended, mended_copy
from logbook_app.analysis.repetitive_dives import EndState, carried_into, one_chain
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.store.logbook_store import LogbookStore


class DiverHistory:
    """The dives in one logbook file, diver by diver, and what each left.

    store   the logbook file
    """

    def __init__(self, store: LogbookStore) -> None:
        self._store = store
        self._own: tuple[int, list[Dive]] | None = None
        self._others: tuple[int, list[Dive]] | None = None
        self._chain: tuple[tuple[int, str], ChainOfDives] | None = None

    def own_dives(self) -> list[Dive]:
        """Return the owner's dives in order of their start, read once until something changes."""
        revision = self._store.revision()
        if self._own is None or self._own[0] != revision:
            self._own = (revision, self._store.dives(own_only=True))
        return self._own[1]

    def _dives_of(self, diver: str) -> list[Dive]:
        """Return another diver's dives in order of their start, read once until something changes."""
        revision = self._store.revision()
        if self._others is None or self._others[0] != revision:
            dives = [dive for dive in self._store.dives() if not dive.own]
            self._others = (revision, dives)
        return [dive for dive in self._others[1] if dive.diver == diver]

    def _dives_before(self, dive: Dive) -> list[Dive]:
        """Return the same diver's dives before this one, in order of their start."""
        others = self.own_dives() if dive.own else self._dives_of(dive.diver)
        return others[: bisect_left(others, dive.began_at, key=lambda other: other.began_at)]

    def before_on_the_day(self, dive: Dive) -> Dive | None:
        """Return the same diver's last dive before this one on its local day."""
        before = self._dives_before(dive)
        same_day = before and before[-1].began_local.date() == dive.began_local.date()
        return before[-1] if same_day else None

    def carried_into(self, dive: Dive, rules: Rules) -> Carried:
        """Return what the dives before it left for a dive."""
        states = self._end_states(one_chain(self._dives_before(dive)), rules)
        return carried_into(dive, states[-1] if states else None)

    def _end_states(self, chain: list[Dive], rules: Rules) -> list[EndState]:
        """Return what each dive of a chain left, worked out once and then kept beside the dives."""
        revision = self._store.revision()
        key = f"end state 2, {MODEL_VERSION}, {REPAIR_RULES}, {rules}"
        if self._chain is None or self._chain[0] != (revision, key):
            self._chain = (revision, key), ChainOfDives(rules, self.samples_of, self._store.derived(key))
        states = self._chain[1].end_states(chain)
        if fresh := self._chain[1].to_keep():
            self._store.save_derived(key, fresh, at_revision=revision)
        return states

    def samples_of(self, dive: Dive) -> Profile | None:
        """Return the mended samples of a dive's leading recording, None where there are none."""
        return mended_samples(self._store.profile_of(dive))[0]

    def finished(self, at: datetime, rules: Rules) -> list[EndState]:
        """Return what the owner's dives left that ended before an instant, those of its chain."""
        return self._end_states(one_chain([dive for dive in self.own_dives() if dive.ended_at <= at]), rules)

    def outlines(self, dives: list[Dive]) -> dict[str, bytes]:
        """Return the small picture of each dive, drawn once and then kept beside it."""
        key, revision = f"outline 1, {REPAIR_RULES}", self._store.revision()
        shapes = self._store.derived(key)
        fresh = {dive.id: outline(self.samples_of(dive)) for dive in dives if dive.id not in shapes}
        if fresh:
            self._store.save_derived(key, fresh, at_revision=revision)
        return shapes | fresh


def mended_samples(profile: Profile | None) -> tuple[Profile | None, tuple[Mended, ...]]:
    """Return the samples as the analysis takes them, and what was mended in them."""
    return (None, ()) if profile is None else mended_copy(profile)

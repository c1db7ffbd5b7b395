"""The pre-dive card that waits for its dive, and the cards of the dives that it found.

One card waits at a time. It goes to the first of the owner's dives that begins within a day after it was
begun, as soon as that dive is in the logbook; it comes back where that dive leaves again within the day. The
card on a dive has the id of the one that waited, so that a loss of power in between leaves no second one.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime

from logbook_app.analysis.spoken_times import moment
from logbook_app.dive.changes import Changes
from logbook_app.dive.planned_line import PlannedLine
from logbook_app.dive.pre_dive_card import PreDiveCard, card_from_plain, card_to_plain
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.store.logbook_store import LogbookStore

_WAITING = "pre-dive card"


class PreDiveCards:
    """The cards of one logbook file.

    store       the logbook file
    now         the clock
    own_dives   the owner's dives in order of their start, without those in the bin
    """

    def __init__(
        self, store: LogbookStore, now: Callable[[], datetime], own_dives: Callable[[], list[Dive]]
    ) -> None:
        self._store, self._now, self._own_dives = store, now, own_dives

    # The card that waits

    def waiting(self) -> PreDiveCard | None:
        """Return the card that waits for its dive, None where there is none.

        What cannot be read as one waits for nothing.
        """
        text = self._store.settings().get(_WAITING, "")
        try:
            return card_from_plain(json.loads(text)) if text else None
        except (ValueError, RefusedRecord):
            return None

    def keep(self, card: PreDiveCard | None) -> None:
        """Keep the card that waits as it is now; None where there is none any more."""
        text = "" if card is None else json.dumps(card_to_plain(card), ensure_ascii=False)
        self._store.set_settings({_WAITING: text})

    def keep_line(self, line: PlannedLine, utc_offset_min: int) -> PreDiveCard | None:
        """Keep a planned line on the card that waits, a new one where none does; return the card before.

        Raises RefusedRecord where the planned dive would not take that card.
        """
        before, now = self.waiting(), self._now()
        card = before or PreDiveCard(begun_at=now, utc_offset_min=utc_offset_min)
        line = replace(line, begins_at=max(line.begins_at, now))
        if not card.belongs_to(line.begins_at):
            if before is None:
                raise RefusedRecord(
                    _("A plan is kept for a dive within a day; keep this one on the day of the dive.")
                )
            raise RefusedRecord(
                _(
                    "The pre-dive card of {begun} still waits for its dive, and this plan is for another "
                    "day. Begin a new card, then keep the plan."
                ).format(begun=moment(before.begun_local))
            )
        self.keep(replace(card, planned_line=line))
        return before

    def last_at(self, site: str) -> PreDiveCard | None:
        """Return the last dive's card at a place, for its plan in an emergency; None where there is none."""
        wanted = _folded(site)
        cards = (dive.pre_dive for dive in reversed(self._own_dives()) if dive.pre_dive)
        return next((card for card in cards if wanted and _folded(card.site) == wanted), None)

    def attach(self) -> Dive | None:
        """Give the waiting card to its dive where that is in the logbook by now; return that dive."""
        card = self.waiting()
        if card is None or card.says_nothing:
            return None
        dives = self._own_dives()
        if any(dive.pre_dive and dive.pre_dive.id == card.id for dive in dives):
            self.keep(None)
            return None
        free = (dive for dive in dives if dive.pre_dive is None and card.belongs_to(dive.began_at))
        dive = next(free, None)
        if dive is None:
            return None
        with_card = replace(dive, pre_dive=card)
        self._store.save([(with_card, ())])
        self.keep(None)
        return with_card

    def come_back_from(self, dive_ids: Iterable[str]) -> None:
        """Let the card of a dive that went to the bin wait again, as long as its day lasts."""
        for dive in map(self._store.dive, dive_ids):
            card = dive.pre_dive
            if card and self.waiting() is None and self._now() <= card.holds_until:
                self.keep(card)
                self._store.save([(replace(dive, pre_dive=None), ())])

    # The cards of dives

    def could_go_to(self, dive: Dive) -> list[Dive]:
        """Return the other dives of its day that a dive's card could be meant for."""
        card = dive.pre_dive
        if card is None:
            return []
        others = (other for other in self._own_dives() if other.id != dive.id and other.pre_dive is None)
        return [other for other in others if card.belongs_to(other.began_at)]

    def move(self, dive_id: str, to_id: str) -> Changes:
        """Move the card of a dive to another dive.

        Raises UnknownDive, and RefusedRecord where there is no card to move or the other has one.
        """
        dive, other = self._store.dive(dive_id), self._store.dive(to_id)
        if dive.pre_dive is None or other.pre_dive is not None:
            raise RefusedRecord(_("The card cannot be moved: a dive has one card, or none."))
        moved = [replace(dive, pre_dive=None), replace(other, pre_dive=dive.pre_dive)]
        self._store.save([(each, ()) for each in moved])
        return Changes(frozenset({dive_id, to_id}))

    def put(self, dive_id: str, card: PreDiveCard | None) -> Changes:
        """Put a card on a dive, or take it off with None. Raises UnknownDive."""
        self._store.save([(replace(self._store.dive(dive_id), pre_dive=card), ())])
        return Changes(frozenset({dive_id}))


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())

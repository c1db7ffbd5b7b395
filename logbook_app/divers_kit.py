"""The diver's kit as the screens and the commands ask for it: every change says what it changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime

from logbook_app.analysis.kit_due import KitLine, KitView, Urgency, kit_view
from logbook_app.dive.changes import Changes
from logbook_app.dive.kit import CareRecord, KitItem, KitSet, UsedKit
from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _
from logbook_app.store.logbook_store import LogbookStore

_KIT = Changes(kit=True)
_REMINDERS = "kit reminders"  # "off", or the day of the last one


@dataclass(frozen=True, slots=True)
class KitChoice:
    """What a dive may be dived with, and what it was dived with.

    items, sets   what is not retired and not in the bin
    last          what the owner's last dive with any kit used
    """

    items: tuple[KitItem, ...]
    sets: tuple[KitSet, ...]
    last: tuple[UsedKit, ...]


class DiversKit:
    """The kit in one logbook file.

    store   the logbook file
    now     the clock; returns an aware instant
    """

    def __init__(self, store: LogbookStore, now: Callable[[], datetime]) -> None:
        self._store = store
        self._now = now

    # Looking

    def view(self, on: date | None = None) -> KitView:
        """Return all kit and what is due of it on a day, today unless said otherwise."""
        shelf = self._store.kit
        return kit_view(shelf.items(), shelf.care(), shelf.uses(), shelf.sets(), on or self._today())

    def binned(self) -> list[KitItem]:
        """Return the pieces in the bin."""
        return self._store.kit.items(binned=True)

    def choice(self) -> KitChoice:
        """Return what a dive may be dived with."""
        items = tuple(item for item in self._store.kit.items() if not item.retired)
        return KitChoice(items, tuple(self._store.kit.sets()), self._last())

    # Changing

    def keep(self, item: KitItem) -> Changes:
        """Keep a piece, a new one or one that is there."""
        self._store.kit.keep_items([item])
        return _KIT

    def delete(self, item_id: str) -> Changes:
        """Put a piece into the bin; the dives that used it keep its name. Raises UnknownKit."""
        self._store.kit.bin_item(item_id, self._now())
        return _KIT

    def restore(self, item_id: str) -> Changes:
        """Take a piece out of the bin. Raises UnknownKit."""
        self._store.kit.restore_item(item_id)
        return _KIT

    def note_care(self, record: CareRecord) -> Changes:
        """Write down what was done for a piece.

        Raises UnknownKit where there is no such piece, RefusedRecord where the day has not come yet.
        """
        self._store.kit.item(record.item_id)
        if record.done_on > self._today():
            raise RefusedRecord(
                _("{done_on} has not come yet; give the day on which it was done.").format(
                    done_on=record.done_on
                )
            )
        self._store.kit.add_care([record])
        return _KIT

    def take_back_care(self, care_id: str) -> Changes:
        """Let an entry count no more; `give_back_care` lets it count again. Raises UnknownKit."""
        self._store.kit.take_back_care(care_id, self._now())
        return _KIT

    def give_back_care(self, care_id: str) -> Changes:
        """Let an entry that was taken back count again. Raises UnknownKit."""
        self._store.kit.give_back_care(care_id)
        return _KIT

    def keep_set(self, kit_set: KitSet) -> Changes:
        """Keep a set, a new one or one that is there."""
        self._store.kit.keep_sets([kit_set])
        return _KIT

    def delete_set(self, set_id: str) -> Changes:
        """Put a set into the bin; its pieces stay. Raises UnknownKit."""
        self._store.kit.bin_set(set_id, self._now())
        return _KIT

    def restore_set(self, set_id: str) -> Changes:
        """Take a set out of the bin. Raises UnknownKit."""
        self._store.kit.restore_set(set_id)
        return _KIT

    # Reminding

    def reminds(self) -> bool:
        """Tell whether the diver wants to be reminded."""
        return self._store.settings().get(_REMINDERS, "") != "off"

    def set_reminders(self, wanted: bool) -> Changes:
        """Remind the diver from now on, or do not."""
        self._store.set_settings({_REMINDERS: "" if wanted else "off"})
        return _KIT

    def to_remind_of(self) -> list[KitLine]:
        """Return the pieces of which something is due, once a day; nothing where it is not wanted.

        Asking counts: whoever asks tells the diver.
        """
        kept, today = self._store.settings().get(_REMINDERS, ""), self._today().isoformat()
        if kept in ("off", today):
            return []
        due = [line for line in self.view().lines if line.urgency <= Urgency.SOON]
        if due:
            self._store.set_settings({_REMINDERS: today})
        return due

    def _today(self) -> date:
        return self._now().date()

    def _last(self) -> tuple[UsedKit, ...]:
        used = self._store.kit.last_used()
        names = {item.id: item.used for item in self._store.kit.items() if not item.retired}
        return tuple(names[each.id] for each in used if each.id in names)

"""What a diver shows of their dives to the club, and what the other members show, as the screens ask for it.

Nothing is shown unless the diver says so, dive by dive or for all new ones, and every dive can be
withdrawn. What may be shown at all is decided in `sync.shown_dives`, and by the club for every answer.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from logbook_app.dive.changes import Changes
from logbook_app.dive.diver_settings import settings_from_text
from logbook_app.dive.problems import NoClub, RefusedRecord
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.store.logbook_store import LogbookStore
from logbook_app.store.own_records import called
from logbook_app.store.shown_records import shown_ids
from logbook_app.sync.shown_dives import ShownDive

Parts = Mapping[str, tuple[str, ...] | None]


@dataclass(frozen=True, slots=True)
class Showing:
    """One dive, and what the club sees of it.

    joined   whether there is a club to show it to
    shown    whether the club sees it
    parts    that it sees, or would see
    sees     what it sees, or would see: the diver's own data
    """

    joined: bool
    shown: bool
    parts: tuple[str, ...]
    sees: ShownDive


@dataclass(frozen=True, slots=True)
class Shown:
    """Dives that are shown or withdrawn now, and how it was before.

    before   what was shown of each dive that changed
    """

    before: Parts
    changes: Changes


class DivesForOthers:
    """What is shown to and by others, in one logbook file.

    now   the clock; returns an aware instant
    """

    def __init__(self, store: LogbookStore, now: Callable[[], datetime]) -> None:
        self._store, self._now = store, now

    def showing(self, dive_id: str, parts: Collection[str] | None = None) -> Showing:
        """Return what the club sees of a dive, or would.

        parts   that it would see; what the settings say where None

        Raises UnknownDive.
        """
        dive, settings = self._store.dive(dive_id), self._store.settings()
        shown = self._store.sync.shown_records if self._joined() else None
        seen = shown.seen_of(dive_id) if shown else None
        if seen is not None:
            return Showing(True, True, seen.parts, seen)
        wanted = usual_parts(settings) if parts is None else tuple(parts)
        would = self._store.would_show(dive, called(settings), wanted)
        return Showing(shown is not None, False, would.parts, would)

    def show(self, dive_ids: Iterable[str], parts: Collection[str] | None = None) -> Shown:
        """Let the club see dives; those of other divers are passed over, they are not the owner's to show.

        parts   that it sees; what the settings say where None

        Raises UnknownDive, NoClub where there is nobody to show them to, and RefusedRecord where none is
        the owner's.
        """
        if not self._joined():
            raise NoClub(_("There is nobody to show a dive to: join a club first."))
        dives = [dive for dive in self._store.dives_named(dive_ids) if dive.own]
        if not dives:
            raise RefusedRecord(_("Only the diver who made a dive can show it; this is somebody else's."))
        chosen = tuple(usual_parts(self._store.settings()) if parts is None else parts)
        return self._say(dives, {dive.id: chosen for dive in dives})

    def withdraw(self, dive_ids: Iterable[str]) -> Shown:
        """Let nobody see dives any more: the club tells everybody to forget them. Raises UnknownDive."""
        dives = self._store.dives_named(dive_ids) if self._joined() else []
        return self._say(dives, {dive.id: None for dive in dives})

    def withdraw_all(self) -> Shown:
        """Let nobody see any dive any more."""
        return self.withdraw(self.shown_ids())

    def put_back(self, shown: Shown) -> Changes:
        """Let the club see what it saw before."""
        dives = self._store.dives_named(shown.before) if self._joined() else []
        return self._say(dives, shown.before).changes

    def shown_ids(self) -> set[str]:
        """Return the dives that the club sees."""
        if not self._joined():
            return set()
        names = self._store.sync.shown_records.are_shown()
        return shown_ids(names, (dive.id for dive in self._store.dives())) if names else set()

    def of_others(self) -> list[Dive]:
        """Return the dives that other members show, in order of their start."""
        return self._store.shown_by_others()

    def _say(self, dives: Iterable[Dive], parts: Parts) -> Shown:
        shelf, dives = self._store.sync, list(dives)
        shown = shelf.shown_records
        were = {dive.id: shown.parts_of(dive.id) for dive in dives}
        before = {dive_id: was for dive_id, was in were.items() if was != parts[dive_id]}
        changed = [dive for dive in dives if dive.id in before]
        if changed:
            shelf.show_dives(changed, called(self._store.settings()), parts)
        return Shown(before, Changes(frozenset(before)))

    def _joined(self) -> bool:
        return self._store.shares and bool(self._store.sync.state().member)


def usual_parts(settings: Mapping[str, str]) -> tuple[str, ...]:
    """Return the parts of a dive that the diver shows unless another choice is made."""
    return tuple(settings_from_text(settings).shown_parts.split())

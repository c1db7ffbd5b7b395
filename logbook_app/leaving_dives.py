"""Which dives leave the logbook, and all the samples that leave with each."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from logbook_app.analysis.split_recording import whole_recording_of
from logbook_app.dive.problems import Cancelled, LogbookError
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.files.read_dive import ReadKit
from logbook_app.language import _
from logbook_app.store.logbook_store import LogbookStore


def dives_to_leave(store: LogbookStore, dive_ids: Sequence[str] | None) -> list[Dive]:
    """Return the dives of these ids, each once, or every dive where None, in order of their start.

    Raises UnknownDive.
    """
    if dive_ids is None:
        return store.dives()
    return store.dives_named(dive_ids)


def kit_to_leave(store: LogbookStore, dives: Sequence[Dive], *, whole: bool) -> ReadKit:
    """Return the kit that leaves with dives: with the whole logbook all of it, else what they used."""
    shelf = store.kit
    if whole:
        return ReadKit(tuple(shelf.items()), tuple(shelf.care()), tuple(shelf.sets()))
    used = {each.id for dive in dives for each in dive.kit}
    care = tuple(care for care in shelf.care() if care.item_id in used)
    return ReadKit(tuple(item for item in shelf.items() if item.id in used), care)


def samples_to_leave(store: LogbookStore, dive: Dive) -> list[Profile | None]:
    """Return the samples of each of a dive's recordings, then the whole of one that was split."""
    names = [recording.profile_sha256 for recording in dive.recordings]
    kept = store.profiles(name for name in names if name)
    return [*(kept[name] if name else None for name in names), *_whole_recording(store, dive)]


def leaving_one_by_one(
    dives: Sequence[Dive],
    name: str,
    progress: Callable[[int, int, str], None],
    cancelled: Callable[[], bool],
) -> Callable[[Dive], Dive]:
    """Return what each dive passes through on its way out: it tells how far the work is, and ends it.

    The function raises Cancelled where `cancelled` says so.
    """
    places = {dive.id: place for place, dive in enumerate(dives)}

    def next_one(dive: Dive) -> Dive:
        if cancelled():
            raise Cancelled(_("Stopped; {name} was not written.").format(name=name))
        progress(places[dive.id], len(places), name)
        return dive

    return next_one


def _whole_recording(store: LogbookStore, dive: Dive) -> list[Profile]:
    """Return the whole of a recording that was split, where it is kept: only a name leads to it."""
    whole = whole_recording_of(dive)
    try:
        return [store.profile(whole)] if whole else []
    except LogbookError:
        return []

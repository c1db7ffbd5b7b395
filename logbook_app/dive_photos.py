"""Pictures of a dive: added, taken away and looked at. Each is one change, kept in the history."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from logbook_app.dive.changes import Changes
from logbook_app.dive.history import EDIT
from logbook_app.dive.photo import Photo
from logbook_app.dive.problems import Problem, RefusedFile
from logbook_app.dive.record import Dive
from logbook_app.files.picture import Picture, read_picture
from logbook_app.store.logbook_store import LogbookStore


def add_photos(
    store: LogbookStore, dive_id: str, paths: Sequence[Path], now: datetime
) -> tuple[Changes, tuple[Problem, ...]]:
    """Add pictures to a dive; what cannot be read becomes a problem, and the others are added."""
    dive = store.dive(dive_id)
    read: list[Picture] = []
    problems: list[Problem] = []
    for path in paths:
        try:
            read.append(read_picture(path, dive.utc_offset_min))
        except RefusedFile as refusal:
            problems.append(Problem(path.name, "", str(refusal)))
    after = _with(dive, read)
    if after == dive:
        return Changes(), tuple(problems)
    pictures = [(one.sha256, one.data, one.thumbnail) for one in read]
    number = store.rewrite([after], now, EDIT, pictures=pictures)
    return Changes(frozenset({dive_id}), change_id=number), tuple(problems)


def _with(dive: Dive, read: Sequence[Picture]) -> Dive:
    there = {photo.sha256 for photo in dive.photos}
    new = {one.sha256: Photo(one.sha256, one.file_name, one.taken_local) for one in read}
    return replace(dive, photos=(*dive.photos, *(new[name] for name in new if name not in there)))

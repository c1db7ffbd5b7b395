"""What the diver decided about tables of samples: kept by their header, good for every table that has it."""

from __future__ import annotations

from pathlib import Path

from logbook_app.dive.problems import RefusedFile
from logbook_app.files.recording_file import read_preview
from logbook_app.files.table_preview import TablePreview
from logbook_app.store.logbook_store import LogbookStore

_SETTING = "columns of "  # and the name of a header


class KeptColumns:
    """The decisions in one logbook file, as they were when this was made.

    store   the logbook file
    """

    def __init__(self, store: LogbookStore) -> None:
        settings = store.settings().items()
        self._kept = {
            name.removeprefix(_SETTING): told for name, told in settings if name.startswith(_SETTING)
        }

    def preview(self, path: Path | str) -> TablePreview | None:
        """Return the first rows of a table and what its columns are taken for; None for any other file.

        Raises RefusedFile where it cannot be opened.
        """
        preview = read_preview(path)
        kept = self._kept.get(preview.header_digest, "") if preview else ""
        return preview.settled_as(kept) if preview and kept else preview

    def of_file(self, path: Path) -> str:
        """Return what was decided for the header of a table, empty for any other file."""
        if not self._kept:
            return ""
        try:
            preview = read_preview(path)
        except RefusedFile:
            return ""  # reading it says so in a moment
        return self._kept.get(preview.header_digest, "") if preview else ""


def remember_columns(store: LogbookStore, header_digest: str, columns: str) -> None:
    """Keep what the columns under a header are; see `TablePreview` and `columns_text`."""
    store.set_settings({_SETTING + header_digest: columns})

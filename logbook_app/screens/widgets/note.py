"""One sentence beside a field, that takes no room while there is nothing to say."""

from __future__ import annotations

from logbook_app.screens.widgets.words import Words


class Note(Words):
    """A sentence with its distance from what is above; without text it has no height."""

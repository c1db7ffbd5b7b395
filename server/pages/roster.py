"""Who belongs to the club."""

from __future__ import annotations

from server.pages.office import role_words
from server.pages.visit import Shown, Told, Visit


def show_roster(visit: Visit) -> Told:
    """List the members."""
    members = [each for each in visit.home.accounts.members() if not each.left_ms]
    lines = [{"id": each.id, "name": each.name, "words": role_words(each)} for each in members]
    return Shown("roster.html", {"members": lines})

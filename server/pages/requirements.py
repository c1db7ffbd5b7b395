"""The club's own requirements, written in the form of the published ones."""

from __future__ import annotations

import re
from typing import Final

from logbook_app.analysis.experience_reader import parse_requirements
from logbook_app.dive.problems import LeadlineError
from logbook_app.language import _
from logbook_app.shipped_requirements import shipped_requirements
from server.club_progress import club_files, keep_file
from server.pages.visit import Elsewhere, NotDone, Shown, Told, Visit

LONGEST: Final = 60_000
NAME: Final = re.compile(r"[\w-]{1,60}")


def show_requirements(visit: Visit) -> Told:
    """Show the club's files, and an empty form for another."""
    return _page(visit, "", "")


def keep_requirements(visit: Visit) -> Told:
    """Keep a file, where it can be read; an empty one is taken away."""
    name, content = visit.said("name", 60), visit.asked.form.get("content", "").replace("\r\n", "\n")
    if not NAME.fullmatch(name):
        raise NotDone(_("A name has letters, figures and hyphens, up to 60."))
    try:
        if len(content) > LONGEST:
            raise NotDone(_("That is longer than {longest} letters; shorten it.").format(longest=LONGEST))
        sets = shipped_requirements()
        for other, told in sorted({**club_files(visit.home.store), name: content}.items()):
            sets += parse_requirements(told, other, sets) if told.strip() else ()
    except LeadlineError as trouble:
        return _page(visit, name, content, str(trouble))
    with visit.home.store.change():
        keep_file(visit.home.store, name, content if content.strip() else "")
        visit.home.trail.write(visit.now_ms, visit.member.id, "wrote requirements", detail=name)
    return Elsewhere("/office/requirements", "done")


def _page(visit: Visit, name: str, content: str, wrong: str = "") -> Shown:
    values = {
        "files": club_files(visit.home.store).items(),
        "name": name,
        "content": content,
    }
    return Shown("requirements.html", values, wrong=wrong, status=400 if wrong else 200)

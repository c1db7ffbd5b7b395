"""The pages' end of the wire: who asks, may they, in which language; then the page, or why there is none."""

from __future__ import annotations

import hmac
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from logbook_app.catalogues import language_named
from logbook_app.dive.problems import LeadlineError
from logbook_app.language import LANGUAGES, _, later, ngettext, number, speaking
from server.club_home import ClubHome
from server.pages.site_map import DOORS, Page
from server.pages.visit import Answer, Asked, Elsewhere, Handed, NotDone, NotHere, Shown, Told, Visit
from server.roles import Member
from server.sessions import form_token, new_token

TEMPLATES: Final = Path(__file__).parent / "templates"

SAID: Final = {
    "done": later("Done."),
    "in": later("You are signed in."),
    "out": later("You are signed out."),
    "removed": later("The member no longer belongs to the club. What they shared is out of sight."),
    "back": later("The member belongs to the club again."),
    "withdrawn": later("The invitation is good for nobody any more."),
    "password": later("The password is changed; every other session has ended."),
    "signed": later("Signed. It goes to the diver with the next sync."),
    "taken-back": later("The signature is taken back."),
    "left": later("You have left the club."),
    "asked": later("Asked. It stands in the list of who signs."),
}


class PageDesk:
    """The pages of one club.

    name   of the club
    """

    def __init__(self, home: ClubHome, name: str) -> None:
        self._home, self._name = home, name

    def answer(self, page: Page, asked: Asked) -> Answer:
        """Answer one request for a page, in the visitor's language."""
        with speaking(language_named(asked.language)):
            viewer = self._viewer(asked)
            visit = Visit(self._home, self._name, asked, viewer, self._home.now_ms())
            try:
                told = self._told(page, visit)
                visit.keep()
            except NotHere:
                told = Shown("plain.html", status=404, values=_plain(_("There is no such page.")))
            except NotDone as trouble:
                told = Shown("plain.html", status=400, values=_plain(_("Not done"), str(trouble)))
            except LeadlineError as trouble:
                told = Shown("plain.html", status=400, values=_plain(_("Not done"), str(trouble)))
            return self._answer(told, page, visit)

    def missing(self, asked: Asked) -> Answer:
        """Answer for a page that is not there."""
        return self.answer(Page("GET", asked.path, None, _not_there), asked)

    def _viewer(self, asked: Asked) -> Member | None:
        member_id = self._home.sessions.member_of(asked.token, self._home.now_ms()) if asked.token else ""
        member = self._home.accounts.member(member_id) if member_id else None
        return None if member is None or member.left_ms else member

    def _told(self, page: Page, visit: Visit) -> Told:
        if page.least is not None and visit.viewer is None:
            back = visit.asked.path if visit.asked.method == "GET" else "/"
            return Elsewhere(f"/enter?back={quote(back, safe='')}")
        if page.least is not None and not visit.may(page.least):
            raise NotHere
        if visit.asked.method == "POST" and not _form_is_ours(visit):
            raise NotDone(
                _("This form is too old, or came from elsewhere. Go back, reload the page, try again.")
            )
        return page.tell(visit)

    def _answer(self, told: Told, page: Page, visit: Visit) -> Answer:
        if isinstance(told, Handed):
            disposition = {"content-disposition": f'attachment; filename="{told.name}"'}
            return Answer(told.body, 200, told.kind, disposition)
        if isinstance(told, Elsewhere):
            headers = {"location": told.address}
            return Answer(b"", 303, headers=headers, token=told.token, language=told.language)
        visitor = visit.asked.visitor or new_token()
        secret = visit.asked.token if visit.viewer else visitor
        body = _environment().get_template(told.template).render(self._frame(told, page, visit, secret))
        known = visit.viewer is not None or visitor == visit.asked.visitor
        return Answer(body.encode(), told.status, visitor=None if known else visitor)

    def _frame(self, told: Shown, page: Page, visit: Visit, secret: str) -> Mapping[str, Any]:
        asked = visit.asked
        said = told.said or _(SAID.get(asked.query.get("said", ""), ""))
        doors = [
            {"path": door.path, "words": _(door.door), "here": page.path.startswith(door.path)}
            for door in DOORS
            if door.least is not None and visit.may(door.least)
        ]
        return {
            "club": self._name,
            "language": asked.language,
            "languages": [item for item in LANGUAGES.items() if item[0] != asked.language],
            "viewer": visit.viewer,
            "doors": doors,
            "said": said,
            "wrong": told.wrong,
            "here": asked.path if asked.method == "GET" else "/",
            "form_token": Markup('<input type="hidden" name="form" value="{}">').format(form_token(secret)),
            **told.values,
        }


def _form_is_ours(visit: Visit) -> bool:
    asked = visit.asked
    secret = asked.token if visit.viewer else asked.visitor
    return bool(secret) and hmac.compare_digest(
        asked.form.get("form", "").encode(), form_token(secret).encode()
    )


def _not_there(_visit: Visit) -> Told:
    raise NotHere


def _plain(title: str, words: str = "") -> dict[str, str]:
    return {"title": title, "words": words}


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update({"_": _, "ngettext": ngettext, "number": number})
    return made

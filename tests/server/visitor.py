"""A visitor of the club's pages without a browser: keeps cookies, finds forms, looks at what comes."""

from __future__ import annotations

import re
from functools import cache
from typing import Any
from urllib.parse import parse_qsl, unquote, urlsplit

from argon2 import PasswordHasher
from lxml import html

from server.club_home import ClubHome
from server.pages.desk import PageDesk
from server.pages.site_map import PAGES, Page
from server.pages.visit import Answer, Asked
from server.roles import Role, SignsAs

PASSWORD = "four calm divers"  # noqa: S105


def page_of(method: str, path: str) -> tuple[Page, dict[str, str]]:
    """Return the page that a path leads to, with what stands in the path's variable parts."""
    for page in PAGES:
        form = re.sub(r"\{(\w+)(:path)?\}", lambda m: f"(?P<{m[1]}>{'.+' if m[2] else '[^/]+'})", page.path)
        if page.method == method and (found := re.fullmatch(form, path)):
            return page, {name: unquote(told) for name, told in found.groupdict().items()}
    raise AssertionError(f"no page {method} {path}")


class Visitor:
    """Somebody with a browser that knows no pictures."""

    def __init__(self, home: ClubHome, *, address: str = "192.0.2.1", language: str = "en") -> None:
        self.home, self.address, self.language = home, address, language
        self.desk = PageDesk(home, "Divers of the quarry")
        self.token = self.visitor = ""
        self.last = Answer(b"")

    def get(self, path: str) -> Visitor:
        """Ask for a page, and go on where it leads."""
        return self._ask("GET", path, {}, {})

    def post(self, path: str, files: dict[str, bytes] | None = None, **form: str) -> Visitor:
        """Send a form of the page that is shown."""
        return self._ask("POST", path, {"form": self.form_token, **form}, files or {})

    def answered(self, path: str) -> Answer:
        """Return the answer to a page that is asked for, unread."""
        parts = urlsplit(path)
        page, place = page_of("GET", parts.path)
        query = dict(parse_qsl(parts.query))
        return self.desk.answer(page, Asked("GET", parts.path, place, query, token=self.token))

    def _ask(self, method: str, path: str, form: dict[str, str], files: dict[str, bytes]) -> Visitor:
        parts = urlsplit(path)
        page, place = page_of(method, parts.path)
        asked = Asked(
            method, parts.path, place, dict(parse_qsl(parts.query)), form, files, self.token, self.visitor,
            self.language, self.address, "http://club.example",
        )  # fmt: skip
        self.last = told = self.desk.answer(page, asked)
        self.token = self.token if told.token is None else told.token
        self.visitor = self.visitor if told.visitor is None else told.visitor
        self.language = told.language or self.language
        if told.status == 303:
            return self._ask("GET", told.headers["location"], {}, {})
        if told.kind.startswith("text/html"):
            checked(self.page)
        return self

    @property
    def status(self) -> int:
        """Of the last answer."""
        return self.last.status

    @property
    def page(self) -> Any:
        """The page that is shown."""
        return html.fromstring(self.last.body.decode())

    @property
    def text(self) -> str:
        """Every word on the page."""
        return " ".join(self.page.text_content().split())

    @property
    def form_token(self) -> str:
        """What the forms of the page carry."""
        found = self.page.xpath("//input[@name='form']/@value") if self.last.body else []
        return found[0] if found else ""


def checked(page: Any) -> None:
    """Hold a page to what every page must have: one heading, a title, labels, ids given once."""
    assert len(page.xpath("//h1")) == 1
    assert page.xpath("//title")[0].text.strip()
    assert page.xpath("//html/@lang")
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))
    for field in page.xpath("//input[not(@type='hidden')] | //select | //textarea"):
        labelled = field.xpath("ancestor::label") or page.xpath(f"//label[@for='{field.get('id')}']")
        assert labelled, html.tostring(field)
    assert not page.xpath("//script | //style | //@style | //@*[starts-with(name(), 'on')]")
    for table in page.xpath("//table"):
        assert table.xpath(".//th[@scope]")
    for wanted in page.xpath("//@aria-labelledby"):
        assert wanted in ids


def come_in(
    home: ClubHome, name: str, role: Role = Role.MEMBER, signs_as: SignsAs = SignsAs.NOTHING
) -> Visitor:
    """Return a new member who came in by an invitation; the password is digested once for all."""
    _, code = home.invite(name, role=role, signs_as=signs_as)
    visitor, now_ms = Visitor(home), home.now_ms()
    with home.store.change():
        member = home.accounts.use_up(code, now_ms)
        assert member is not None
        home.sessions._keep(member.id, _digest())
        visitor.token = home.sessions.begin(member.id, now_ms)
        home.trail.write(now_ms, member.id, "accepted an invitation")
    return visitor


@cache
def _digest() -> str:
    return PasswordHasher(time_cost=1, memory_cost=46 * 1024, parallelism=1).hash(PASSWORD)


def member_id(home: ClubHome, name: str) -> str:
    """Return the id of the member of this name."""
    return next(each.id for each in home.accounts.members() if each.name == name)

"""One visit to a page: what was asked, who asks, and what a page may answer.

No network here: `routes.py` makes an `Asked` of a request and sends an `Answer`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from functools import cached_property
from typing import Any, Final
from urllib.parse import quote

from logbook_app.analysis.experience_rules import RequirementSet
from logbook_app.dive.problems import LeadlineError
from logbook_app.language import _
from server.club_home import ClubHome
from server.club_progress import ClubProgress, club_requirements
from server.reading import Reading
from server.register import Register
from server.roles import Member, Role

HTML: Final = "text/html; charset=utf-8"


@dataclass(frozen=True, slots=True)
class Asked:
    """A request, as far as pages look at it.

    place     what stands in the variable parts of the path
    token     of the session, empty where the browser showed none
    visitor   of whoever fills a form without a session, empty at the first visit
    language  two letters, as the visitor chose or as the browser says
    address   of who asks
    origin    the server's own address, as the browser knows it
    secure    whether the way to the browser is encrypted
    """

    method: str
    path: str
    place: Mapping[str, str] = field(default_factory=dict)
    query: Mapping[str, str] = field(default_factory=dict)
    form: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, bytes] = field(default_factory=dict)
    token: str = ""
    visitor: str = ""
    language: str = "en"
    address: str = ""
    origin: str = ""
    secure: bool = False


@dataclass(frozen=True, slots=True)
class Answer:
    """What goes to the browser.

    token     of the session from now on, empty where it ends, None where it stays
    visitor   of who has no session, None where it stays
    language  to remember, empty where it stays
    """

    body: bytes
    status: int = 200
    kind: str = HTML
    headers: Mapping[str, str] = field(default_factory=dict)
    token: str | None = None
    visitor: str | None = None
    language: str = ""


@dataclass(frozen=True, slots=True)
class Shown:
    """A page: a template and what it shows.

    said, wrong   a sentence above the page: what was done, or what was not and why
    """

    template: str
    values: Mapping[str, Any] = field(default_factory=dict)
    said: str = ""
    wrong: str = ""
    status: int = 200


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """Done; the browser goes on to another page. `said` is one of `SAID`."""

    path: str
    said: str = ""
    token: str | None = None
    language: str = ""

    @property
    def address(self) -> str:
        """The path, with what is to be said there."""
        joint = "&" if "?" in self.path else "?"
        return f"{self.path}{joint}said={quote(self.said)}" if self.said else self.path


@dataclass(frozen=True, slots=True)
class Handed:
    """A file to be kept. `name` is in plain letters."""

    body: bytes
    kind: str
    name: str


Told = Shown | Elsewhere | Handed


class NotHere(LeadlineError):
    """There is no such page, or not for this visitor: both are said in the same way."""


class NotDone(LeadlineError):
    """What was asked cannot be done; the sentence says why and what to do."""


@dataclass(frozen=True)
class Visit:
    """One visit, by a member or by somebody who is not signed in.

    name   of the club
    """

    home: ClubHome
    name: str
    asked: Asked
    viewer: Member | None
    now_ms: int

    @property
    def member(self) -> Member:
        """Who is signed in; pages for members alone ask for it."""
        if self.viewer is None:
            raise NotHere
        return self.viewer

    @cached_property
    def reading(self) -> Reading:
        """The club's records with the eyes of the viewer."""
        return Reading(self.home.store, self.member.id)

    @cached_property
    def register(self) -> Register:
        """The index of what members show, as of now."""
        register = Register(self.home.store)
        register.catch_up()
        return register

    @cached_property
    def progress(self) -> ClubProgress:
        """What the dives that everybody may see amount to."""
        return ClubProgress(self.home.store, self.register, self.today)

    def requirement_sets(self) -> tuple[RequirementSet, ...]:
        """Return the published sets of requirements and the club's own."""
        return self._sets

    @cached_property
    def _sets(self) -> tuple[RequirementSet, ...]:
        return club_requirements(self.home.store)

    def members(self) -> list[Member]:
        """Return who belongs to the club, by name."""
        return [each for each in self.home.accounts.members() if not each.left_ms]

    @cached_property
    def _names(self) -> dict[str, str]:
        return {each.id: each.name for each in self.home.accounts.members()}

    def name_of(self, member_id: str) -> str:
        """Return what a member is called, also one who left."""
        return self._names.get(member_id) or _("former member")

    @property
    def now(self) -> datetime:
        """The club's clock."""
        return datetime.fromtimestamp(self.now_ms / 1000, UTC)

    @property
    def today(self) -> date:
        """The day by the club's clock, UTC."""
        return self.now.date()

    def keep(self) -> None:
        """Keep what was worked out on the way."""
        if "progress" in self.__dict__:
            self.progress.keep()

    def may(self, role: Role) -> bool:
        """Return whether the viewer has all that a role has."""
        return self.viewer is not None and self.viewer.may_act_as(role)

    def said(self, name: str, longest: int = 200) -> str:
        """Return what a form says in a field, in one line. Raises NotDone where it is too long."""
        text = " ".join(self.asked.form.get(name, "").split())
        if len(text) > longest:
            raise NotDone(_("That is longer than {longest} letters; shorten it.").format(longest=longest))
        return text

    def member_named(self, member_id: str) -> Member:
        """Return a member of the club. Raises NotHere where there is none of this id."""
        member = self.home.accounts.member(member_id)
        if member is None or member.left_ms:
            raise NotHere
        return member

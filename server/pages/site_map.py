"""Every page of the club with who may ask for it: routes, the rail and the tests are made from this list."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from logbook_app.language import later
from server.pages import (
    days,
    dive,
    enter,
    exports,
    me,
    office,
    paper,
    progress,
    requirements,
    roster,
    safety,
    signing,
    trail,
)
from server.pages.visit import Told, Visit
from server.roles import Role


@dataclass(frozen=True, slots=True)
class Page:
    """One page, or one thing that a form of a page does.

    path   with its variable parts in braces
    least  role that may ask for it; None is anybody, signed in or not
    door   what the rail calls it, empty where it has no door
    """

    method: str
    path: str
    least: Role | None
    tell: Callable[[Visit], Told]
    door: str = ""


PAGES: Final = (
    Page("GET", "/", None, enter.first_page),
    Page("GET", "/enter", None, enter.show_enter),
    Page("POST", "/enter", None, enter.enter),
    Page("GET", "/invitation", None, enter.show_invitation),
    Page("POST", "/invitation", None, enter.accept_invitation),
    Page("POST", "/out", None, enter.sign_out),
    Page("POST", "/language", None, enter.choose_language),
    Page("GET", "/members", Role.MEMBER, roster.show_roster, later("Members")),
    Page("GET", "/members/{member}", Role.MEMBER, roster.show_member),
    Page("GET", "/progress", Role.MEMBER, progress.show_matrix, later("Progress")),
    Page("GET", "/progress/{member}/{rules}", Role.MEMBER, progress.show_set),
    Page("GET", "/progress/{member}/{rules}/card.pdf", Role.MEMBER, exports.progress_pdf),
    Page("GET", "/progress/{member}/{rules}/{requirement}", Role.MEMBER, progress.show_requirement),
    Page("GET", "/dives/{owner}/{name}", Role.MEMBER, dive.show_dive),
    Page("GET", "/sign-offs", Role.MEMBER, signing.show_sign_offs, later("Signatures")),
    Page("GET", "/days", Role.MEMBER, days.show_days, later("Days")),
    Page("GET", "/days/{day}", Role.MEMBER, days.show_day),
    Page("GET", "/safety", Role.MEMBER, safety.show_safety, later("Safety")),
    Page("POST", "/sign-offs/ask", Role.MEMBER, signing.ask),
    Page("POST", "/sign-offs/withdraw", Role.MEMBER, signing.withdraw_request),
    Page("POST", "/sign-offs/sign", Role.MEMBER, signing.sign),
    Page("POST", "/sign-offs/confirm", Role.MEMBER, signing.confirm),
    Page("POST", "/sign-offs/take-back", Role.MEMBER, signing.take_back_signature),
    Page("GET", "/me", Role.MEMBER, me.show_me, later("My own")),
    Page("POST", "/me/device", Role.MEMBER, me.invite_device),
    Page("POST", "/me/shut-out", Role.MEMBER, me.shut_out),
    Page("POST", "/me/password", Role.MEMBER, me.change_password),
    Page("POST", "/me/leave", Role.MEMBER, me.leave),
    Page("GET", "/me/everything.zip", Role.MEMBER, exports.everything),
    Page("GET", "/members/{member}/dives.csv", Role.MEMBER, exports.dives_csv),
    Page("GET", "/members/{member}/dives.uddf", Role.MEMBER, exports.dives_uddf),
    Page("GET", "/members/{member}/paper", Role.MEMBER, paper.show_paper),
    Page("POST", "/members/{member}/paper", Role.MEMBER, paper.enter_paper),
    Page("GET", "/office", Role.OFFICER, office.show_office, later("Office")),
    Page("GET", "/office/trail", Role.OFFICER, trail.show_trail),
    Page("GET", "/office/club.sqlite", Role.ADMIN, exports.backup),
    Page("GET", "/office/requirements", Role.ADMIN, requirements.show_requirements),
    Page("POST", "/office/requirements", Role.ADMIN, requirements.keep_requirements),
    Page("POST", "/office/invite", Role.OFFICER, office.invite),
    Page("POST", "/office/withdraw", Role.OFFICER, office.withdraw),
    Page("POST", "/office/remove", Role.OFFICER, office.remove),
    Page("POST", "/office/take-back", Role.OFFICER, office.take_back),
    Page("POST", "/office/erase", Role.ADMIN, office.erase),
    Page("GET", "/office/members/{member}", Role.ADMIN, office.show_rights),
    Page("POST", "/office/role", Role.ADMIN, office.give_role),
    Page("POST", "/office/signing", Role.ADMIN, office.give_signing),
)
DOORS: Final = tuple(page for page in PAGES if page.door)

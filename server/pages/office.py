"""The officers' page: invitations, roles, who signs what, who belongs to the club no more."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Final

import segno
from markupsafe import Markup

from logbook_app.analysis.experience_rules import said
from logbook_app.analysis.spoken_times import date_alone
from logbook_app.language import _, later
from server.pages.enter import folded
from server.pages.visit import Elsewhere, NotDone, NotHere, Shown, Told, Visit
from server.roles import ANYTHING, Member, Role, SignsAs

LONGEST_NAME: Final = 80
ROLES: Final = {
    Role.MEMBER: later("member"),
    Role.OFFICER: later("officer"),
    Role.ADMIN: later("admin"),
}
SIGNERS: Final = {
    SignsAs.NOTHING: later("signs nothing"),
    SignsAs.DIVE_LEADER: later("signs as dive leader"),
    SignsAs.INSTRUCTOR: later("signs as instructor"),
}


def show_office(visit: Visit) -> Told:
    """Show the members with their roles, and the invitations that are open."""
    return _office(visit)


def invite(visit: Visit) -> Told:
    """Make an invitation and show its code, which is kept nowhere."""
    member_id, name = visit.asked.form.get("member", ""), visit.said("name", LONGEST_NAME)
    with visit.home.store.change():
        member = visit.member_named(member_id) if member_id else _new_member(visit, name)
        code = invitation_for(visit, member)
    return _office(visit, invited=member, code=code)


def invitation_for(visit: Visit, member: Member) -> str:
    """Return the code of a new invitation for a member, within a transaction."""
    visit.home.trail.write(visit.now_ms, visit.member.id, "invited", member.id)
    return visit.home.accounts.invite(member.id, visit.now_ms)


def invitation_picture(visit: Visit, code: str) -> tuple[str, Markup]:
    """Return the address that an invitation leads to, and a picture code of it."""
    address = f"{visit.asked.origin}/invitation?code={code}"
    drawn = segno.make(address, micro=False).svg_inline(scale=4, border=4, svgclass="qr", lineclass=None)
    return address, Markup(drawn)  # noqa: S704 (made of squares)


def withdraw(visit: Visit) -> Told:
    """Let an open invitation be good for nobody."""
    with visit.home.store.change():
        whom = visit.home.accounts.withdraw(visit.asked.form.get("invitation", ""))
        if not whom:
            raise NotDone(_("This invitation is no longer open."))
        visit.home.trail.write(visit.now_ms, visit.member.id, "withdrew an invitation", whom)
    return Elsewhere("/office", "withdrawn")


def remove(visit: Visit) -> Told:
    """Let a member belong to the club no more; it can be taken back."""
    member = visit.member_named(visit.asked.form.get("member", ""))
    _refuse_over(visit, member)
    with visit.home.store.change():
        visit.home.accounts.let_go(member.id, visit.now_ms)
        visit.home.sessions.end_all(member.id)
        visit.home.trail.write(visit.now_ms, visit.member.id, "removed", member.id)
    return Elsewhere("/office", "removed")


def take_back(visit: Visit) -> Told:
    """Let a member who was removed belong to the club again."""
    member = visit.home.accounts.member(visit.asked.form.get("member", ""))
    if member is None or not member.left_ms:
        raise NotHere
    with visit.home.store.change():
        visit.home.accounts.let_go(member.id, 0)
        visit.home.trail.write(visit.now_ms, visit.member.id, "took back", member.id)
    return Elsewhere("/office", "back")


def erase(visit: Visit) -> Told:
    """Take away a member with every record, for good; the name has to be written out for it."""
    member = visit.home.accounts.member(visit.asked.form.get("member", ""))
    if member is None:
        raise NotHere
    _refuse_over(visit, member)
    if folded(visit.said("name", LONGEST_NAME)) != folded(member.name):
        raise NotDone(_("The name was not written as it stands in the list; nothing was erased."))
    visit.home.erase(member.id, visit.member.id)
    return Elsewhere("/office", "done")


def show_rights(visit: Visit) -> Told:
    """Show the role of one member, and toward what they sign."""
    member = visit.member_named(visit.asked.place["member"])
    values = {
        "member": member,
        "words": role_words(member),
        "roles": [(role, _(words)) for role, words in ROLES.items()],
        "signers": [(signs, _(words)) for signs, words in SIGNERS.items()],
        "qualifications": [
            (each.id, f"{said(each.program)}: {said(each.name)}") for each in visit.requirement_sets()
        ],
        "anything": ANYTHING,
    }
    return Shown("rights.html", values)


def give_role(visit: Visit) -> Told:
    """Give a member another role."""
    member = visit.member_named(visit.asked.form.get("member", ""))
    try:
        role = Role(visit.asked.form.get("role", ""))
    except ValueError as error:
        raise NotDone(_("There is no such role.")) from error
    if member.role == Role.ADMIN and role != Role.ADMIN and _admins(visit) == 1:
        raise NotDone(_("The club needs an admin; give somebody else the role first."))
    with visit.home.store.change():
        visit.home.accounts.give_role(member.id, role)
        visit.home.trail.write(visit.now_ms, visit.member.id, "gave a role", member.id, role)
    return Elsewhere("/office", "done")


def give_signing(visit: Visit) -> Told:
    """Say as what a member signs, and toward which qualifications."""
    member = visit.member_named(visit.asked.form.get("member", ""))
    try:
        signs_as = SignsAs(visit.asked.form.get("signs_as", ""))
    except ValueError as error:
        raise NotDone(_("There is no such role.")) from error
    chosen = frozenset(each.id for each in visit.requirement_sets() if f"for {each.id}" in visit.asked.form)
    signs_for = frozenset({ANYTHING}) if ANYTHING in visit.asked.form else chosen
    if signs_as and not signs_for:
        raise NotDone(_("Choose what {name} signs for, or everything.").format(name=member.name))
    with visit.home.store.change():
        visit.home.accounts.give_signing(member.id, signs_as, signs_for if signs_as else frozenset())
        detail = " ".join((signs_as, *sorted(signs_for))) if signs_as else ""
        visit.home.trail.write(visit.now_ms, visit.member.id, "said who signs", member.id, detail)
    return Elsewhere(f"/office/members/{member.id}", "done")


def role_words(member: Member) -> str:
    """Say what a member may do in the club."""
    words = [_(ROLES[member.role])]
    if member.signs:
        words.append(_(SIGNERS[member.signs_as]))
    return ", ".join(words)


def _office(visit: Visit, invited: Member | None = None, code: str = "") -> Shown:
    members = visit.home.accounts.members()
    address, picture = invitation_picture(visit, code) if code else ("", Markup())
    values = {
        "members": [_line(each) for each in members if not each.left_ms],
        "gone": [each for each in members if each.left_ms],
        "invitations": [
            {"id": each.id, "name": _name(members, each.member), "until": _day(each.until_ms)}
            for each in visit.home.accounts.open_invitations(visit.now_ms)
        ],
        "invited": invited, "code": code, "address": address, "picture": picture,
        "admin": visit.may(Role.ADMIN),
    }  # fmt: skip
    return Shown("office.html", values)


def _line(member: Member) -> dict[str, object]:
    return {"id": member.id, "name": member.name, "words": role_words(member), "role": member.role,
            "signs_as": member.signs_as, "signs_for": member.signs_for}  # fmt: skip


def _name(members: list[Member], member_id: str) -> str:
    return next((each.name for each in members if each.id == member_id), _("former member"))


def _day(ms: int) -> str:
    return date_alone(datetime.fromtimestamp(ms / 1000, UTC))


def _new_member(visit: Visit, name: str) -> Member:
    if not name:
        raise NotDone(_("Write the name of who is invited."))
    if any(folded(each.name) == folded(name) for each in visit.home.accounts.members()):
        raise NotDone(_("There is a member of this name; invite them from the list, or add a letter."))
    return visit.home.accounts.add_member(name)


def _refuse_over(visit: Visit, member: Member) -> None:
    if member.id == visit.member.id:
        raise NotDone(_("To leave the club yourself, use your own page."))
    if member.role.rank >= visit.member.role.rank and not visit.may(Role.ADMIN):
        raise NotDone(_("Only an admin may do this to an officer or an admin."))


def _admins(visit: Visit) -> int:
    return sum(each.may_act_as(Role.ADMIN) for each in visit.home.accounts.members())

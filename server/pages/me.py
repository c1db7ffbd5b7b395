"""The viewer's own page: what others see of them, password and devices, taking everything along, leaving."""

from __future__ import annotations

from typing import Any, Final

from logbook_app.language import _
from logbook_app.sync.changes import kind_of
from logbook_app.sync.shown_dives import SHOWN
from server.pages.dive import seen_by
from server.pages.enter import new_password
from server.pages.office import invitation_for, invitation_picture
from server.pages.roster import dive_line, one_page
from server.pages.visit import Elsewhere, NotDone, NotHere, Shown, Told, Visit
from server.roles import Role

DIVES_A_PAGE: Final = 50
DEVICE_LETTERS: Final = 16


def show_me(visit: Visit) -> Told:
    """Show the viewer what the club has and shows of them."""
    return my_page(visit)


def my_page(visit: Visit, **more: Any) -> Shown:
    """Return the viewer's own page; what is not given is not shown."""
    entries = visit.register.of_owner(SHOWN, visit.member.id)
    page, pages = one_page(entries, visit.asked.query.get("page", ""), DIVES_A_PAGE)
    shown = {each.key: each for each in visit.reading.dives(each.key for each in page)}
    kept = [kind_of(key) for key in visit.home.store.keys_of(visit.member.id)]
    values: dict[str, Any] = {
        "dives": [dive_line(each) | {"who": seen_by(visit, key)} for key, each in shown.items()],
        "pages": pages,
        "first_set": visit.requirement_sets()[0].id,
        "shown": len(entries),
        "everybody": sum(each.everybody for each in entries),
        "kept": len(kept),
        "kept_dives": kept.count("dive"),
        "devices": [{"id": key[:DEVICE_LETTERS], "name": name, "out": _standing(visit, key)}
                    for key, name in visit.home.accounts.devices_of(visit.member.id)],
        "code": "", "address": "", "picture": "", **more,
    }  # fmt: skip
    return Shown("me.html", values)


def invite_device(visit: Visit) -> Told:
    """Make an invitation for a device of the viewer's own."""
    with visit.home.store.change():
        code = invitation_for(visit, visit.member)
    address, picture = invitation_picture(visit, code)
    return my_page(visit, code=code, address=address, picture=picture)


def shut_out(visit: Visit) -> Told:
    """Let a device of the viewer's own speak for nobody any more."""
    wanted = visit.asked.form.get("device", "")
    found = [
        key
        for key, _name in visit.home.accounts.devices_of(visit.member.id)
        if key[:DEVICE_LETTERS] == wanted
    ]
    if len(found) != 1:
        raise NotHere
    visit.home.club.revoke(found[0])
    with visit.home.store.change():
        visit.home.trail.write(visit.now_ms, visit.member.id, "shut out a device", visit.member.id)
    return Elsewhere("/me", "done")


def change_password(visit: Visit) -> Told:
    """Set another password; the old one has to be known."""
    if not _knows_password(visit):
        raise NotDone(_("That is not your present password."))
    password = new_password(visit)
    with visit.home.store.change():
        visit.home.sessions.set_password(visit.member.id, password)
        token = visit.home.sessions.begin(visit.member.id, visit.now_ms)
        visit.home.trail.write(visit.now_ms, visit.member.id, "changed the password", visit.member.id)
    return Elsewhere("/me", "password", token=token)


def leave(visit: Visit) -> Told:
    """Leave the club; with `erase`, everything goes, here and on other members' devices."""
    if visit.member.role == Role.ADMIN and sum(each.may_act_as(Role.ADMIN) for each in visit.members()) == 1:
        raise NotDone(_("The club needs an admin; give somebody else the role first."))
    if not _knows_password(visit):
        raise NotDone(_("That is not your present password."))
    if "erase" in visit.asked.form:
        visit.home.erase(visit.member.id, visit.member.id)
    else:
        with visit.home.store.change():
            visit.home.accounts.let_go(visit.member.id, visit.now_ms)
            visit.home.sessions.end_all(visit.member.id)
            visit.home.trail.write(visit.now_ms, visit.member.id, "left", visit.member.id)
    return Elsewhere("/enter", "left", token="")


def _knows_password(visit: Visit) -> bool:
    sessions, who = visit.home.sessions, f"name {visit.member.id}"
    if sessions.wait_ms(who, visit.now_ms):
        raise NotDone(_("That was tried too often. Try again in {minutes} min.").format(minutes=15))
    right = sessions.password_is(visit.member.id, visit.asked.form.get("present", ""))
    if not right:
        with visit.home.store.change():
            sessions.note_try(who, visit.now_ms)
    return right


def _standing(visit: Visit, device: str) -> bool:
    heard = visit.home.store.device(device)
    return bool(heard and heard.standing)

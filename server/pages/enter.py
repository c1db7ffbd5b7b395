"""Signing in and out: with a password, and before there is one with an invitation."""

from __future__ import annotations

import unicodedata
from typing import Final

from logbook_app.language import LANGUAGES, _
from server.pages.visit import Elsewhere, NotDone, Shown, Told, Visit
from server.roles import Member
from server.sessions import LONGEST_PASSWORD, SHORTEST_PASSWORD, TRIES, TRIES_OF_AN_ADDRESS

LONGEST_CODE: Final = 100


def first_page(visit: Visit) -> Told:
    """Go where a visitor begins."""
    return Elsewhere("/members" if visit.viewer else "/enter")


def show_enter(visit: Visit) -> Told:
    """Ask for name and password."""
    return Shown("enter.html", {"back": _own_path(visit.asked.query.get("back", "")), "name": ""})


def enter(visit: Visit) -> Told:
    """Begin a session for who knows the password."""
    name, password = visit.said("name"), visit.asked.form.get("password", "")[: LONGEST_PASSWORD + 1]
    if wait := _wait_words(visit, name):
        return _again(visit, name, wait, 429)
    sessions, member = visit.home.sessions, _member_called(visit, name)
    right = sessions.password_is(member.id if member else "", password)
    with visit.home.store.change():
        if not right or member is None or member.left_ms:
            _note_try(visit, name)
            return _again(visit, name, _("Name and password do not go together."), 403)
        token = sessions.begin(member.id, visit.now_ms)
        visit.home.trail.write(visit.now_ms, member.id, "signed in")
    return Elsewhere(_own_path(visit.asked.form.get("back", "")) or "/members", "in", token=token)


def show_invitation(visit: Visit) -> Told:
    """Ask for the code of an invitation and the password that is to hold from then on."""
    return Shown("invitation.html", {"code": visit.asked.query.get("code", "")[:LONGEST_CODE]})


def accept_invitation(visit: Visit) -> Told:
    """Use up an invitation: its member gets a password and a session."""
    code = visit.said("code", LONGEST_CODE)
    if wait := _wait_words(visit, ""):
        return _invitation_again(code, wait, 429)
    try:
        password = new_password(visit)
    except NotDone as trouble:
        return _invitation_again(code, str(trouble), 400)
    with visit.home.store.change():
        member = visit.home.accounts.use_up(code, visit.now_ms)
        if member is None:
            _note_try(visit, "")
            words = _("This invitation was used, is too old or was never made; ask the club for another.")
            return _invitation_again(code, words, 403)
        visit.home.sessions.set_password(member.id, password)
        token = visit.home.sessions.begin(member.id, visit.now_ms)
        visit.home.trail.write(visit.now_ms, member.id, "accepted an invitation")
    return Elsewhere("/members", "in", token=token)


def new_password(visit: Visit) -> str:
    """Return the password that a form sets. Raises NotDone for one that is no good."""
    password = visit.asked.form.get("password", "")
    if not SHORTEST_PASSWORD <= len(password) <= LONGEST_PASSWORD:
        raise NotDone(
            _("A password has {shortest} to {longest} letters; a few words in a row are good.").format(
                shortest=SHORTEST_PASSWORD, longest=LONGEST_PASSWORD
            )
        )
    if password != visit.asked.form.get("again", ""):
        raise NotDone(_("The two passwords differ; write the same one twice."))
    return password


def sign_out(visit: Visit) -> Told:
    """End the session."""
    with visit.home.store.change():
        visit.home.sessions.end(visit.asked.token)
    return Elsewhere("/enter", "out", token="")


def choose_language(visit: Visit) -> Told:
    """Speak another language from now on."""
    language = visit.asked.form.get("language", "")
    back = _own_path(visit.asked.form.get("back", "")) or "/"
    return Elsewhere(back, language=language if language in LANGUAGES else "")


def folded(name: str) -> str:
    """Return a name as two writings of it are compared."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def _member_called(visit: Visit, name: str) -> Member | None:
    wanted = folded(name)
    return next((each for each in visit.home.accounts.members() if folded(each.name) == wanted), None)


def _own_path(path: str) -> str:
    """Return a path on this server, empty for anything that could lead elsewhere."""
    fine = path.startswith("/") and not path.startswith("//") and "\\" not in path and path.isprintable()
    return path if fine else ""


def _wait_words(visit: Visit, name: str) -> str:
    waits = [visit.home.sessions.wait_ms(f"address {visit.asked.address}", visit.now_ms, TRIES_OF_AN_ADDRESS)]
    if name:
        waits.append(visit.home.sessions.wait_ms(f"name {folded(name)}", visit.now_ms, TRIES))
    minutes = -(-max(waits) // 60_000)
    return (
        _("That was tried too often. Try again in {minutes} min.").format(minutes=minutes) if minutes else ""
    )


def _note_try(visit: Visit, name: str) -> None:
    visit.home.sessions.note_try(f"address {visit.asked.address}", visit.now_ms)
    if name:
        visit.home.sessions.note_try(f"name {folded(name)}", visit.now_ms)


def _again(visit: Visit, name: str, wrong: str, status: int) -> Shown:
    back = _own_path(visit.asked.form.get("back", ""))
    return Shown("enter.html", {"back": back, "name": name}, wrong=wrong, status=status)


def _invitation_again(code: str, wrong: str, status: int) -> Shown:
    return Shown("invitation.html", {"code": code}, wrong=wrong, status=status)

"""Signing in to the club's pages, invitations, roles, and who may do what."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime

import pytest

from logbook_app.sync.messages import Code, Hello, Join
from server.club_home import ClubHome
from server.pages.site_map import PAGES
from server.pages.visit import Asked
from server.roles import Role, SignsAs
from server.sessions import SESSION_MS, TRIES, TRIES_OF_AN_ADDRESS, TRIES_WITHIN_MS
from server.sync_desk import SyncDesk
from tests.server.seeded_club import dived
from tests.server.visitor import PASSWORD, Visitor, come_in, member_id

pytestmark = pytest.mark.law

WRONG = "another word"


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.ms = 1_950_000_000_000

    def __call__(self) -> int:
        return self.ms


@pytest.fixture
def home(tmp_path) -> Iterator[ClubHome]:
    with closing(ClubHome(tmp_path / "club", Clock())) as home:
        yield home


def test_who_is_not_signed_in_is_led_to_the_door_and_back(home):
    come_in(home, "Ada")
    visitor = Visitor(home).get("/members")
    assert "Sign in" in visitor.text
    visitor.post("/enter", name="  ADA ", password=PASSWORD, back="/members")
    assert visitor.status == 200
    assert "Ada" in visitor.text


@pytest.mark.parametrize("back", ["//evil.example", "https://evil.example", "/\\evil.example", "/a\nb"])
def test_nobody_is_led_elsewhere(home, back):
    come_in(home, "Ada")
    visitor = Visitor(home).get("/enter")
    visitor.post("/enter", name="Ada", password=PASSWORD, back=back)
    assert "Members" in visitor.page.xpath("//h1")[0].text


def test_an_invitation_is_good_once_whoever_uses_it_first(home):
    _, code = home.invite("Ada")
    first = Visitor(home).get(f"/invitation?code={code}")
    assert first.page.xpath("//input[@name='code']/@value") == [code]
    first.post("/invitation", code=code, password=PASSWORD, again=PASSWORD)
    second = Visitor(home).get("/invitation")
    second.post("/invitation", code=code, password=PASSWORD, again=PASSWORD)
    assert (second.status, second.token) == (403, "")
    with home.store.change():
        assert home.accounts.join(Join(code, "ab" * 32, "phone"), home.now_ms()) is None
    _, code = home.invite("Ada")
    with home.store.change():
        assert home.accounts.join(Join(code, "ab" * 32, "phone"), home.now_ms())
    third = Visitor(home).get("/invitation")
    assert third.post("/invitation", code=code, password=PASSWORD, again=PASSWORD).status == 403


def test_an_invitation_ends_and_a_password_has_to_be_long_and_written_twice(home):
    _, code = home.invite("Ada")
    visitor = Visitor(home).get("/invitation")
    for password, again in (("short", "short"), (PASSWORD, "another one"), ("x" * 201, "x" * 201)):
        assert visitor.post("/invitation", code=code, password=password, again=again).status == 400
    home.now_ms.ms += 8 * 86_400_000
    assert visitor.post("/invitation", code=code, password=PASSWORD, again=PASSWORD).status == 403


def test_tries_are_counted_for_the_name_and_for_the_address(home):
    come_in(home, "Ada")
    visitor = Visitor(home).get("/enter")
    for _again in range(TRIES):
        assert visitor.post("/enter", name="Ada", password=WRONG).status == 403
    assert visitor.post("/enter", name="Ada", password=PASSWORD).status == 429
    assert (
        Visitor(home, address="192.0.2.9").get("/enter").post("/enter", name="Ada", password=PASSWORD).status
        == 429
    )
    for number in range(TRIES_OF_AN_ADDRESS - TRIES):
        visitor.post("/enter", name=f"nobody {number}", password=WRONG)
    assert "too often" in visitor.post("/enter", name="Bo", password=WRONG).text
    home.now_ms.ms += TRIES_WITHIN_MS + 1
    assert visitor.post("/enter", name="Ada", password=PASSWORD).status == 200


def test_a_session_ends_by_itself_and_at_the_door(home):
    ada = come_in(home, "Ada")
    token = ada.token
    ada.get("/members").post("/out")
    assert ada.token == ""
    thief = Visitor(home)
    thief.token = token
    assert "Sign in" in thief.get("/members").text
    again = Visitor(home).get("/enter").post("/enter", name="Ada", password=PASSWORD)
    home.now_ms.ms += SESSION_MS + 1
    assert "Sign in" in again.get("/members").text


def test_a_form_from_elsewhere_does_nothing(home):
    admin = come_in(home, "Ada", Role.ADMIN)
    admin.get("/office")
    before = len(home.accounts.members())
    for form in ("", "made up", "a" * 64):
        admin._ask("POST", "/office/invite", {"form": form, "name": "Eve"}, {})
        assert admin.status == 400
    assert len(home.accounts.members()) == before


def test_neither_passwords_nor_tokens_nor_codes_are_kept(home):
    ada = come_in(home, "Ada", Role.ADMIN)
    code = ada.get("/office").post("/office/invite", name="Bo").page.xpath("//p[@class='code']")[0].text
    home.database.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    kept = (home.folder / "club.sqlite").read_bytes()
    assert b"$argon2id$" in kept
    for secret in (PASSWORD, ada.token, code):
        assert secret.encode() not in kept


def test_the_first_start_has_a_code_for_an_admin_until_somebody_came_in(home):
    first, second = home.first_admin_code(), home.first_admin_code()
    visitor = Visitor(home).get("/invitation")
    assert visitor.post("/invitation", code=first, password=PASSWORD, again=PASSWORD).status == 403
    visitor.post("/invitation", code=second, password=PASSWORD, again=PASSWORD)
    assert visitor.get("/office").status == 200
    assert home.first_admin_code() == ""


def test_an_officer_invites_shows_a_picture_code_and_withdraws(home):
    officer = come_in(home, "Ola", Role.OFFICER)
    officer.get("/office").post("/office/invite", name="Bo")
    code = officer.page.xpath("//p[@class='code']")[0].text
    assert officer.page.xpath("//*[name()='svg']")
    assert code not in officer.get("/office").text
    officer.post("/office/withdraw", invitation=home.accounts.open_invitations(0)[0].id)
    visitor = Visitor(home).get("/invitation")
    assert visitor.post("/invitation", code=code, password=PASSWORD, again=PASSWORD).status == 403
    assert (
        officer.get("/office").post("/office/invite", name="bo ").status == 400
    )  # there is one of this name


def test_a_removed_member_and_their_devices_are_shut_out_until_taken_back(home):
    officer, bo = come_in(home, "Ola", Role.OFFICER), come_in(home, "Bo")
    with home.store.change():
        home.accounts.join(Join(home.accounts.invite(member_id(home, "Bo"), home.now_ms()), "ab" * 32), 0)
    desk = SyncDesk(home, "Quarry")
    dived(home, home.accounts.member(member_id(home, "Bo")), datetime(2031, 6, 1, tzinfo=UTC), samples=False)
    assert len(officer.get("/days").page.xpath("//tbody/tr")) == 1
    officer.get("/office").post("/office/remove", member=member_id(home, "Bo"))
    assert "No longer in the club" in officer.text
    assert "Sign in" in bo.get("/members").text
    assert "Bo" not in officer.get("/members").page.xpath("//table")[0].text_content()
    assert officer.get("/days").page.xpath("//tbody/tr") == []
    assert Code.REVOKED.encode() in desk.answer("hello", _hello(), "ab" * 32).data
    officer.get("/office").post("/office/take-back", member=member_id(home, "Bo"))
    assert Code.REVOKED.encode() not in desk.answer("hello", _hello(), "ab" * 32).data
    assert Visitor(home).get("/enter").post("/enter", name="Bo", password=PASSWORD).token


def _hello() -> bytes:
    from logbook_app.sync.messages import to_wire

    return to_wire(Hello(1))


def test_an_officer_touches_no_officer_and_the_last_admin_stays(home):
    officer, admin = come_in(home, "Ola", Role.OFFICER), come_in(home, "Ada", Role.ADMIN)
    come_in(home, "Olf", Role.OFFICER)
    assert officer.get("/office").post("/office/remove", member=member_id(home, "Olf")).status == 400
    assert officer.get("/office").post("/office/remove", member=member_id(home, "Ola")).status == 400
    assert (
        admin.get("/office").post("/office/role", member=member_id(home, "Ada"), role="member").status == 400
    )
    admin.get("/office").post("/office/role", member=member_id(home, "Ola"), role="admin")
    admin.get("/office").post("/office/role", member=member_id(home, "Ada"), role="member")
    assert admin.get("/office").status == 404
    assert home.accounts.member(member_id(home, "Ola")).role == Role.ADMIN


def test_an_admin_says_who_signs(home):
    admin = come_in(home, "Ada", Role.ADMIN)
    come_in(home, "Tess")
    tess = member_id(home, "Tess")
    assert admin.get("/office").post("/office/signing", member=tess, signs_as="cook").status == 400
    page = f"/office/members/{tess}"
    assert admin.get(page).post("/office/signing", member=tess, signs_as="instructor").status == 400
    admin.get(page).post("/office/signing", member=tess, signs_as="dive leader", **{"for cmas-1": "on"})
    assert home.accounts.member(tess).signs_for == {"cmas-1"}
    admin.get(page).post("/office/signing", member=tess, signs_as="instructor", **{"*": "on"})
    assert home.accounts.member(tess).signs_as == SignsAs.INSTRUCTOR
    assert home.accounts.member(tess).may_sign("anything")
    assert "signs as instructor" in admin.text
    admin.post("/office/signing", member=tess, signs_as="")
    assert not home.accounts.member(tess).signs


def test_erasing_wants_the_name_and_leaves_none(home):
    admin = come_in(home, "Ada", Role.ADMIN)
    come_in(home, "Bo")
    bo = member_id(home, "Bo")
    admin.get("/office").post("/office/remove", member=bo)
    assert admin.get("/office").post("/office/erase", member=bo, name="Ada").status == 400
    admin.get("/office").post("/office/erase", member=bo, name=" bo")
    assert home.accounts.member(bo) is None
    assert home.ledger.erased(bo)
    assert not home.sessions.has_password(bo)
    assert not any("Bo" in line.detail for line in home.trail.lines(100))


def test_every_page_is_for_its_role_and_no_other(home):
    visitors = {role: come_in(home, role.value, role) for role in Role}
    for page in PAGES:
        place = dict.fromkeys(re.findall(r"{(\w+)", page.path), "nothing")
        for role, visitor in visitors.items():
            asked = Asked(page.method, page.path, place, form={}, token=visitor.token)
            told = visitor.desk.answer(page, asked)
            refused = told.status == 404 and page.least is not None and role.rank < page.least.rank
            allowed = page.least is None or role.rank >= page.least.rank
            assert refused != allowed, (page.path, role, told.status)
        nobody = visitors[Role.MEMBER].desk.answer(page, Asked(page.method, page.path, place))
        if page.least is not None:
            assert nobody.headers["location"].startswith("/enter"), page.path


def test_the_trail_tells_who_did_what_and_shows_what_was_changed_in_it(home):
    admin = come_in(home, "Ada", Role.ADMIN)
    admin.get("/office").post("/office/invite", name="Bo")
    lines = home.trail.lines(10)
    assert [line.what for line in lines] == ["invited", "accepted an invitation", "invited"]
    assert [line.actor for line in lines] == [member_id(home, "Ada")] * 2 + [""]
    assert home.trail.first_broken() == 0
    home.database.run("UPDATE trail SET what = 'nothing' WHERE number = 2")
    assert home.trail.first_broken() == 2
    home.database.run("DELETE FROM trail WHERE number = 1")
    assert home.trail.first_broken() == 1


def test_a_page_speaks_the_visitors_language(home):
    visitor = Visitor(home).get("/enter")
    assert visitor.page.get("lang") == "en"
    visitor.post("/language", language="de", back="/enter")
    assert visitor.page.get("lang") == "de"
    assert "Anmelden" in visitor.text

"""What pages show of members' dives, and what they never show; signatures on them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest

from logbook_app.dive.record import Site
from logbook_app.sync.merging import DELETED
from server.club_home import ClubHome
from server.pages.roster import dive_path
from server.pages.writing import write_for
from server.roles import Role, SignsAs
from tests.server.seeded_club import dived
from tests.server.visitor import Visitor, come_in, member_id

pytestmark = pytest.mark.law

NOW = datetime(2031, 6, 15, 12, tzinfo=UTC)


@pytest.fixture
def home(open_database, tmp_path) -> Iterator[ClubHome]:
    with closing(
        ClubHome(tmp_path / "club", lambda: int(NOW.timestamp() * 1000), database=open_database())
    ) as home:
        yield home


def member(home: ClubHome, name: str):
    return home.accounts.member(member_id(home, name))


def test_the_roster_counts_what_everybody_may_see_and_follows_it(home):
    ada, bo = come_in(home, "Ada"), come_in(home, "Bo")
    dived(home, member(home, "Ada"), NOW - timedelta(days=400), max_depth_m=30.0)
    key = dived(home, member(home, "Ada"), NOW - timedelta(days=3), max_depth_m=17.0, minutes=30.0)
    dived(
        home, member(home, "Ada"), NOW - timedelta(days=2), readers=(member_id(home, "Bo"),), max_depth_m=39.0
    )

    def row(visitor: Visitor) -> list[str]:
        cells = visitor.get("/members").page.xpath("//tr[.//a[text()='Ada']]/td")
        return [" ".join(cell.text_content().split()) for cell in cells[1:]]

    assert row(bo) == row(ada) == ["2", "1 h 15 min", "30.0 m", "1", "12 Jun 2031"]
    write_for(home, member(home, "Ada"), key.partition("/")[2], {DELETED: True})
    assert row(bo) == ["1", "45 min", "30.0 m", "0", "11 May 2030"]


def test_a_page_never_shows_what_was_not_shared_with_the_viewer_whatever_the_role(home):
    come_in(home, "Ada")
    viewers = [
        come_in(home, "Bo"),
        come_in(home, "Ola", Role.ADMIN),
        come_in(home, "Tess", signs_as=SignsAs.INSTRUCTOR),
    ]
    ada = member(home, "Ada")
    for_bo = dived(
        home, ada, NOW - timedelta(days=2), readers=(member_id(home, "Bo"),), site=Site.named("Otter Basin")
    )
    for_nobody = dived(home, ada, NOW - timedelta(days=1), readers=(), site=Site.named("Cinder Quay"))
    for viewer in viewers:
        allowed = viewer is viewers[0]
        assert (viewer.get(dive_path(for_bo)).status == 200) == allowed
        assert ("Otter Basin" in viewer.get(f"/members/{ada.id}").text) == allowed
        assert viewer.get(dive_path(for_nobody)).status == 404
        assert "Cinder Quay" not in viewer.get(f"/members/{ada.id}").text
        for path in ("/members", "/sign-offs"):
            assert "private words" not in viewer.get(path).last.body.decode()


def test_a_dive_is_drawn_from_what_is_shown_and_says_who_sees_it(home):
    ada, bo = come_in(home, "Ada"), come_in(home, "Bo")
    key = dived(
        home, member(home, "Ada"), NOW - timedelta(days=1), max_depth_m=27.0, site=Site.named("Lantern Wall")
    )
    page = bo.get(dive_path(key)).page
    assert len(page.xpath("//*[name()='polyline']")) == 1
    assert "27.0 m" in bo.text
    assert "every member of the club" in ada.get(dive_path(key)).text
    bare = dived(home, member(home, "Ada"), NOW - timedelta(hours=4), samples=False)
    assert "samples of this dive are not shown" in bo.get(dive_path(bare)).text


def test_a_request_is_signed_and_a_later_change_shows(home):
    ada = come_in(home, "Ada")
    tess, leader = (
        come_in(home, "Tess", signs_as=SignsAs.INSTRUCTOR),
        come_in(home, "Leo", signs_as=SignsAs.DIVE_LEADER),
    )
    key = dived(home, member(home, "Ada"), NOW - timedelta(days=1))
    ada.get(dive_path(key)).post(
        "/sign-offs/ask", record=key, what="mask cleared", to=member_id(home, "Tess")
    )
    assert "Waits for Tess" in ada.text
    assert "mask cleared" not in leader.get("/sign-offs").text
    assert "mask cleared" in tess.get("/sign-offs").text
    digest = tess.get(dive_path(key)).page.xpath("//input[@name='digest']/@value")[0]
    tess.post(
        "/sign-offs/sign", record=key, digest=digest, what="mask cleared", remark="calm", supervised="on"
    )
    assert "signed by Tess, instructor, 15 Jun 2031" in tess.text
    assert "Nobody waits" in tess.get("/sign-offs").text
    assert "Signed." in ada.get("/sign-offs").text
    assert "Changed since signed" not in ada.text
    write_for(home, member(home, "Ada"), key.partition("/")[2], {"max_depth_m": 40.0})
    assert "Changed since signed" in ada.get(dive_path(key)).text
    assert "Changed since signed" in tess.get("/sign-offs").text


def test_nobody_signs_what_changed_meanwhile_nor_for_themselves_nor_without_the_right(home):
    come_in(home, "Ada")
    tess, bo = come_in(home, "Tess", signs_as=SignsAs.INSTRUCTOR), come_in(home, "Bo")
    key, own = (dived(home, member(home, name), NOW - timedelta(days=1)) for name in ("Ada", "Tess"))
    digest = tess.get(dive_path(key)).page.xpath("//input[@name='digest']/@value")[0]
    assert not bo.get(dive_path(key)).page.xpath("//form[@action='/sign-offs/sign']")
    assert bo.post("/sign-offs/sign", record=key, digest=digest).status == 400
    assert not tess.get(dive_path(own)).page.xpath("//form[@action='/sign-offs/sign']")
    write_for(home, member(home, "Ada"), key.partition("/")[2], {"duration_min": 50.0})
    assert (
        "changed since you opened"
        in tess.get(dive_path(key)).post("/sign-offs/sign", record=key, digest=digest).text
    )


def test_a_signature_is_taken_back_by_its_signer_alone(home):
    ada, tess = come_in(home, "Ada"), come_in(home, "Tess", signs_as=SignsAs.INSTRUCTOR)
    key = dived(home, member(home, "Ada"), NOW - timedelta(days=1))
    digest = tess.get(dive_path(key)).page.xpath("//input[@name='digest']/@value")[0]
    tess.post("/sign-offs/sign", record=key, digest=digest)
    signature = tess.page.xpath("//form[@action='/sign-offs/take-back']//@value[contains(., 'signoff')]")[0]
    assert ada.get(dive_path(key)).post("/sign-offs/take-back", key=signature).status == 404
    tess.get(dive_path(key)).post("/sign-offs/take-back", key=signature)
    assert "Nothing yet" in ada.get(dive_path(key)).text


def test_the_index_is_made_anew_after_a_restore(home, tmp_path):
    ada = come_in(home, "Ada")
    first = dived(home, member(home, "Ada"), NOW - timedelta(days=2))
    assert ada.get(dive_path(first)).status == 200
    home.back_up(tmp_path / "kept.sqlite")
    second = dived(home, member(home, "Ada"), NOW - timedelta(days=1))
    assert (
        len(
            ada.get(f"/members/{member_id(home, 'Ada')}").page.xpath(
                "//section[@aria-labelledby='dives']//tr"
            )
        )
        == 3
    )
    home.restore(tmp_path / "kept.sqlite")
    assert ada.get(dive_path(second)).status == 404
    assert (
        len(
            ada.get(f"/members/{member_id(home, 'Ada')}").page.xpath(
                "//section[@aria-labelledby='dives']//tr"
            )
        )
        == 2
    )


def test_a_buddy_confirms_a_dive_once_and_it_counts_for_nothing(home):
    ada, bo = come_in(home, "Ada"), come_in(home, "Bo")
    key = dived(home, member(home, "Ada"), NOW - timedelta(days=1), supervised_by="")
    digest = bo.get(dive_path(key)).page.xpath("//input[@name='digest']/@value")[0]
    assert ada.get(dive_path(key)).post("/sign-offs/confirm", record=key, digest=digest).status == 400
    bo.get(dive_path(key)).post("/sign-offs/confirm", record=key, digest=digest)
    assert "signed by Bo, buddy" in ada.get(dive_path(key)).text
    assert not bo.get(dive_path(key)).page.xpath("//form[@action='/sign-offs/confirm']")
    assert "Nothing yet" in ada.get(f"/members/{member_id(home, 'Ada')}").text
    write_for(home, member(home, "Ada"), key.partition("/")[2], {"max_depth_m": 40.0})
    assert "Changed since signed" in ada.get(dive_path(key)).text
    taken = bo.get(dive_path(key)).page.xpath("//form[@action='/sign-offs/take-back']//button/@value")[0]
    bo.post("/sign-offs/take-back", key=taken)
    assert "Nobody yet" in ada.get(dive_path(key)).text

"""The matrix and its evidence, a club day, the safety digest: what they say is what the dives say."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Site
from logbook_app.physics.breathing_gas import BreathingGas
from server.club_findings import MOST_AT_ONCE
from server.club_home import ClubHome
from server.pages.writing import write_for
from server.roles import Role, SignsAs
from tests.server.seeded_club import dived
from tests.server.visitor import Visitor, come_in, member_id

pytestmark = pytest.mark.law

NOW = datetime(2031, 6, 15, 12, tzinfo=UTC)


@pytest.fixture
def home(tmp_path) -> Iterator[ClubHome]:
    with closing(ClubHome(tmp_path / "club", lambda: int(NOW.timestamp() * 1000))) as home:
        yield home


def member(home: ClubHome, name: str) -> Any:
    return home.accounts.member(member_id(home, name))


def cells(visitor: Visitor, name: str) -> list[str]:
    row = visitor.page.xpath(f"//tr[th/a[text()='{name}']]/td")
    return [" ".join(cell.text_content().split()) for cell in row]


def test_the_matrix_moves_with_the_dives_and_with_what_is_signed(home):
    ada, tess = come_in(home, "Ada"), come_in(home, "Tess", signs_as=SignsAs.INSTRUCTOR)
    for number in range(9):
        dived(home, member(home, "Ada"), NOW - timedelta(days=30 + number), max_depth_m=14.0, samples=False)
    assert cells(ada.get("/progress?set=cmas-2"), "Ada") == ["not met", "9 of 10", "0 of 10"]
    dived(home, member(home, "Ada"), NOW - timedelta(days=20), max_depth_m=14.0, samples=False)
    assert cells(ada.get("/progress?set=cmas-2"), "Ada")[1] == "met"
    page = f"/progress/{member_id(home, 'Ada')}/cmas-1"
    digest = tess.get(page).page.xpath("//input[@name='digest']/@value")[0]
    tess.post("/sign-offs/sign", whom=member_id(home, "Ada"), rules="cmas-1", requirement="", digest=digest)
    assert cells(ada.get("/progress?set=cmas-2"), "Ada")[0] == "met"
    assert cells(ada, "Tess")[0] == "not met"


def test_behind_a_cell_stand_the_dives_that_count_and_those_that_nearly_do(home):
    ada = come_in(home, "Ada")
    dived(home, member(home, "Ada"), NOW - timedelta(days=3), max_depth_m=14.0, samples=False)
    dived(home, member(home, "Ada"), NOW - timedelta(days=2), max_depth_m=9.0, samples=False)
    ada.get(f"/progress/{member_id(home, 'Ada')}/cmas-2/training")
    counting = ada.page.xpath("//section[@aria-labelledby='counting']//tbody/tr")
    nearly = ada.page.xpath("//section[@aria-labelledby='nearly']//tbody/tr")
    assert ["14.0 m" in each.text_content() for each in counting] == [True]
    assert ["9.0 m" in each.text_content() for each in nearly] == [True]
    assert "9 more dives" in ada.text
    assert ada.get(f"/progress/{member_id(home, 'Ada')}/cmas-2/nothing").status == 404


def test_a_confirmed_requirement_says_when_its_evidence_changed(home):
    ada, tess = come_in(home, "Ada"), come_in(home, "Tess", signs_as=SignsAs.INSTRUCTOR)
    keys = [dived(home, member(home, "Ada"), NOW - timedelta(days=n), max_depth_m=14.0) for n in range(1, 4)]
    page = f"/progress/{member_id(home, 'Ada')}/cmas-2/training"
    digest = tess.get(page).page.xpath("//input[@name='digest']/@value")[0]
    tess.post(
        "/sign-offs/sign", whom=member_id(home, "Ada"), rules="cmas-2", requirement="training", digest=digest
    )
    assert "confirmed by Tess on 15 Jun 2031" in ada.get(page).text
    assert "Changed since signed" not in ada.text
    write_for(home, member(home, "Ada"), keys[0].partition("/")[2], {"max_depth_m": 15.0})
    assert "Changed since signed" in ada.get(page).text


def test_a_signer_signs_only_toward_the_qualifications_named(home):
    come_in(home, "Ada")
    leo = come_in(home, "Leo", signs_as=SignsAs.DIVE_LEADER)
    with home.store.change():
        home.accounts.give_signing(member_id(home, "Leo"), SignsAs.DIVE_LEADER, frozenset({"cmas-1"}))
    ada = member_id(home, "Ada")
    assert leo.get(f"/progress/{ada}/cmas-1").page.xpath("//form[@action='/sign-offs/sign']")
    assert not leo.get(f"/progress/{ada}/cmas-2").page.xpath("//form[@action='/sign-offs/sign']")


def test_a_day_puts_together_who_was_under_water_together(home):
    visitors = [come_in(home, name) for name in ("Ada", "Bo", "Cy", "Di")]
    morning = NOW.replace(hour=8)
    for name, minutes, site in (
        ("Ada", 0, "Lantern Wall"),
        ("Bo", 5, "Lantern Wall"),
        ("Cy", 2, "Otter Basin"),
    ):
        dived(home, member(home, name), morning + timedelta(minutes=minutes), site=Site.named(site))
    dived(home, member(home, "Di"), morning + timedelta(hours=2), site=Site.named("Lantern Wall"))
    page = visitors[0].get("/days").get("/days/2031-06-15").page
    groups = [
        sorted(link.text for link in group.xpath(".//tbody//th/a"))
        for group in page.xpath("//section[starts-with(@aria-labelledby, 'group-')]")
    ]
    assert sorted(groups) == [["Ada", "Bo"], ["Cy"], ["Di"]]
    lines = [
        len(group.xpath(".//*[name()='polyline']")) for group in page.xpath("//section[.//*[name()='svg']]")
    ]
    assert sorted(lines) == [1, 1, 2]
    up = {row.xpath("th")[0].text: row.xpath("td")[-1].text for row in page.xpath("//section[1]//tbody/tr")}
    assert up == {"Ada": "3 h 15 min", "Cy": "3 h 13 min", "Bo": "3 h 10 min", "Di": "1 h 15 min"}
    assert visitors[0].get("/days/2031-02-30").status == 404


def test_the_digest_names_nobody_but_to_officers(home):
    bo, officer = come_in(home, "Bo"), come_in(home, "Ola", Role.OFFICER)
    come_in(home, "Ada")
    low = (Cylinder(BreathingGas(0.21, 0.0), 12.0, 200.0, 30.0),)
    dived(home, member(home, "Ada"), NOW - timedelta(days=40), rate_m_min=25.0, max_depth_m=30.0)
    dived(home, member(home, "Ada"), NOW - timedelta(days=5), samples=False, cylinders=low)
    dived(home, member(home, "Ada"), NOW - timedelta(days=4), rate_m_min=25.0, readers=(), max_depth_m=30.0)

    def months(visitor: Visitor) -> dict[str, list[str]]:
        rows = visitor.get("/safety?year=2031").page.xpath("//section[@aria-labelledby='months']//tbody/tr")
        return {row.xpath("th")[0].text: [cell.text for cell in row.xpath("td[@class]")] for row in rows}

    # Three quarters of an hour from 30 to 15 m on air are beyond every no-stop limit, and no stop is made.
    assert months(bo) == {"May": ["1", "1", "1", "1", "1", "–"], "Jun": ["1", "0", "–", "–", "–", "1"]}
    assert months(officer) == months(bo)
    assert "Ada" not in bo.get("/safety?year=2031").text
    assert officer.get("/safety?year=2031").text.count("Ada") == 2


def test_the_digest_looks_at_some_dives_and_then_at_the_rest(home):
    bo = come_in(home, "Bo")
    for number in range(MOST_AT_ONCE + 3):
        dived(home, member(home, "Bo"), NOW - timedelta(hours=6 * number), samples=False)
    assert "3 dives are still to be looked at" in bo.get("/safety?year=2031").text
    assert "still to be looked at" not in bo.get("/safety?year=2031").text


OWN = """
program = "Divers of the quarry"
source = "Decision of the club"
edition = "2031"
reading = "own"

[[set]]
id = "quarry-guide"
name = "Guide at the quarry"

[[set.requirement]]
id = "dives"
name = "Dives at 15 m or deeper"
dives = 2
where = { from_m = 15 }
"""


def test_a_club_writes_requirements_of_its_own(home):
    admin = come_in(home, "Ada", Role.ADMIN)
    dived(home, member(home, "Ada"), NOW - timedelta(days=3), max_depth_m=18.0, samples=False)
    admin.get("/office/requirements").post("/office/requirements", name="ours", content=OWN)
    assert cells(admin.get("/progress?set=quarry-guide"), "Ada") == ["1 of 2"]
    admin.get("/office/requirements").post(
        "/office/requirements", name="ours", content=OWN.replace("= 2\n", "= 1\n")
    )
    assert cells(admin.get("/progress?set=quarry-guide"), "Ada") == ["met"]
    for broken in ("[[set]", OWN.replace("dives = 2", "divs = 2"), OWN.replace("quarry-guide", "cmas-1")):
        assert (
            admin.get("/office/requirements")
            .post("/office/requirements", name="other", content=broken)
            .status
            == 400
        )
    admin.get("/office/requirements").post("/office/requirements", name="ours", content="")
    assert "Guide at the quarry" not in admin.get("/progress").text

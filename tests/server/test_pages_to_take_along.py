"""What members take along and leave behind: exports, a paper history, devices, the trail, a backup."""

from __future__ import annotations

import io
import json
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from pypdf import PdfReader

from logbook_app.dive.record import Site
from logbook_app.files.read_dive import ReadDive, ReadOptions
from logbook_app.files.recording_file import read_recording
from logbook_app.sync.messages import Code, Hello, Join, to_wire
from logbook_app.sync.records import values_from
from server.club_home import ClubHome
from server.pages.writing import write_for
from server.roles import Role
from server.sync_desk import SyncDesk
from tests.dive.strategies import plain_dive
from tests.server.seeded_club import dived
from tests.server.visitor import PASSWORD, come_in, member_id

pytestmark = pytest.mark.law

NOW = datetime(2031, 6, 15, 12, tzinfo=UTC)
TABLE = b"""date,depth (m),duration (min),site,buddy
2009-06-14,21.4,47,Cinder Quay,Rune
2009-06-15,18,40,Otter Basin,
no day,12,30,x,
"""


@pytest.fixture
def home(tmp_path) -> Iterator[ClubHome]:
    with closing(ClubHome(tmp_path / "club", lambda: int(NOW.timestamp() * 1000))) as home:
        yield home


def member(home: ClubHome, name: str) -> Any:
    return home.accounts.member(member_id(home, name))


def test_shown_dives_go_out_as_a_table_and_as_uddf_and_hidden_ones_stay(home, tmp_path):
    come_in(home, "Ada")
    bo = come_in(home, "Bo")
    ada = member(home, "Ada")
    dived(home, ada, NOW - timedelta(days=3), max_depth_m=21.0, site=Site.named("Lantern Wall"))
    dived(home, ada, NOW - timedelta(days=2), max_depth_m=33.0, readers=())
    table = bo.get(f"/members/{ada.id}/dives.csv").last
    assert table.headers["content-disposition"] == 'attachment; filename="dives.csv"'
    assert table.body.decode().count("\n") == 2
    assert b"Lantern Wall" in table.body
    assert b",33.0," not in table.body
    (tmp_path / "dives.uddf").write_bytes(bo.get(f"/members/{ada.id}/dives.uddf").last.body)
    found = read_recording(tmp_path / "dives.uddf", ReadOptions())
    read = [each for each in found if isinstance(each, ReadDive)]
    assert [(each.dive.max_depth_m, len(each.profile)) for each in read] == [(21.0, 271)]


def test_a_progress_card_is_printed(home):
    ada = come_in(home, "Ada")
    for number in range(3):
        dived(home, member(home, "Ada"), NOW - timedelta(days=3 + number), max_depth_m=14.0, samples=False)
    data = ada.get(f"/progress/{member_id(home, 'Ada')}/cmas-2/card.pdf").last.body
    words = " ".join(PdfReader(io.BytesIO(data)).pages[0].extract_text().split())
    assert "Ada: CMAS diver, Two stars" in words
    assert "3 dives, 10 asked" in words


def test_everything_of_one_s_own_goes_along_and_nothing_of_others(home):
    ada, _bo = come_in(home, "Ada"), come_in(home, "Bo")
    write_for(home, member(home, "Ada"), "dive:1", values_from(plain_dive(id="1", notes="my own words")))
    key = dived(home, member(home, "Ada"), NOW - timedelta(days=1))
    dived(home, member(home, "Bo"), NOW - timedelta(days=1))
    with zipfile.ZipFile(io.BytesIO(ada.get("/me/everything.zip").last.body)) as archive:
        told = json.loads(archive.read("records.json"))
        blobs = [name for name in archive.namelist() if name.startswith("blobs/")]
    assert set(told["records"]) == {f"{member_id(home, 'Ada')}/dive:1", key}
    assert told["records"][f"{member_id(home, 'Ada')}/dive:1"]["notes"] == "my own words"
    assert len(blobs) == 1


def test_a_paper_history_is_entered_once_and_shown_where_that_was_chosen(home):
    ada, officer, bo = come_in(home, "Ada"), come_in(home, "Ola", Role.OFFICER), come_in(home, "Bo")
    path = f"/members/{member_id(home, 'Ada')}/paper"
    assert bo.get(path).status == 404
    officer.get(path).post(path, files={"table": TABLE}, show="on")
    assert "2 dives were added" in officer.text
    assert "What was odd" in officer.text
    assert "0 dives were added" in officer.get(path).post(path, files={"table": TABLE}, show="on").text
    assert "Cinder Quay" in bo.get(f"/members/{member_id(home, 'Ada')}").text
    kept = [key for key in home.store.keys_of(member_id(home, "Ada")) if "/dive:" in key]
    assert len(kept) == 2
    other = TABLE.replace(b"2009", b"2008")
    assert "2 dives were added" in ada.get(path).post(path, files={"table": other}).text
    assert "2008" not in bo.get(f"/members/{member_id(home, 'Ada')}").text
    assert [line.what for line in home.trail.lines(3)] == ["entered a paper history"] * 3


@pytest.mark.parametrize("data", [b"", b"\xff\xfe\x00", b"nothing of a table", b"date,depth\n"])
def test_what_is_no_table_gets_a_sentence_and_changes_nothing(home, data):
    ada = come_in(home, "Ada")
    path = f"/members/{member_id(home, 'Ada')}/paper"
    before = home.store.keys_of(member_id(home, "Ada"))
    assert ada.get(path).post(path, files={"table": data}).status == 400
    assert home.store.keys_of(member_id(home, "Ada")) == before


def test_a_member_invites_and_shuts_out_their_own_devices_alone(home):
    ada, bo = come_in(home, "Ada"), come_in(home, "Bo")
    ada.get("/me").post("/me/device")
    code = ada.page.xpath("//p[@class='code']")[0].text
    with home.store.change():
        assert home.accounts.join(Join(code, "ab" * 32, "Ada's tablet"), home.now_ms()).name == "Ada"
    device = ada.get("/me").page.xpath("//button[@name='device']/@value")[0]
    assert bo.get("/me").post("/me/shut-out", device=device).status == 404
    ada.get("/me").post("/me/shut-out", device=device)
    assert "shut out" in ada.text
    assert (
        Code.REVOKED.encode() in SyncDesk(home, "Quarry").answer("hello", to_wire(Hello(1)), "ab" * 32).data
    )


def test_the_own_page_says_who_sees_what(home):
    ada = come_in(home, "Ada")
    come_in(home, "Bo")
    dived(home, member(home, "Ada"), NOW - timedelta(days=3))
    dived(home, member(home, "Ada"), NOW - timedelta(days=2), readers=(member_id(home, "Bo"),))
    dived(home, member(home, "Ada"), NOW - timedelta(days=1), readers=())
    rows = ada.get("/me").page.xpath("//section[@aria-labelledby='seen']//tbody/tr/td[last()]")
    assert [row.text for row in rows] == ["nobody else", "Bo alone", "every member of the club"]
    assert "3 dives (1 of them for everybody)" in ada.text


def test_a_password_is_changed_by_who_knows_it_and_ends_other_sessions(home):
    ada = come_in(home, "Ada")
    other = come_in(home, "Bo").get("/members")
    new = {"password": "another long one", "again": "another long one"}
    assert ada.get("/me").post("/me/password", present="wrong one", **new).status == 400
    ada.get("/me").post("/me/password", present=PASSWORD, **new)
    assert "every other session has ended" in ada.text
    assert ada.get("/me").status == 200
    assert other.get("/members").status == 200


@pytest.mark.parametrize("erase", [{}, {"erase": "on"}])
def test_who_leaves_is_gone_and_with_everything_where_they_say_so(home, erase):
    ada, bo = come_in(home, "Ada"), come_in(home, "Bo")
    dived(home, member(home, "Ada"), NOW - timedelta(days=3), site=Site.named("Lantern Wall"))
    gone = member_id(home, "Ada")
    assert ada.get("/me").post("/me/leave", present="wrong one", **erase).status == 400
    ada.get("/me").post("/me/leave", present=PASSWORD, **erase)
    assert "You have left the club" in ada.text
    assert "Ada" not in bo.get("/members").text
    assert "2031-06-12" not in bo.get("/days").last.body.decode() or not erase
    assert bo.get("/days/2031-06-12").page.xpath("//tbody") == []
    assert bool(home.store.keys_of(gone)) == (not erase)
    assert home.ledger.erased(gone) == bool(erase)


def test_an_admin_downloads_a_backup_and_officers_read_the_trail(home, tmp_path):
    admin, officer = come_in(home, "Ada", Role.ADMIN), come_in(home, "Ola", Role.OFFICER)
    data = admin.get("/office/club.sqlite").last.body
    (tmp_path / "kept.sqlite").write_bytes(data)
    with closing(sqlite3.connect(tmp_path / "kept.sqlite")) as kept:
        assert kept.execute("SELECT count(*) FROM members").fetchone() == (2,)
    assert officer.get("/office/club.sqlite").status == 404
    assert "took a backup" in officer.get("/office/trail").text
    assert "Whole" in officer.text
    home.database.run("UPDATE trail SET actor = 'x' WHERE number = 2")
    assert "From line 2 on it was changed" in officer.get("/office/trail").text

"""The club by touch, against the real server on this machine: join, sync, choose between two sides, leave."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from driver import ON_THE_DOCK, Driver, OpenApp

from logbook_app.logbook import Logbook
from server.club_home import ClubHome
from tests.dive.strategies import plain_dive
from tests.server.served import served


def now() -> datetime:
    return datetime.now(UTC)


@pytest.fixture
def home(tmp_path: Path) -> Iterator[ClubHome]:
    with closing(ClubHome(tmp_path / "club")) as home:
        yield home


@pytest.fixture
def address(home: ClubHome) -> Iterator[str]:
    with served(home) as address:
        yield address


@pytest.fixture
def tablet(tmp_path: Path) -> Iterator[Logbook]:
    """The diver's other device."""
    with closing(Logbook.open(tmp_path / "tablet.leadline", now=now)) as opened:
        yield opened


@pytest.fixture
def page(open_app: OpenApp, tmp_path: Path) -> Driver:
    """The page on a logbook with one dive."""
    path = tmp_path / "logbook.leadline"
    with closing(Logbook.open(path, now=now)) as logbook:
        logbook.keep_dives([plain_dive(id="d1", began_at=ON_THE_DOCK.replace(year=2025))])
    app = open_app(path)
    app.tap(test_id="rail-settings")
    app.idle()
    app.tap(app.bring_into_view(app.find(test_id="open-club")))
    app.idle()
    return app


def joined(page: Driver, home: ClubHome, address: str) -> None:
    page.tap(test_id="address")
    page.find(test_id="address").text = address
    page.find(test_id="code").text = home.invite("Ada")[1]
    page.tap(page.bring_into_view(page.find(test_id="join")))
    page.until(lambda: page.says("You have joined Quarry."), "joined")
    page.idle()
    page.frames(10)  # the page goes to its top


def synced(page: Driver) -> None:
    page.tap(page.bring_into_view(page.find(test_id="sync")))
    page.until(lambda: not page.app.shell.rooms.room("club").busy, "synced")
    page.idle()


def test_join_sync_and_leave_and_come_back(
    page: Driver, home: ClubHome, address: str, tablet: Logbook
) -> None:
    assert "You have joined no club" in page.find(test_id="club-state").text
    joined(page, home, address)
    assert "Nothing was sent yet" in page.find(test_id="club-state").text
    synced(page)
    assert "All is sent" in page.find(test_id="club-state").text
    assert "1 sent" in page.find(test_id="tries").text
    tablet.club.join(address, home.invite("Ada")[1])
    tablet.club.sync()
    assert [dive.id for dive in tablet.dives()] == ["d1"]
    page.tap(page.bring_into_view(page.find(test_id="leave")))
    page.idle()
    assert "You have joined no club" in page.find(test_id="club-state").text
    page.tap(test_id="undo")
    page.idle()
    synced(page)
    assert "All is sent" in page.find(test_id="club-state").text


def test_what_cannot_be_is_refused_in_a_sentence(page: Driver) -> None:
    page.tap(page.bring_into_view(page.find(test_id="join")))
    page.idle()
    assert page.says("Write the address and the code")
    page.find(test_id="address").text = "http://club.example"
    page.find(test_id="code").text = "code"
    page.tap(page.bring_into_view(page.find(test_id="join")))
    page.until(lambda: page.says("is not encrypted"), "refused")


def test_two_sides_are_listed_and_one_is_chosen(
    page: Driver, home: ClubHome, address: str, tablet: Logbook
) -> None:
    joined(page, home, address)
    synced(page)
    tablet.club.join(address, home.invite("Ada")[1])
    tablet.club.sync()
    page.app.ask(lambda logbook: logbook.change_dive("d1", notes="calm"))
    page.idle()
    tablet.change_dive("d1", notes="rough")
    tablet.club.sync()
    synced(page)
    sides = [page.find(test_id=f"says-{place}").text for place in (0, 1)]
    assert set(sides) == {"calm", "rough"}
    page.tap(page.bring_into_view(page.find(test_id=f"side-{sides.index('calm')}")))
    page.idle()
    assert not page.find_all(test_id="side-0")
    synced(page)
    tablet.club.sync()
    assert tablet.dive("d1").notes == "calm"


def test_settings_tell_who_sees_what(page: Driver, home: ClubHome, address: str) -> None:
    joined(page, home, address)
    page.app.back()
    page.idle()
    assert "You belong to Quarry" in page.find(test_id="privacy").text
    assert "does not see this dive" in page.find(test_id="shown-state").text
    page.tap(page.bring_into_view(page.find(test_id="show-dive")))
    page.idle()
    assert "Every member of the club sees this" in page.find(test_id="shown-state").text


def test_the_way_to_the_experience(app: Driver) -> None:
    app.app.go("club")
    app.idle()
    app.tap(app.bring_into_view(app.find(test_id="experience")))
    app.idle()
    assert app.app.shell.rooms.current == "experience"
    app.press_back()
    assert app.app.shell.rooms.current == "club"

"""What the club sees, what its members show, what it refused, and devices: by touch, against a club."""

# ruff: noqa: F811  (fixtures of another module are taken by their names)

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from driver import ON_THE_DOCK, SIZES, Driver, OpenApp
from test_club_page import address, home, now, page, synced, tablet  # noqa: F401

from logbook_app.logbook import Logbook
from logbook_app.sync.transport import Transport
from server.club_home import ClubHome
from tests.dive.strategies import plain_dive


@pytest.fixture
def friend(tmp_path: Path, home: ClubHome, address: str) -> Iterator[Logbook]:
    """Another member, with a dive that is shown to the club."""
    from tests.server.test_dives_for_others import with_samples

    with closing(Logbook.open(tmp_path / "friend.leadline", now=now)) as opened:
        opened._store.save([with_samples("b1")])
        opened.club.join(address, home.invite("Bo")[1])
        opened.for_others.show(["b1"])
        opened.club.sync()
        yield opened


@pytest.fixture
def member(open_app: OpenApp, tmp_path: Path, home: ClubHome, address: str) -> Driver:
    """The club's page of a member with one dive, all of it sent."""
    path = tmp_path / "logbook.leadline"
    with closing(Logbook.open(path, now=now)) as opened:
        opened.keep_dives([plain_dive(id="d1", began_at=ON_THE_DOCK.replace(year=2025))])
        opened.club.join(address, home.invite("Ada")[1])
        opened.club.sync()
    app = open_app(path)
    app.app.go("club")
    app.idle()
    return app


def touch(app: Driver, test_id: str) -> None:
    app.tap(app.bring_into_view(app.find(test_id=test_id)))
    app.idle()


def says(app: Driver, test_id: str) -> str:
    return app.find(test_id=test_id).text


def on_the_page_of(app: Driver, dive_id: str) -> None:
    app.app.open_dive(dive_id)
    app.idle()


def seen_by(friend: Logbook) -> list[str]:
    friend.club.sync()
    return [dive.diver for dive in friend.for_others.of_others()]


def test_a_dive_is_shown_on_its_page_as_others_see_it_and_withdrawn(member: Driver, friend: Logbook) -> None:
    on_the_page_of(member, "d1")
    assert "does not see this dive" in says(member, "shown-state")
    assert not member.find(test_id="show-dive").checked
    touch(member, "show-dive")
    assert member.find(test_id="show-dive").checked
    assert "Every member of the club sees this" in says(member, "shown-state")
    assert "Ada" in " ".join(label.text for label in member.find_all(role="Label"))
    assert seen_by(friend) == []
    member.app.go("club")
    member.idle()
    assert "1 dive to send" in says(member, "club-state")
    assert "The club sees 1 of your dives" in says(member, "shown-count")
    synced(member)
    assert seen_by(friend) == ["Ada"]
    touch(member, "withdraw-all")
    member.tap(test_id="undo")
    member.idle()
    assert "The club sees 1 of your dives" in says(member, "shown-count")
    touch(member, "withdraw-all")
    synced(member)
    assert seen_by(friend) == []


def test_several_dives_are_shown_together_in_the_logbook(member: Driver, friend: Logbook) -> None:
    member.tap(test_id="rail-logbook")
    member.idle()
    assert says(member, "club-words") == "All is sent."
    member.tap(test_id="choose")
    member.idle()
    member.tap(test_id="choose-all")
    member.tap(test_id="choose-show")
    member.idle()
    member.tap(test_id="show-chosen")
    member.idle()
    assert member.says("Shown to the club")
    assert says(member, "club-words") == "1 dive to send."
    member.tap(test_id="undo")
    member.idle()
    member.app.ask(lambda logbook: logbook.for_others.shown_ids(), then=lambda ids: shown.append(ids))
    shown: list[set[str]] = []
    member.idle()
    assert shown == [set()]


def test_what_a_friend_shows_is_laid_beside_one_s_own_and_stands_in_no_list(
    member: Driver, friend: Logbook
) -> None:
    synced(member)
    (row,) = member.find_all(test_id="shown-by-other")
    assert row.line.heading == "Bo"
    member.tap(member.bring_into_view(row))
    member.idle()
    assert member.app.shell.rooms.current == "buddies"
    assert "Bo" in says(member, "picked")
    found: list[int] = []
    member.app.ask(lambda logbook: len(logbook.rows()), then=found.append)
    member.idle()
    assert found == [1]


def test_this_device_syncs_by_itself_once_it_is_allowed_to(
    member: Driver,
    home: ClubHome,
    address: str,
    friend: Logbook,
) -> None:
    member.app.ask(lambda logbook: logbook.change_dive("d1", notes="calm"), then=member.app.changed)
    member.idle()
    member.frames(600)  # ten seconds by the app's clock: nothing is sent without leave
    assert "1 dive to send" in says(member, "club-state")
    touch(member, "alone")
    member.until(lambda: "All is sent" in says(member, "club-state"), "synced by itself")
    member.app.ask(
        lambda logbook: logbook.for_others.show(["d1"]), then=lambda done: member.app.changed(done.changes)
    )
    member.idle()
    member.until(lambda: "All is sent" in says(member, "club-state"), "synced after a save")
    assert seen_by(friend) == ["Ada"]


def test_at_its_start_it_syncs_by_itself_as_well(
    member: Driver, friend: Logbook, open_app: OpenApp, tmp_path: Path
) -> None:
    touch(member, "alone")
    synced(member)
    assert member.find_all(test_id="shown-by-other")
    member.stop()
    friend.for_others.withdraw(["b1"])
    friend.club.sync()
    again = open_app(tmp_path / "logbook.leadline")
    again.app.go("club")
    again.idle()
    again.until(lambda: not again.find_all(test_id="shown-by-other"), "synced at the start")


def test_where_no_club_was_joined_nothing_is_asked_of_a_network(
    page: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[object] = []
    monkeypatch.setattr(Transport, "ask", lambda _transport, request: asked.append(request))

    def allow(logbook: Logbook) -> object:
        logbook.change_settings(replace(logbook.settings(), syncs_alone=True, shows_new_dives=True))
        return logbook.change_dive("d1", notes="calm")

    page.app.ask(allow, then=page.app.changed)
    page.idle()
    page.frames(900)  # a quarter of a minute by the app's clock
    page.idle()
    assert asked == []
    assert page.app.club.words == ""
    assert not page.find_all(test_id="club-line")


def test_what_was_refused_is_listed_and_kept_or_let_go(member: Driver, home: ClubHome) -> None:
    (ada,) = [each.id for each in home.accounts.members() if each.name == "Ada"]
    home.ledger.write_removed(f"{ada}/dive:d1")
    with home.store.change():
        home.club._drop(f"{ada}/dive:d1")
    member.app.ask(lambda logbook: logbook.change_dive("d1", notes="rough"), then=member.app.changed)
    synced(member)
    assert "did not accept 1 record" in says(member, "club-state")
    assert [label.text for label in member.find_all(test_id="refused-value")] == ["Notes: rough"]
    touch(member, "let-go")
    assert not member.find_all(test_id="refused")
    member.tap(test_id="undo")
    member.idle()
    touch(member, "keep-refused")
    assert not member.find_all(test_id="refused")
    kept: list[str] = []
    member.app.ask(lambda logbook: [dive.notes for dive in logbook.dives()], then=kept.extend)
    member.idle()
    assert kept == ["rough"]


def test_a_lost_device_is_shut_out(
    member: Driver,
    home: ClubHome,
    address: str,
    tablet: Logbook,
) -> None:
    tablet.club.join(address, home.invite("Ada")[1], device="Old tablet")
    touch(member, "ask-devices")
    member.until(lambda: len(member.find_all(test_id="device")) == 2, "the devices")
    member.idle()
    (shut_out,) = [each for each in member.find_all(role="OutlinedButton") if each.text == "Shut it out"]
    member.tap(member.bring_into_view(shut_out))
    member.until(lambda: member.says("Old tablet is shut out"), "shut out")
    assert "shut out" in tablet.club.sync().trouble


def test_a_club_that_was_left_is_told_when_undo_is_gone(member: Driver, home: ClubHome) -> None:
    (ada,) = [each.id for each in home.accounts.members() if each.name == "Ada"]
    ((device, _name),) = home.accounts.devices_of(ada)
    touch(member, "leave")
    assert home.store.device(device).standing == ""
    member.until(lambda: member.says("knows that this device has left"), "told")
    assert home.store.device(device).standing == "revoked"
    assert not member.find_all(test_id="club-line")


def test_all_of_it_fits_the_window(member: Driver, friend: Logbook) -> None:
    synced(member)
    found = []
    for size in SIZES.values():
        member.app.go("club")
        member.resize(*size)
        member.idle()
        for test_id in ("club-state", "alone", "part-buddies", "shown-by-other", "ask-devices", "leave"):
            member.bring_into_view(member.find(test_id=test_id))
            found += member.misfits()
        on_the_page_of(member, "d1")
        for test_id in ("show-dive", "shown-state"):
            member.bring_into_view(member.find(test_id=test_id))
            found += member.misfits()
        for room in ("logbook", "surface"):
            member.app.go(room)
            member.idle()
            found += member.misfits()
    assert found == []


def test_a_signature_is_asked_for_on_the_dive_s_page_and_stands_there(member: Driver, home: ClubHome) -> None:
    from server.roles import SignsAs
    from tests.server.visitor import come_in

    tess = come_in(home, "Tess", signs_as=SignsAs.INSTRUCTOR)
    on_the_page_of(member, "d1")
    touch(member, "show-dive")
    assert says(member, "signed") == "Nobody has signed this dive."
    touch(member, "ask-signature")
    assert says(member, "signed") == "Asked for a signature."
    member.app.go("club")
    member.idle()
    synced(member)
    path = tess.get("/sign-offs").page.xpath("//section[@aria-labelledby='asked']//a/@href")[0]
    form = {field.get("name"): field.get("value") for field in tess.get(path).page.xpath("//input[@value]")}
    tess.post("/sign-offs/sign", record=form["record"], digest=form["digest"], remark="calm")
    synced(member)
    on_the_page_of(member, "d1")
    assert "Signed by Tess, instructor" in says(member, "signed")
    assert "calm" in says(member, "signed")

"""Backups by touch: into the folder that is shown, and back again with a way to undo it."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from driver import ON_THE_DOCK, Driver, OpenApp

from logbook_app.dive.hand_entry import HandEntry
from logbook_app.logbook import Logbook


@pytest.fixture
def backups(open_app: OpenApp, tmp_path: Path) -> Driver:
    """The page on a logbook with one dive, looking into an empty folder."""
    path = tmp_path / "logbook.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    logbook.add_by_hand(_dive_ended(hours_ago=20))
    logbook.close()
    (tmp_path / "card").mkdir()
    app = open_app(path)
    app.app.shell.rooms.room("backups").ids.files.folder = tmp_path / "card"
    app.tap(test_id="rail-settings")
    app.idle()
    app.tap(app.bring_into_view(app.find(test_id="open-backups")))
    app.idle()
    return app


def _dive_ended(hours_ago: float) -> HandEntry:
    return HandEntry(began_local=ON_THE_DOCK - timedelta(hours=hours_ago), duration_min=40, max_depth_m=18)


def _dives(app: Driver) -> int:
    counted: list[int] = []
    app.app.ask(lambda logbook: len(logbook.dives()), then=counted.append)
    app.idle()
    return counted[0]


def test_a_backup_and_back_and_undone(backups: Driver, tmp_path: Path) -> None:
    """What was logged after the backup goes when it is put back, and Undo brings it."""
    assert "There is no backup yet" in backups.find(test_id="last-backup").text
    backups.tap(test_id="back-up")
    backups.idle()
    (made,) = (tmp_path / "card").iterdir()
    assert backups.says(f"Wrote 1 dive to {made}.")
    assert "Last backup Sat 14 Nov 2026" in backups.find(test_id="last-backup").text
    backups.app.ask(lambda logbook: logbook.add_by_hand(_dive_ended(hours_ago=2)))
    assert _dives(backups) == 2
    backups.tap(test_id=f"file-{made.name}")
    backups.idle()
    backups.tap(test_id="put-back")
    backups.idle()
    assert _dives(backups) == 1
    backups.tap(test_id="undo")
    backups.idle()
    assert _dives(backups) == 2
    assert backups.says("Your logbook is as it was before.")


def test_a_damaged_backup_is_refused_in_a_sentence(backups: Driver, tmp_path: Path) -> None:
    (tmp_path / "card" / "wet.leadline").write_text("not a logbook at all")
    backups.app.shell.rooms.room("backups").ids.files.look_again()
    backups.idle()
    backups.tap(test_id="file-wet.leadline")
    backups.idle()
    backups.tap(test_id="put-back")
    backups.idle()
    assert backups.says("is not a logbook and was left alone")
    assert _dives(backups) == 1
    assert not backups.find(test_id="back-up").disabled


def test_only_one_backup_can_be_chosen(backups: Driver, tmp_path: Path) -> None:
    for name in ("a.leadline", "b.leadline"):
        (tmp_path / "card" / name).write_text("x")
    backups.app.shell.rooms.room("backups").ids.files.look_again()
    backups.idle()
    for name in ("a.leadline", "b.leadline"):
        backups.tap(test_id=f"file-{name}")
        backups.idle()
    files = backups.app.shell.rooms.room("backups").ids.files
    assert [path.name for path in files.chosen] == ["b.leadline"]
    assert not backups.find_all(test_id="choose-folder")
    backups.tap(test_id="file-b.leadline")
    backups.idle()
    assert backups.find(test_id="put-back").disabled


@pytest.mark.parametrize("text_scale", [1.0, 1.3, 2.0])
def test_the_page_fits(open_app: OpenApp, text_scale: float) -> None:
    """At every size of window: nothing clipped, nothing over anything, nothing too small to touch."""
    app = open_app(text_scale=text_scale)
    app.app.go("backups")
    app.idle()
    for _ in app.at_each_size():
        assert app.misfits() == []


def test_backups_made_by_themselves_are_a_touch_away(backups: Driver, tmp_path: Path) -> None:
    """Made a while after the start, and found from the page."""
    backups.wait(21)
    backups.idle()
    backups.tap(test_id="back")
    backups.tap(backups.bring_into_view(backups.find(test_id="open-backups")))
    backups.idle()
    backups.tap(test_id="automatic")
    backups.idle()
    name = "logbook daily 2026-11-14.leadline"
    assert (tmp_path / "logbook backups" / name).exists()
    assert backups.find_all(test_id=f"file-{name}")

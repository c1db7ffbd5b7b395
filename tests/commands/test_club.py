"""The verbs for several devices: files between two of one diver, and what is said where there is no club."""

from __future__ import annotations

from pathlib import Path

import pytest
from at_the_command_line import CommandLine
from urllib3.util.retry import Retry

from logbook_app.sync.transport import Patience


@pytest.fixture
def tablet(tmp_path: Path) -> CommandLine:
    folder = tmp_path / "tablet"
    folder.mkdir()
    return CommandLine(folder)


def test_two_devices_pass_each_other_a_file(weekend, tablet, tmp_path):
    passed = str(tmp_path / "passed")
    assert weekend.json("bundle", passed)["path"] == passed
    taken = tablet.json("take-in", passed)
    assert len(taken["dives"]) == len(weekend.json("dives"))
    assert taken["kept_both"] == 0
    assert tablet.json("dives") == weekend.json("dives")
    again = tablet.json("take-in", passed)
    assert (again["changes"], again["records"], again["samples"], again["dives"]) == (0, 0, 0, [])
    (first, *_others) = tablet.json("dives")
    assert tablet("edit", first["id"], "notes=calm").exit_code == 0
    assert tablet("bundle", passed).exit_code == 0
    result = weekend("take-in", passed)
    assert result.output == "1 dive is new or changed.\n"
    assert weekend.json("dives") == tablet.json("dives")


@pytest.mark.parametrize("content", [b"", b"{}", b"\xff", b'{"format":"leadline changes","version":2}'])
def test_a_file_that_is_none_is_refused_and_changes_nothing(weekend, tmp_path, content):
    before = weekend.json("dives")
    path = tmp_path / "passed"
    path.write_bytes(content)
    result = weekend.status("take-in", str(path))
    assert result == 2
    assert weekend.json("dives") == before


def test_half_a_file_is_refused(weekend, tablet, tmp_path):
    path = tmp_path / "passed"
    weekend("bundle", str(path))
    whole = path.read_bytes()
    for length in range(0, len(whole), len(whole) // 40):
        path.write_bytes(whole[:length])
        assert tablet.status("take-in", str(path)) == 2
    assert tablet.json("dives") == []


def test_without_a_club_one_is_told_so(weekend, capsys):
    assert weekend.status("sync") == 2
    assert "joined no club" in capsys.readouterr().err
    assert weekend.json("leave") == {"left": False, "told": False}


def test_dives_are_shown_to_nobody_without_a_club(weekend, capsys):
    dive_id = weekend.json("dives")[0]["id"]
    assert weekend.status("show-club", dive_id) == 2
    assert "join a club first" in capsys.readouterr().err
    assert weekend.json("show-club", "--withdraw", dive_id) == {"changed": [], "shown": []}
    assert weekend.status("devices") == 2
    assert "joined no club" in capsys.readouterr().err


def test_an_address_in_the_clear_is_refused_before_anything_is_sent(weekend, capsys):
    assert weekend.status("join", "http://club.example", "-code") == 2
    assert "not encrypted" in capsys.readouterr().err
    assert not Path(f"{weekend.path}.club").exists()


def test_a_club_that_is_not_there_is_told_in_one_sentence(weekend, capsys, monkeypatch):
    monkeypatch.setattr(Patience, "retry", lambda _patience: Retry(total=0, allowed_methods=None))
    assert weekend.status("join", "http://127.0.0.1:9", "code") == 2
    assert "is not reached" in capsys.readouterr().err

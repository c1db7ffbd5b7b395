"""What the club's officers do at the command line."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from logbook_app.dive.problems import LeadlineError
from logbook_app.sync.messages import Join
from server.__main__ import club
from server.club_home import ClubHome

pytestmark = pytest.mark.law

ROOT = Path(__file__).parents[2]


@pytest.fixture
def folder(tmp_path) -> Path:
    return tmp_path / "club"


def told(folder: Path, *arguments: str) -> Result:
    return CliRunner().invoke(club, ["--home", str(folder), *arguments])


def member_of(folder: Path) -> str:
    return told(folder, "members").output.split()[0]


def test_an_invited_member_is_listed_with_the_device_that_joined(folder):
    code = told(folder, "invite", "Ada", "--signs-as", "instructor").output.splitlines()[-1]
    home = ClubHome(folder)
    with home.store.change():
        assert home.accounts.join(Join(code, "ab" * 32, "Ada's tablet"), home.now_ms())
    home.close()
    listed = told(folder, "members").output
    assert "Ada, member, instructor" in listed
    assert "Ada's tablet" in listed


def test_a_second_invitation_is_for_the_same_member(folder):
    told(folder, "invite", "Ada")
    told(folder, "invite", "Ada")
    assert told(folder, "members").output.count("Ada") == 1


def test_erase_and_revoke_name_what_they_do_not_find(folder):
    told(folder, "invite", "Ada")
    for arguments in (("erase", "nobody"), ("revoke", member_of(folder), "no-device")):
        result = told(folder, *arguments)
        assert isinstance(result.exception, LeadlineError)
        assert "members lists them" in str(result.exception)
    assert told(folder, "erase", member_of(folder)).exit_code == 0
    assert not told(folder, "members").output


def test_a_backup_goes_into_a_new_file_alone(folder, tmp_path):
    told(folder, "invite", "Ada")
    backup = tmp_path / "backup.sqlite"
    assert told(folder, "backup", str(backup)).exit_code == 0
    assert isinstance(told(folder, "backup", str(backup)).exception, LeadlineError)
    told(folder, "invite", "Bo")
    assert told(folder, "restore", str(backup)).exit_code == 0
    assert "Bo" not in told(folder, "members").output


def test_a_database_that_was_put_back_by_hand_is_not_served(folder, tmp_path):
    told(folder, "invite", "Ada")
    told(folder, "backup", str(tmp_path / "backup.sqlite"))
    told(folder, "restore", str(tmp_path / "backup.sqlite"))
    for path in folder.glob("club.sqlite*"):
        path.unlink()
    shutil.copyfile(tmp_path / "backup.sqlite", folder / "club.sqlite")
    with pytest.raises(LeadlineError, match="put back by hand"):
        ClubHome(folder)


def test_tidying_is_a_command(folder):
    assert told(folder, "tidy").exit_code == 0


def test_leadline_serve_hands_over_to_the_server(folder):
    command = [sys.executable, "-m", "logbook_app", "serve", "--home", str(folder), "invite", "Ada"]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    assert "good for one device" in ran.stdout
    with sqlite3.connect(folder / "club.sqlite") as connection:
        assert connection.execute("SELECT name FROM members").fetchall() == [("Ada",)]
    connection.close()
    command[-2:] = ["erase", "nobody"]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert (ran.returncode, "members lists them" in ran.stderr) == (2, True)

"""`leadline experience` and `leadline certificates`: in words and as JSON, and a club's own file."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from at_the_command_line import CommandLine

from logbook_app.dive.record import Dive, Role
from logbook_app.logbook import Logbook
from logbook_app.store.logbook_store import LogbookStore

OWN = """
program = "Harbour club"
source = "Rules of the club"
edition = "4"

[[set]]
id = "harbour"
name = "Harbour dives"

[[set.requirement]]
id = "led"
name = "Led dives"
dives = 2
where = { role = "leading", from_m = 10 }
"""


@pytest.fixture
def dived(cli: CommandLine) -> CommandLine:
    """Three dives: one led, one led but shallow, one of which nobody wrote what for."""
    logbook = Logbook.open(cli.path)
    began = datetime(2026, 11, 1, 10, tzinfo=UTC)
    roles_depths = ((Role.LEADING, 15.0), (Role.LEADING, 9.6), (None, 20.0))
    logbook.keep_dives(
        [
            Dive(
                id=f"{number:032x}",
                number=number,
                began_at=began + timedelta(days=number),
                duration_min=40.0,
                max_depth_m=depth_m,
                role=role,
                estimate=True,
            )
            for number, (role, depth_m) in enumerate(roles_depths, start=1)
        ]
    )
    logbook.close()
    return cli


@pytest.fixture
def own_file(tmp_path: Path) -> Path:
    path = tmp_path / "harbour.toml"
    path.write_text(OWN, encoding="utf-8")
    return path


def test_every_set_is_listed_with_what_is_met_and_who_decides(dived: CommandLine) -> None:
    lines = dived("experience", "--on", "2026-11-14").stdout.splitlines()
    assert lines[0] == "3 dives, 2.0 h"
    (line,) = (line for line in lines if line.strip().startswith("noaa-proficiency"))
    assert "The logged part is met." in line
    assert all(
        line.endswith("An instructor or board decides.") for line in lines[1:] if line.startswith("  ")
    )
    told = dived.json("experience")
    assert (told["dives"], told["hours"]) == (3, 2.0)
    assert {"id", "name", "source", "edition", "reading", "logged_part_met"} <= told["sets"][0].keys()


def test_one_set_with_its_evidence(dived: CommandLine, own_file: Path) -> None:
    printed = dived("experience", "--toward", "harbour", "--rules", str(own_file)).stdout
    assert "Led dives: not met, 1 dive, 2 asked" in printed
    assert "1 more dive, 10 m or deeper, leading the dive." in printed
    assert "#1  2026-11-02  15.0 m  40 min" in printed
    assert "#2  2026-11-03  9.6 m  40 min: 9.6 m; asked: 10 m or deeper" in printed
    assert "#3  2026-11-04  20.0 m  40 min: what you were there for is not written down" in printed
    told = dived.json("experience", "--toward", "harbour", "--rules", str(own_file))
    (asked,) = told["requirements"]
    assert (asked["name"], asked["have"], asked["need"], asked["met"]) == ("Led dives", 1, 2, False)
    assert asked["counting"] == [f"{1:032x}"]
    assert [each["why_not"] for each in asked["nearly"]] == ["depth", "role"]


def test_what_comes_from_memory_says_so(dived: CommandLine) -> None:
    assert "From memory; check with your club." in dived("experience", "--toward", "aaus-60").stdout


def test_a_clubs_file_is_kept_and_taken_away(dived: CommandLine, own_file: Path) -> None:
    assert "harbour" in dived("experience", "--keep", str(own_file)).stdout
    assert "harbour" in dived("experience").stdout
    assert "harbour" in dived("experience", "--keep", str(own_file)).stdout  # again: in place of the first
    assert "harbour" not in dived("experience", "--drop", "harbour.toml").stdout
    assert dived.status("experience", "--drop", "harbour.toml") == 2


def test_a_wrong_file_keeps_nothing(
    dived: CommandLine, own_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own_file.write_text(OWN.replace("dives = 2", "dives = -2"), encoding="utf-8")
    assert dived.status("experience", "--keep", str(own_file)) == 2
    assert capsys.readouterr().err == (
        "harbour.toml, the set “harbour”, the requirement “led”: dives is -2; "
        "write a whole number from 1 to 100000.\n"
    )
    own_file.write_bytes(b"\xff\xfe\x00")
    assert dived.status("experience", "--rules", str(own_file)) == 2
    assert capsys.readouterr().err == "harbour.toml is not a text in UTF-8; save it again as one.\n"
    assert dived.status("experience", "--rules", str(own_file.with_name("none.toml"))) == 2
    assert "cannot be read" in capsys.readouterr().err
    assert "harbour" not in dived("experience").stdout


def test_a_set_that_there_is_not(dived: CommandLine) -> None:
    result = dived("experience", "--toward", "moon")
    assert result.exit_code == 2
    assert "There is no set moon; there are: aaus-diver" in result.output


def test_certificates_and_examinations(cli: CommandLine) -> None:
    assert cli("certificates").stdout == "Nothing is written down yet.\n"
    assert "Two stars  1 May 2025" in cli("certificates", "--add", "cmas-2", "--issued", "2025-05-01").stdout
    assert cli("certificates", "--examined", "medical=2026-03-01", "--born", "1990-02-03").exit_code == 0
    told = cli.json("certificates")
    assert (told["born_on"], told["examined"]) == ("1990-02-03", {"medical": "2026-03-01"})
    asked = cli.json("experience", "--toward", "aaus-active", "--on", "2026-11-14")["requirements"]
    (medical,) = (each for each in asked if each["id"] == "medical")
    assert (medical["verdict"], medical["until"]) == ("met", "2030-02-02")  # the fortieth birthday
    (certificate,) = told["certificates"]
    assert (
        cli("certificates", "--remove", certificate["id"], "--examined", "medical=", "--born", "").exit_code
        == 0
    )
    assert cli("certificates").stdout == "Nothing is written down yet.\n"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--examined", "eyes=2026-01-01"), "eyes=2026-01-01 is no examination"),
        (("--examined", "medical=soon"), "soon is no day"),
        (("--born", "3 May"), "3 May is no day"),
        (("--add", " "), "A certificate needs a name"),
        (("--remove", "none"), "There is no certificate none."),
        (("--born", "2199-01-01"), "This day has not come yet"),
        (("--examined", "medical=1066-10-14"), "A day in the year 1066 cannot be"),
    ],
)
def test_what_cannot_be_written_down(
    cli: CommandLine, arguments: tuple[str, ...], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.status("certificates", *arguments) == 2
    assert words in capsys.readouterr().err


def test_what_another_program_kept_is_put_beside(cli: CommandLine) -> None:
    """Neither facts nor rules that cannot be read here are lost, and neither stops what comes after."""
    cli("certificates", "--add", "cmas-1")
    newer = '{"certificates": [{"grade": "cmas-9", "hologram": true}]}'
    store = LogbookStore(cli.path)
    store.set_settings({"diver's facts": newer, "own requirements": '{"new.toml": "program = 1"}'})
    store.close()
    assert cli("certificates").stdout == "Nothing is written down yet.\n"
    assert cli("certificates", "--add", "cmas-2").exit_code == 0
    store = LogbookStore(cli.path)
    assert store.settings()["diver's facts, unread"] == newer
    store.close()
    logbook = Logbook.open(cli.path)
    assert logbook.experience.kept_troubles() == {
        "new.toml": "new.toml: it has 0 sets of requirements; write between 1 and 200 as [[set]]."
    }
    assert [each.id for each in logbook.experience.keep_rules("harbour.toml", OWN)] == ["harbour"]
    assert [kept.file_name for kept in logbook.experience.kept_rules()] == ["harbour.toml", "new.toml"]
    logbook.close()


def test_what_is_known_of_the_diver_is_told_to_nobody(dived: CommandLine, tmp_path: Path) -> None:
    """No change for another device comes of it, and no file that leaves has it."""
    store = LogbookStore(dived.path)
    store.begin_sharing()
    store.close()
    facts = (
        "--add",
        "harbour-grade",
        "--number",
        "4711",
        "--born",
        "1961-07-08",
        "--examined",
        "medical=2026-03-01",
    )
    assert dived("certificates", *facts).exit_code == 0
    with closing(sqlite3.connect(dived.path)) as connection:
        told = " ".join(row[0] for row in connection.execute("SELECT content FROM sync_changes"))
    left = [tmp_path / name for name in ("out.json", "out.uddf", "out.csv")]
    for path in left:
        assert dived("export", str(path)).exit_code == 0
    told += "".join(path.read_text(encoding="utf-8") for path in left)
    assert "leading" in told  # what the dives say does leave
    assert not [word for word in ("harbour-grade", "4711", "1961-07-08", "2026-03-01") if word in told]

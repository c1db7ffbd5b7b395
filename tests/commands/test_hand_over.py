"""`leadline hand-over` and the import of what it wrote, from one logbook into another."""

from __future__ import annotations

from pathlib import Path

import pytest
from at_the_command_line import CommandLine


def test_a_dive_goes_out_as_a_picture_and_comes_in_again(weekend: CommandLine, tmp_path: Path) -> None:
    picture = tmp_path / "code.png"
    told = weekend.json("hand-over", "#214", str(picture), "--name", "Ada Brix")
    assert isinstance(told, dict)
    assert (told["diver"], told["path"]) == ("Ada Brix", str(picture))
    assert told["version"] <= 25
    assert picture.read_bytes().startswith(b"\x89PNG")
    brought = weekend.json("import", str(picture))
    assert isinstance(brought, dict)
    assert len(brought["added"]) == 1
    assert "dive of Ada" in weekend("dives").stdout


def test_without_a_name_it_is_refused_in_a_sentence(
    weekend: CommandLine, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert weekend.status("hand-over", "#214", str(tmp_path / "code.png")) == 2
    assert "Write down your name first" in capsys.readouterr().err
    assert not (tmp_path / "code.png").exists()


def test_it_says_what_stays_at_home(weekend: CommandLine, tmp_path: Path) -> None:
    said = weekend("hand-over", "#214", str(tmp_path / "code.png"), "--name", "Ada").stdout
    assert "Not in the code: temperatures along the dive" in said

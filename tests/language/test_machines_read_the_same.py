"""What machines read is the same in every language: files that leave, and JSON at the command line."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from logbook_app.catalogues import use_language
from logbook_app.commands.command_line import Tools, leadline
from logbook_app.logbook import Logbook
from tests.language.catalogue import ROOT

NOW = datetime(2026, 11, 14, 13, 7, tzinfo=UTC)
WEEKEND = ROOT / "demo_data" / "last_weekend.uddf"


@pytest.fixture(params=["en", "de"])
def written(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """The weekend read and written again by a diver of each language, into a folder of its own."""
    folder = tmp_path / request.param
    folder.mkdir()
    logbook = Logbook.open(folder / "a.leadline", now=lambda: NOW)
    logbook.change_settings(replace(logbook.settings(), language=request.param))
    use_language(request.param)
    logbook.import_files([WEEKEND])
    for ending in ("uddf", "csv", "json"):
        logbook.export(folder / f"dives.{ending}")
    logbook.close()
    yield request.param, folder
    use_language("en")


def _in_english(tmp_path: Path) -> Path:
    folder = tmp_path / "plain"
    folder.mkdir(exist_ok=True)
    use_language("en")
    logbook = Logbook.open(folder / "a.leadline", now=lambda: NOW)
    logbook.import_files([WEEKEND])
    for ending in ("uddf", "csv", "json"):
        logbook.export(folder / f"dives.{ending}")
    logbook.close()
    return folder


@pytest.mark.parametrize("ending", ["uddf", "csv", "json"])
def test_a_file_that_leaves_is_the_same(written: tuple[str, Path], tmp_path: Path, ending: str) -> None:
    _language, folder = written
    plain = _in_english(tmp_path)
    assert (folder / f"dives.{ending}").read_bytes() == (plain / f"dives.{ending}").read_bytes()


@pytest.mark.parametrize("asked", [("dives",), ("surface",), ("limits",), ("dive", "#214"), ("check",)])
def test_json_at_the_command_line_is_the_same(
    written: tuple[str, Path], tmp_path: Path, asked: tuple[str, ...]
) -> None:
    _language, folder = written
    at = ("--at", "2026-11-14T14:07+01:00") if asked[0] in ("surface", "limits") else ()
    answers = [_json(path / "a.leadline", *asked, *at) for path in (folder, _in_english(tmp_path))]
    assert answers[0] == answers[1]


def test_sentences_at_the_command_line_are_in_the_language_of_the_logbook(
    written: tuple[str, Path],
) -> None:
    language, folder = written
    said = _run(folder / "a.leadline", "surface", "--at", "2026-11-14T14:07+01:00").output
    assert ("Oberflächenpause" in said) == (language == "de")


def _json(path: Path, *arguments: str) -> object:
    return json.loads(_run(path, *arguments, "--json").stdout)


def _run(path: Path, *arguments: str):
    tools = Tools(open_logbook=Logbook.open, open_app=lambda _path: None)
    return CliRunner().invoke(leadline, ["--logbook", str(path), *arguments], obj=tools)


def test_the_help_of_a_command_is_said_in_the_language_and_its_english_stays() -> None:
    """Asking in one language must not spoil the answer in the next."""
    for language, words in (("de", "Nur diese Tauchgänge."), ("en", "Only these dives.")):
        use_language(language)
        assert words in CliRunner().invoke(leadline, ["export", "--help"]).output

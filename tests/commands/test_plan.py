"""`leadline plan`: after the demo's last weekend, and on an empty logbook."""

from __future__ import annotations

import pytest
from at_the_command_line import CommandLine
from pypdf import PdfReader

from logbook_app.logbook import Logbook

AT = "2026-11-14T14:00+01:00"


def test_a_plan_after_the_weekend(weekend: CommandLine) -> None:
    arguments = ("--leg", "20", "25", "--cylinder", "12", "200", "--at", AT)
    told = weekend.json("plan", *arguments)
    assert isinstance(told, dict)
    assert told["began_at"].startswith("2026-11-14T")
    assert told["steps"][0]["doing"] == "down"
    assert told["cylinders"][0]["needed_l"] > 0
    words = weekend("plan", *arguments).stdout
    assert "Run time" in words
    assert "not advice under water" in words


def test_what_is_carried_counts(weekend: CommandLine) -> None:
    legs = ("plan", "--leg", "30", "8", "--minute-volume", "16")
    soon = weekend.json(*legs, "--at", AT)
    late = weekend.json(*legs, "--at", "2026-11-20T14:00+01:00")
    assert isinstance(soon, dict)
    assert isinstance(late, dict)
    assert soon["load_end"] > late["load_end"]
    assert soon["no_stop_least_min"] < late["no_stop_least_min"]


def test_without_a_dive_no_minute_volume_is_known(cli: CommandLine) -> None:
    assert "give --minute-volume" in cli("plan", "--leg", "18", "20").stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "Missing option"),
        (("--leg", "18", "0"), "no time for a leg"),
        (("--leg", "60", "1"), "takes 3.0 min"),
        (("--leg", "18", "20", "--cylinder", "12", "900"), "A start pressure"),
        (
            ("--leg", "18", "20", "--cylinder", "12", "200", "--cylinder", "7", "200"),
            "more cylinders than gases",
        ),
    ],
)
def test_what_is_refused(
    cli: CommandLine, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], words: str
) -> None:
    assert cli.status("plan", *arguments) == 2
    assert words in capsys.readouterr().err


def test_a_plan_as_a_card(weekend: CommandLine) -> None:
    path = weekend.folder / "card.pdf"
    said = weekend("plan", "--leg", "20", "25", "--at", AT, "--slate", str(path)).stdout
    assert "Run time" in said
    (page,) = PdfReader(path).pages
    words = page.extract_text()
    assert "Sat 14 Nov 2026, 14:00 (UTC+1)" in words
    assert "25:00" in words
    assert "not advice under water" in " ".join(words.split())


def test_a_card_is_not_written_over_the_logbook(
    weekend: CommandLine, capsys: pytest.CaptureFixture[str]
) -> None:
    before = weekend.json("dives")
    assert weekend.status("plan", "--leg", "20", "25", "--at", AT, "--slate", str(weekend.path)) != 0
    assert "is the logbook itself" in capsys.readouterr().err
    assert weekend.json("dives") == before


def test_a_plan_is_kept_for_the_dive_that_follows(cli: CommandLine) -> None:
    cli("plan", "--leg", "20", "25", "--keep")
    logbook = Logbook.open(cli.path)
    card = logbook.pre_dive.waiting()
    logbook.close()
    assert card is not None
    assert card.planned_line is not None
    assert card.planned_line.max_depth_m == 20.0

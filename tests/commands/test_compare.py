"""`leadline compare` on the demo's recordings: a buddy's, and one whose clock is an hour wrong."""

from __future__ import annotations

import pytest
from at_the_command_line import ROOT, CommandLine

BUDDIES = ROOT / "demo_data" / "buddies"


@pytest.fixture
def with_buddies(weekend: CommandLine) -> CommandLine:
    for name in ("Imke Rieselang", "Kofi Adumreh"):
        recording = BUDDIES / f"{name.lower().replace(' ', '_')}.uddf"
        assert weekend("import", str(recording), "--diver", name).exit_code == 0
    return weekend


def dive_of(cli: CommandLine, diver: str, day: str) -> str:
    lines = cli("dives").stdout.splitlines()
    return next(line.split()[-1] for line in reversed(lines) if diver in line and day in line)


def test_a_buddy_beside_the_owner(with_buddies: CommandLine) -> None:
    buddy = dive_of(with_buddies, "dive of Imke", "2026-11-14")
    told = with_buddies.json("compare", "#214", buddy)
    assert isinstance(told, dict)
    assert told["one_dive"] == "same"
    assert told["largest_gap_m"] > told["mean_gap_m"] > 0
    assert {"clock_offset_s", "apart", "leader", "others"} <= told.keys()
    assert [side["dive_id"] for side in (told["leader"], told["others"][0]["side"])] != [buddy, buddy]
    words = with_buddies("compare", "#214", buddy).stdout
    assert "Imke Rieselang: The shapes are those of one dive." in words
    assert "Greatest depth" in words


def test_the_series_of_both(with_buddies: CommandLine) -> None:
    buddy = dive_of(with_buddies, "dive of Imke", "2026-11-14")
    told = with_buddies.json("compare", "#214", buddy, "--series")
    assert isinstance(told, dict)
    assert len(told["time_s"]) == len(told["leader_depth_m"]) == len(told["depth_m"]) > 1000


def test_the_limits_apart(with_buddies: CommandLine) -> None:
    buddy = dive_of(with_buddies, "dive of Imke", "2026-11-14")
    none = with_buddies.json("compare", "#214", buddy, "--apart-depth", "20")
    some = with_buddies.json("compare", "#214", buddy, "--apart-depth", "0.5", "--apart-time", "10")
    assert isinstance(none, dict)
    assert isinstance(some, dict)
    assert none["apart"] == []
    assert some["apart"]


def test_a_dive_of_another_day_is_not_called_the_same(with_buddies: CommandLine) -> None:
    other = dive_of(with_buddies, "dive of Kofi", "2026-10-24")
    told = with_buddies.json("compare", "#214", other)
    assert isinstance(told, dict)
    assert told["laid_by"] == "clocks"
    assert told["largest_gap_m"] is None
    assert "share no time" in with_buddies("compare", "#214", other).stdout


@pytest.mark.parametrize(
    ("named", "words"),
    [(("#214",), "Missing argument"), (("#214", "#214"), "with itself"), (("#214", "nobody"), "nobody")],
)
def test_what_cannot_be_compared(
    with_buddies: CommandLine, capsys: pytest.CaptureFixture[str], named: tuple[str, ...], words: str
) -> None:
    assert with_buddies.status("compare", *named) == 2
    assert words in capsys.readouterr().err

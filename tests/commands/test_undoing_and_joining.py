"""Taking back, making two records one and moving clocks, from the command line."""

from __future__ import annotations

from datetime import datetime

import pytest
from at_the_command_line import WEEKEND, CommandLine

from logbook_app.dive.hand_entry import HandEntry
from logbook_app.logbook import Logbook


def test_import_says_how_to_take_it_back_and_undo_import_does(cli):
    said = cli("import", str(WEEKEND)).stdout
    assert "To take all of it back: leadline undo-import 1" in said
    (kept,) = cli.json("imports")
    assert (kept["import_id"], kept["kind"], kept["undone_at"]) == (1, "import", None)
    assert sorted(kept["report"]["added"]) == kept["dives"]
    undone = cli.json("undo-import", "1")
    assert undone["dives"] == kept["dives"]
    assert cli.json("dives") == []
    assert cli.json("imports")[0]["undone_at"] is not None
    assert "2 added, 0 joined, taken back" in cli("imports").stdout


def test_import_json_names_the_import_and_its_offers(cli):
    report = cli.json("import", str(WEEKEND))
    assert report["import_id"] == 1
    assert report["offers"] == []
    assert [note["what"] for note in report["notes"]] == ["5 pieces of kit came with it."]
    assert cli.json("import", str(WEEKEND))["import_id"] is None


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("undo-import", "9"), "There is no import 9"),
        (("undo-import", "nine"), "is not a valid integer"),
        (("same-dive", "#213", "#213"), "name two different dives"),
        (("same-dive", "#213", "nobody"), "nobody"),
        (("shift-clock", "1h", "#213"), "Write it as +01:00"),
        (("shift-clock", "+01:00", "nobody"), "nobody"),
        (("shift-clock", "+01:00"), "ID..."),
        (("lead-with", "#213", "other"), "no such recording"),
    ],
)
def test_what_cannot_be_done_is_one_sentence_and_changes_nothing(weekend, capfd, arguments, words):
    before = weekend.json("dives"), weekend.json("imports")
    assert weekend.status(*arguments) == 2
    said = capfd.readouterr().err
    assert words in said
    assert "Traceback" not in said
    assert (weekend.json("dives"), weekend.json("imports")) == before


@pytest.mark.parametrize(("shift", "minutes"), [("+01:00", 60), ("-24:00", -1440), ("+00:30", 30)])
def test_shift_clock_moves_the_starts_and_can_be_taken_back(weekend, shift, minutes):
    before = weekend.json("dives")
    moved = weekend.json("shift-clock", shift, "#213", "#214")
    assert len(moved["dives"]) == 2
    after = weekend.json("dives")
    for old, new in zip(before, after, strict=True):
        assert _minutes(new["began_at"]) - _minutes(old["began_at"]) == minutes
    weekend.json("undo-import", str(moved["import_id"]))
    assert weekend.json("dives") == before


def _minutes(instant: str) -> float:
    return datetime.fromisoformat(instant).timestamp() / 60


def test_a_hand_entry_is_offered_and_made_one_with_its_recording(cli):
    recorded = Logbook.open(cli.folder / "other.leadline")
    recorded.import_files([WEEKEND])
    dive = recorded.dives()[0]
    recorded.close()
    logbook = Logbook.open(cli.path)
    logbook.add_by_hand(
        HandEntry(
            began_local=dive.began_local,
            duration_min=round(dive.duration_min),
            max_depth_m=round(dive.max_depth_m),
            notes="Written at the dock.",
        )
    )
    logbook.close()
    (offer,) = cli.json("import", str(WEEKEND))["offers"]
    assert offer["kind"] == "same-dive"
    assert f"leadline same-dive {offer['keep']} {offer['other']}" in _words_of(cli)
    made_one = cli.json("same-dive", offer["keep"], offer["other"])
    assert cli.json("dive", offer["keep"])["dive"]["notes"].endswith("Written at the dock.")
    assert len(cli.json("dives")) == 2
    assert "two records made one" in cli("imports").stdout
    cli.json("undo-import", str(made_one["import_id"]))
    assert len(cli.json("dives")) == 3


def _words_of(cli: CommandLine) -> str:
    """Return what the same import says in words, after it was taken back."""
    cli.json("undo-import", "1")
    return cli("import", str(WEEKEND)).stdout


def test_a_dive_tells_what_was_mended(weekend):
    assert weekend.json("dive", "#213")["analysis"]["mended"] == []

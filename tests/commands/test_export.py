"""`leadline export`: the ending names the form, the count is what was written, trouble is one sentence."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from defusedxml.ElementTree import parse

from logbook_app.commands.command_line import Tools, leadline, run
from logbook_app.leaving_dives import samples_to_leave
from logbook_app.logbook import Logbook
from logbook_app.store.logbook_store import LogbookStore

ROOT = Path(__file__).parents[2]
WEEKEND = ROOT / "demo_data" / "last_weekend.uddf"


class Exporting:
    """The command line on one logbook file that holds the two dives of a weekend."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.tools = Tools(open_logbook=Logbook.open, open_app=lambda _path: None)
        self("import", str(WEEKEND))
        self.dives = self.json("dives")

    def __call__(self, *arguments: str, logbook: str = "a.leadline") -> Result:
        path = str(self.folder / logbook)
        return CliRunner().invoke(leadline, ["--logbook", path, *arguments], obj=self.tools)

    def json(self, *arguments: str, logbook: str = "a.leadline") -> object:
        result = self(*arguments, "--json", logbook=logbook)
        assert result.exit_code in (0, 1), result.output
        return json.loads(result.stdout)

    def status(self, *arguments: str) -> int:
        return run(["--logbook", str(self.folder / "a.leadline"), *arguments], self.tools)


@pytest.fixture
def weekend(tmp_path: Path) -> Exporting:
    return Exporting(tmp_path)


@pytest.mark.parametrize("ending", ["uddf", "csv", "json", "UDDF"])
def test_every_form_says_how_many_dives_it_wrote(weekend, ending):
    path = weekend.folder / f"out.{ending}"
    assert weekend.json("export", str(path)) == {"written": 2}
    assert path.stat().st_size > 0
    assert [each.name for each in weekend.folder.glob("out*")] == [path.name]


def test_words_say_the_count_and_the_file(weekend):
    path = weekend.folder / "out.uddf"
    assert weekend("export", str(path), "--dives", "#213").output == f"Wrote 1 dive to {path}.\n"
    assert weekend("export", str(path)).output == f"Wrote 2 dives to {path}.\n"


def test_only_the_named_dives_leave_each_once_in_order_of_their_start(weekend):
    first, second = (dive["id"] for dive in weekend.dives)
    path = weekend.folder / "out.json"
    assert weekend.json("export", str(path), "--dives", f"#214, {first},{second}") == {"written": 2}
    told = json.loads(path.read_text(encoding="utf-8"))["dives"]
    assert [entry["dive"]["id"] for entry in told] == [first, second]
    assert weekend.json("export", str(path), "--dives", second) == {"written": 1}


def test_uddf_holds_the_dives_and_csv_a_row_for_each(weekend):
    weekend("export", str(weekend.folder / "out.uddf"))
    weekend("export", str(weekend.folder / "out.csv"))
    numbers = parse(weekend.folder / "out.uddf").iter("{http://www.streit.cc/uddf/3.2/}divenumber")
    assert [number.text for number in numbers] == ["213", "214"]
    with (weekend.folder / "out.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["number"], row["id"]) for row in rows] == [
        (str(dive["number"]), dive["id"]) for dive in weekend.dives
    ]


def test_samples_leave_as_a_folder_with_a_table_for_each_dive(weekend):
    folder = weekend.folder / "samples"
    assert weekend.json("export", str(folder), "--samples") == {"written": 2}
    names = sorted(path.name for path in folder.iterdir())
    assert names == ["2026-11-14 0820 #213.csv", "2026-11-14 1105 #214.csv"]
    assert weekend("export", str(folder), "--samples", "--dives", "#213").output == (
        f"Wrote the samples of 1 dive to {folder}.\n"
    )


@pytest.mark.parametrize("form", ["out.uddf", "out.json", "out.csv", "samples"])
def test_what_left_adds_nothing_to_the_logbook_that_it_came_from(weekend, form):
    path = weekend.folder / form
    weekend("export", str(path), *(["--samples"] if form == "samples" else []))
    files = sorted(map(str, path.iterdir())) if path.is_dir() else [str(path)]
    report = weekend.json("import", *files)
    assert (report["added"], report["joined"]) == ([], [])
    assert sorted(report["already_there"]) == sorted(dive["id"] for dive in weekend.dives)
    assert weekend.json("dives") == weekend.dives


@pytest.mark.parametrize("form", ["out.uddf", "out.json"])
def test_what_left_is_the_same_logbook_elsewhere(weekend, form):
    path = weekend.folder / form
    weekend("export", str(path))
    report = weekend.json("import", str(path), logbook="b.leadline")
    assert report["problems"] == []
    assert weekend.json("dives", logbook="b.leadline") == weekend.dives
    for dive in weekend.dives:
        asked = ("dive", dive["id"], "--series")
        assert weekend.json(*asked, logbook="b.leadline") == weekend.json(*asked)


def test_a_dive_written_by_hand_and_one_in_the_bin_behave(weekend):
    """A hand entry has no recording to be known by, and a deleted dive stays deleted."""
    path = weekend.folder / "out.uddf"
    weekend("export", str(path))
    logbook = Logbook.open(weekend.folder / "a.leadline")
    logbook.delete_dive(weekend.dives[0]["id"])
    logbook.close()
    report = weekend.json("import", str(path))
    assert report["added"] == []
    assert any("is in the bin" in problem["what"] for problem in report["problems"])
    assert weekend.json("export", str(path)) == {"written": 1}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("export", "dives.doc"), "dives.doc: this ending is not written. Name a file that ends in"),
        (("export", "dives"), "ends in"),
        (("export", "out.uddf", "--dives", "nothing-like-it"), "nothing-like-it"),
        (("export", "out.uddf", "--dives", "#9"), "0 dives have the number 9"),
        (("export", "/no/such/folder/out.uddf"), "cannot be written"),
        (("export", "/no/such/folder/out.csv"), "cannot be written"),
    ],
)
def test_trouble_is_one_sentence_and_status_2_and_nothing_is_written(
    weekend, capfd, monkeypatch, arguments, words
):
    monkeypatch.chdir(weekend.folder)
    before = sorted(path.name for path in weekend.folder.iterdir())
    assert weekend.status(*arguments) == 2
    said = capfd.readouterr()
    assert words in said.err
    assert said.out == ""
    assert sorted(path.name for path in weekend.folder.iterdir()) == before


def test_a_folder_in_the_place_of_the_file_is_told_and_left_alone(weekend, capfd):
    path = weekend.folder / "out.uddf"
    path.mkdir()
    assert weekend.status("export", str(path)) == 2
    assert "cannot be written" in capfd.readouterr().err
    assert list(weekend.folder.glob("*.unfinished")) == []


def test_the_logbook_itself_is_never_written_over(weekend, capfd):
    home = weekend.folder / "a.json"
    (weekend.folder / "a.leadline").rename(home)
    before = home.read_bytes()
    assert run(["--logbook", str(home), "export", str(home)], weekend.tools) == 2
    assert "is the logbook itself" in capfd.readouterr().err
    assert home.read_bytes() == before


@pytest.mark.parametrize("form", ["out.uddf", "out.json"])
def test_the_whole_of_a_recording_that_was_split_goes_along(tmp_path, form):
    """Two dives of ten minutes, half an hour apart at the surface, in one recording of 50 minutes."""
    rows = [(at, 10.0 if 60 <= at <= 600 or 2460 <= at <= 2940 else 0.0) for at in range(0, 3001, 20)]
    lines = "".join(f"{at},{depth}\n" for at, depth in rows)
    table = f"# began: 2031-05-04T09:30Z\ntime (s),depth (m)\n{lines}"
    (tmp_path / "day.csv").write_text(table, encoding="utf-8")
    home, away = Logbook.open(tmp_path / "home"), Logbook.open(tmp_path / "away")
    home.import_files([tmp_path / "day.csv"])
    assert len(home.dives()) == 2
    home.export(tmp_path / form)
    away.import_files([tmp_path / form])
    assert away.dives() == home.dives()
    home.close()
    away.close()
    brought, left = LogbookStore(tmp_path / "away"), LogbookStore(tmp_path / "home")
    samples = [samples_to_leave(left, dive) for dive in left.dives()]
    assert [samples_to_leave(brought, dive) for dive in left.dives()] == samples
    assert [len(profiles) for profiles in samples] == [2, 1]
    brought.close()
    left.close()

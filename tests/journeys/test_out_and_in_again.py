"""The whole demo logbook leaves and comes back elsewhere: the same dives, the same figures at the dock.

Nothing is approximate here: what a diver reads after the move must be what was read before it, to the
last digit, and a file that is read back at home must add nothing.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from logbook_app.commands.command_line import Tools, leadline
from logbook_app.demo_logbook import make_demo_logbook
from logbook_app.logbook import Logbook

AT = "2026-11-14T14:07:00+01:00"

pytestmark = pytest.mark.law


class Place:
    """A folder with logbook files in it, asked through the command line."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.home = folder / "home.leadline"
        make_demo_logbook(self.home)
        self.surface = self.ask(self.home, "surface", "--at", AT)
        self.last_dive = self.ask(self.home, "dive", "#214", "--series")

    def ask(self, logbook: Path, *arguments: str) -> object:
        tools = Tools(open_logbook=Logbook.open, open_app=lambda _path: None)
        line = ["--logbook", str(logbook), *arguments, "--json"]
        result = CliRunner().invoke(leadline, line, obj=tools)
        assert result.exit_code in (0, 1), result.output
        return json.loads(result.stdout)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Place:
    return Place(tmp_path_factory.mktemp("out and in"))


@pytest.mark.parametrize("ending", ["uddf", "json"])
def test_the_demo_logbook_goes_out_and_in_and_every_figure_stays(place, ending):
    out, away = place.folder / f"all.{ending}", place.folder / f"away-{ending}.leadline"
    dives = place.ask(place.home, "dives")
    assert place.ask(place.home, "export", str(out)) == {"written": len(dives)}

    report = place.ask(away, "import", str(out))
    assert report["problems"] == []
    assert len(report["added"]) == len(dives)
    assert place.ask(away, "dives") == dives
    assert place.ask(away, "surface", "--at", AT) == place.surface
    assert place.ask(away, "dive", "#214", "--series") == place.last_dive

    home, moved = Logbook.open(place.home), Logbook.open(away)
    try:
        assert moved.dives() == home.dives()
        for dive in home.dives():
            assert moved.profile_of(dive) == home.profile_of(dive)
    finally:
        home.close()
        moved.close()


@pytest.mark.parametrize("ending", ["uddf", "json", "csv"])
def test_read_back_at_home_it_adds_nothing(place, ending):
    out = place.folder / f"back.{ending}"
    dives = place.ask(place.home, "dives")
    place.ask(place.home, "export", str(out))
    report = place.ask(place.home, "import", str(out))
    assert (report["added"], report["joined"]) == ([], [])
    assert sorted(report["already_there"]) == sorted(dive["id"] for dive in dives)
    assert place.ask(place.home, "dives") == dives


def test_what_goes_out_of_the_second_logbook_is_what_went_out_of_the_first(place):
    first, second = place.folder / "first.json", place.folder / "second.json"
    away = place.folder / "away twice.leadline"
    place.ask(place.home, "export", str(first))
    place.ask(away, "import", str(first))
    place.ask(away, "export", str(second))
    assert _records(first) == _records(second)


def _records(path: Path) -> list[object]:
    """Return the dives of a JSON file without the figures, which are made again and never read."""
    told = json.loads(path.read_text(encoding="utf-8"))["dives"]
    return [{name: part for name, part in entry.items() if name != "analysis"} for entry in told]

"""A recording is read, somebody stood over the dive, and a club's own requirement is met by it.

The dive leaves in each form and comes back elsewhere: there it counts for the same.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from logbook_app.commands.command_line import Tools, leadline
from logbook_app.logbook import Logbook
from logbook_app.shipped_files import shipped_folder

CLUB = """
program = "Lantermere Coast Club"
source = "The club's own rules, section 2"
edition = "2026"

[[set]]
id = "lake-leader"
name = "Lake leader"

[[set.requirement]]
id = "supervised"
name = "Supervised deep dives in cold water"
dives = 1
where = { from_m = 25, supervised = true, environment = "cold water" }
"""


def ask(logbook: Path, *arguments: str) -> Any:
    tools = Tools(open_logbook=Logbook.open, open_app=lambda _path: None)
    result = CliRunner().invoke(leadline, ["--logbook", str(logbook), *arguments, "--json"], obj=tools)
    assert result.exit_code in (0, 1), result.output
    return json.loads(result.stdout)


def asked(logbook: Path) -> Any:
    (requirement,) = ask(logbook, "experience", "--toward", "lake-leader")["requirements"]
    return requirement


@pytest.mark.law
@pytest.mark.parametrize("ending", ["uddf", "json"])
def test_from_a_recording_to_a_requirement_that_is_met(tmp_path: Path, ending: str) -> None:
    home, rules = tmp_path / "home.leadline", tmp_path / "club.toml"
    rules.write_text(CLUB, encoding="utf-8")
    ask(home, "import", str(shipped_folder("demo_data") / "last_weekend.uddf"))
    ask(home, "experience", "--keep", str(rules))
    assert (asked(home)["verdict"], asked(home)["counting"]) == ("not met", [])

    ask(home, "edit", "#214", "supervised_by=Yusra Belkhattane")
    (nearly,) = asked(home)["nearly"]
    assert (nearly["why_not"], nearly["words"]) == (
        "environment",
        "no surroundings are written down; asked: cold water",
    )
    ask(home, "edit", "#214", "environments=cold water,night")
    dive_id = ask(home, "dive", "#214")["dive"]["id"]
    assert (asked(home)["verdict"], asked(home)["counting"]) == ("met", [dive_id])

    out, away = tmp_path / f"out.{ending}", tmp_path / "away.leadline"
    ask(home, "export", str(out))
    ask(away, "import", str(out))
    ask(away, "experience", "--keep", str(rules))
    assert (asked(away)["verdict"], asked(away)["counting"]) == ("met", [dive_id])

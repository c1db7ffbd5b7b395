"""The command line on a logbook of its own, for the tests that talk to it."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner, Result

from logbook_app.commands.command_line import Tools, leadline, run
from logbook_app.logbook import Logbook

ROOT = Path(__file__).parents[2]
WEEKEND = ROOT / "demo_data" / "last_weekend.uddf"


class CommandLine:
    """The command line on one logbook file in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.path = folder / "a.leadline"
        self.tools = Tools(open_logbook=Logbook.open, open_app=self._refuse_app)

    def __call__(self, *arguments: str) -> Result:
        return CliRunner().invoke(leadline, ["--logbook", str(self.path), *arguments], obj=self.tools)

    def json(self, *arguments: str) -> object:
        result = self(*arguments, "--json")
        assert result.exit_code in (0, 1), result.output
        return json.loads(result.stdout)

    def status(self, *arguments: str) -> int:
        return run(["--logbook", str(self.path), *arguments], self.tools)

    @staticmethod
    def _refuse_app(_path: Path | None) -> None:
        raise AssertionError("no app here")

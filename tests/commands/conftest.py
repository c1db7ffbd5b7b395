"""A command line on an empty logbook, and one that holds the demo's last weekend."""

from __future__ import annotations

from pathlib import Path

import pytest
from at_the_command_line import WEEKEND, CommandLine


@pytest.fixture
def cli(tmp_path: Path) -> CommandLine:
    return CommandLine(tmp_path)


@pytest.fixture
def weekend(cli: CommandLine) -> CommandLine:
    assert cli("import", str(WEEKEND)).exit_code == 0
    return cli

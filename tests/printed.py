"""Reads the printed numbers of `tests/sources`, one row for one named test case."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

SOURCES = Path(__file__).resolve().parent / "sources"


def table(name: str) -> dict[str, Any]:
    """Return a whole source, with its title, edition and label."""
    return tomllib.loads((SOURCES / f"{name}.toml").read_text(encoding="utf-8"))


def rows(name: str) -> list[Any]:
    """Return the rows of a source as named cases for `pytest.mark.parametrize`."""
    return [pytest.param(row, id=row["id"]) for row in table(name)["rows"]]

"""The published sets of requirements that ship with the program, read once."""

from __future__ import annotations

from functools import cache

from logbook_app.analysis.experience_reader import parse_requirements
from logbook_app.analysis.experience_rules import RequirementSet
from logbook_app.shipped_files import shipped_folder


@cache
def shipped_requirements() -> tuple[RequirementSet, ...]:
    """Return the sets in the order of their files.

    Raises FileNotFoundError where the installation is not whole.
    """
    sets: tuple[RequirementSet, ...] = ()
    for path in sorted((shipped_folder("assets") / "requirements").glob("*.toml")):
        sets += parse_requirements(path.read_text(encoding="utf-8"), path.name, sets)
    return sets

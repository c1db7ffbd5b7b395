"""Makes `tests/README.md`: which module rests on which source, and which test holds it to that.

    python -m tests.house.evidence_map      writes it anew

A test fails when the committed page is stale, or when a physics module has no evidence.
"""

from __future__ import annotations

import ast
import tomllib
from collections import defaultdict
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
PAGE = TESTS / "README.md"
NO_TABLE = "named at the head of the module"
KINDS = ("published", "derived", "law", "recorded")
PHYSICS = "logbook_app.physics."

INTRODUCTION = """# What the tests rest on

Read `journeys/` first: a dive from its file to the figures at the dock.

| folder | what it holds |
|---|---|
| `journeys/` | a dive all the way |
| `sources/` | the printed numbers: title, edition, page, units as printed, how they were read |
| `physics/` `analysis/` `dive/` `files/` `store/` `sync/` `commands/` `screens/` | one folder a room |
| `language/` | every sentence is translated; numbers and dates follow the language |
| `house/` | every physics docstring is a contract, the wheel is whole, this page is not stale |
| `benchmarks/` | speed as ratios in one run; `make bench`, never part of the tests |

Four kinds of evidence, marked on the test: **published** (somebody else printed the number), **derived**
(worked by hand from the published formula, or by a second calculation that shares no code), **law** (must
hold for any dive), **recorded** (today's output; verifies nothing alone).

This page is made by `python -m tests.house.evidence_map`.
"""


def evidence_page() -> str:
    """The whole page, from the modules, the sources and the tests as they are now."""
    sources, evidence = _sources_by_module(), _evidence_by_module()
    modules = sorted(set(sources) | set(evidence))
    rows = [
        f"| `{module}` | {_kinds(evidence[module])} | {'<br>'.join(sources[module]) or NO_TABLE} "
        f"| {_tests(evidence[module])} |"
        for module in modules
    ]
    table = "\n".join(("| module | evidence | printed source | tests |", "|---|---|---|---|", *rows))
    return f"{INTRODUCTION}\n## Physics: module, source, test\n\n{table}\n\n## Sources\n\n{_source_list()}\n"


def modules_without_evidence() -> set[str]:
    """Physics modules that no test with published, derived or lawful evidence imports."""
    package = TESTS.parent / "logbook_app" / "physics"
    named = {path.stem for path in package.glob("*.py")} - {"__init__"}
    held = {
        module
        for module, tests in _evidence_by_module().items()
        if set().union(*tests.values()) - {"recorded"}
    }
    return named - held


def _sources_by_module() -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for path, source in _sources():
        for module in source["checks"]:
            found[module.removeprefix(PHYSICS)].append(f"[{path.stem}](sources/{path.name})")
    return found


def _evidence_by_module() -> dict[str, dict[str, set[str]]]:
    """Module -> test file -> kinds of evidence in it."""
    found: dict[str, dict[str, set[str]]] = defaultdict(dict)
    for path in sorted((TESTS / "physics").glob("test_*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        kinds = _marks(tree)
        for module in _physics_imports(tree) if kinds else ():
            found[module][path.name] = kinds
    return found


def _marks(tree: ast.AST) -> set[str]:
    names = {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    return names & set(KINDS)


def _physics_imports(tree: ast.AST) -> set[str]:
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module == PHYSICS.rstrip("."):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith(PHYSICS):
            found.add(str(node.module).removeprefix(PHYSICS))
    return found


def _kinds(tests: dict[str, set[str]]) -> str:
    kinds = set().union(*tests.values()) if tests else set()
    return ", ".join(kind for kind in KINDS if kind in kinds)


def _tests(tests: dict[str, set[str]]) -> str:
    own = [name for name, kinds in tests.items() if kinds]
    return "<br>".join(f"`{name}`" for name in own)


def _source_list() -> str:
    rows = [
        f"| [{path.stem}](sources/{path.name}) | {source['authors']}: "
        f"{source['title']}, {source['edition']} "
        f"| {source.get('page', '')} | {source['label']} | {_row_count(source)} |"
        for path, source in _sources()
    ]
    return "\n".join(("| source | what | page | how it was read | rows |", "|---|---|---|---|---|", *rows))


def _row_count(source: dict) -> int:
    return sum(
        len(value)
        for value in source.values()
        if isinstance(value, list) and value and isinstance(value[0], dict)
    )


def _sources() -> list[tuple[Path, dict]]:
    paths = sorted((TESTS / "sources").glob("*.toml"))
    return [(path, _in_one_line(tomllib.loads(path.read_text(encoding="utf-8")))) for path in paths]


def _in_one_line(source: dict) -> dict:
    return {
        name: " ".join(value.split()) if isinstance(value, str) else value for name, value in source.items()
    }


if __name__ == "__main__":
    PAGE.write_text(evidence_page(), encoding="utf-8")

"""The device code imports only what a phone build can carry: see DEVELOPERS.md, what runs on the device."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "logbook_app"

# python-for-android has recipes for the first line, PIL is its Pillow; the second line is Android's.
# The rest is pure Python, but for what may be missing.
PACKAGED = {
    *("kivy", "numpy", "PIL", "sqlite3", "plyer"),
    *("android", "jnius"),
    "zxingcpp",  # on a desk: read_code says so where it is missing
    *("click", "defusedxml", "platformdirs", "reportlab", "requests", "segno", "sqlite_utils", "urllib3"),
    "logbook_app",
}
# What the package for a phone carries besides, because something above needs it: see tests/packaging.
CARRIED = {
    *("python3", "hostpython3", "openssl", "pyjnius", "pillow"),  # with a recipe
    *("certifi", "charset-normalizer", "idna"),  # requests
    *("click-default-group", "pluggy", "python-dateutil", "sqlite-fts4", "tabulate"),  # sqlite-utils
    "filetype",  # kivy
}
NOT_ON_A_PHONE = {"bz2", "curses", "dbm", "fcntl", "lzma", "multiprocessing", "pwd", "readline", "tkinter"}
ONLY_GUARDED = {"android", "jnius", "zxingcpp"}


def _imports(tree: ast.AST) -> Iterator[tuple[int, str, bool]]:
    guarded = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.Try) and any("ImportError" in ast.dump(h) for h in node.handlers)
        for statement in node.body
        for inner in ast.walk(statement)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name.split(".")[0], id(node) in guarded
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.lineno, node.module.split(".")[0], id(node) in guarded


def _breaches(source: str) -> list[str]:
    found = []
    for line, name, guarded in _imports(ast.parse(source)):
        known = name in PACKAGED or name in sys.stdlib_module_names
        if name in NOT_ON_A_PHONE or not known or (name in ONLY_GUARDED and not guarded):
            found.append(f"line {line}: {name}")
    return found


def test_every_module_of_the_app_can_be_packaged():
    breaches = {path.name: _breaches(path.read_text(encoding="utf-8")) for path in PACKAGE.rglob("*.py")}
    assert {name: lines for name, lines in breaches.items() if lines} == {}


def test_the_check_finds_what_it_looks_for():
    bad = "import pandas\nimport lzma\nfrom jnius import autoclass\n"
    good = "try:\n    from jnius import autoclass\nexcept ImportError:\n    autoclass = None\nimport numpy\n"
    assert len(_breaches(bad)) == 3
    assert _breaches(good) == []

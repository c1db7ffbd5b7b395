"""Kivy finds a widget's rule by the bare name of its class: two of one name would share their rules."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from pathlib import Path

SCREENS = Path(__file__).parents[2] / "logbook_app" / "screens"
RULE = re.compile(r"^<\s*([A-Z]\w*)(?:@[\w+]+)?\s*>\s*:", re.MULTILINE)


def named_twice(found: dict[str, list[str]]) -> dict[str, list[str]]:
    return {name: places for name, places in found.items() if len(places) > 1}


def test_no_two_widgets_have_one_name():
    found: dict[str, list[str]] = defaultdict(list)
    for path in SCREENS.rglob("*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and node.bases:  # the others are no widgets
                found[node.name].append(path.name)
    assert len(found) > 50
    assert named_twice(found) == {}


def test_no_two_rules_are_for_one_name():
    found: dict[str, list[str]] = defaultdict(list)
    for path in SCREENS.rglob("*.kv"):
        for name in RULE.findall(path.read_text(encoding="utf-8")):
            found[name].append(path.name)
    assert len(found) > 50
    assert named_twice(found) == {}

"""Every sentence that the program says is one that a translator was given, with all its figures."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from string import Formatter

from tests.language.catalogue import PACKAGE, calls_in_kv

SAYING = {"_", "ngettext", "pgettext", "later"}


def _calls() -> Iterator[tuple[str, ast.Call, ast.AST | None]]:
    """Every call that says something, with its place and the attribute that is taken of it."""
    for path, source in _sources():
        tree = ast.parse(source)
        taken = {id(node.value): node for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
        called = {id(node.func): node for node in ast.walk(tree) if isinstance(node, ast.Call)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SAYING:
                attribute = taken.get(id(node))
                yield f"{path}:{node.lineno}", node, called.get(id(attribute))


def _sources() -> Iterator[tuple[str, str]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        yield str(path.relative_to(PACKAGE)), path.read_text(encoding="utf-8")
    for path in sorted(PACKAGE.rglob("*.kv")):
        yield str(path.relative_to(PACKAGE)), "\n".join(calls_in_kv(Path(path).read_text(encoding="utf-8")))


def _names(text: str) -> set[str]:
    return {name for _text, name, _form, _how in Formatter().parse(text) if name is not None}


def _told(call: ast.Call) -> list[str]:
    return [argument.value for argument in call.args if isinstance(argument, ast.Constant)]


def test_no_figure_stands_in_a_sentence_before_it_is_translated():
    """An f-string would be another sentence with every figure, and none of them in the catalogue."""
    found = [place for place, call, _ in _calls() for each in call.args if isinstance(each, ast.JoinedStr)]
    assert found == []


def test_every_figure_of_a_sentence_is_given():
    wrong = []
    for place, call, formatted in _calls():
        texts = [text for text in _told(call) if isinstance(text, str)]
        if isinstance(formatted, ast.Call) and isinstance(formatted.func, ast.Attribute):
            given = {keyword.arg for keyword in formatted.keywords}
            if texts and formatted.func.attr == "format" and None not in given and _names(texts[-1]) != given:
                wrong.append((place, texts[-1], given))
    assert wrong == []

"""Finds words for a person that no translator was given.

A literal is taken for words where it reads like some: several words, a sentence, a word with a capital.
What only machines read (queries, names of columns, keys) is told by where it stands; the few that
remain are listed in `test_literals`, each with its reason.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

# Calls whose words are no words of ours to a person, or are put through the catalogue there.
_CALLS = {
    *("_", "later", "ngettext", "pgettext", "compile", "match", "fullmatch", "sub", "search", "finditer"),
    *("execute", "executemany", "executescript", "create_table", "startswith", "endswith", "replace", "get"),
    *("pop", "split", "strip", "removeprefix", "removesuffix", "partition", "rpartition", "setdefault"),
    *("getLogger", "import_module", "encode", "decode", "Doorway", "option", "argument", "name_from_content"),
    *("ValueError", "TypeError", "KeyError", "AssertionError", "FileNotFoundError", "RuntimeError"),
    *("show_alone", "setFont", "group", "TypeVar", "NewType"),
}
_KEYWORDS = {"test_id", "name", "icon", "role", "kind", "key", "field_id", "encoding", "match", "form"}
_UNITS = re.compile(r"(?:□|[\s°./,:;·\d()–+-]|bar|min|psi|kg|lb|cu ft|ft|ppO₂|g/L|OTU|CNS|UTC|m|h|d|L|s|%)+")
_QUERY = re.compile(
    r"\s*(SELECT|INSERT|REPLACE|UPDATE|DELETE|CREATE|ALTER|PRAGMA|BEGIN|WHERE|FROM|ORDER|UNION|ON)\b"
)
_WORDS = re.compile(r"[a-z]{2,} [a-z(□]|[a-z]{2}[.!?]$|^[A-Z][a-z]+$|[a-z]{2}, |□ [a-z]{2,}|^[A-Z][a-z]+ ")

KV_WORDS = ("text", "words", "title", "label", "hint", "heading", "sentence", "options", "caution")


def unwrapped(path: Path) -> Iterator[tuple[int, str]]:
    """Line and words of each literal in a module that reads like words and is not put into a catalogue."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    parents = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
    for node in ast.walk(tree):
        text = _text(node)
        if text and _reads_like_words(text) and not _excused(node, parents):
            yield node.lineno, text


def unwrapped_in_kv(text: str) -> Iterator[tuple[int, str]]:
    """Line and words of each literal of a kv file that shows and is not put into the catalogue."""
    for number, line in enumerate(text.splitlines(), start=1):
        shown = re.match(rf"\s+({'|'.join(KV_WORDS)}): (.*)", line)
        if not shown:
            continue
        rest = re.sub(r"\b(_|ngettext)\((?:'(?:[^'\\]|\\.)*'(?:, )?)+", "", shown[2])
        rest = re.sub(r"[!=]= *'[^']*'|\[?\('[^']*',", "", rest)  # compared, or the value of a choice
        for literal in re.findall(r"'((?:[^'\\]|\\.)*)'", rest):
            if re.search(r"[A-Za-z]{2}", re.sub(r"\{[^}]*\}", "", literal)):
                yield number, literal


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else ""
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) if isinstance(part, ast.Constant) else "□" for part in node.values)
    return ""


def _reads_like_words(text: str) -> bool:
    return bool(_WORDS.search(text)) and not _UNITS.fullmatch(text) and not _QUERY.match(text)


def _excused(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> bool:
    child, parent = node, parents.get(node)
    while parent is not None:
        if _is_no_speech(child, parent):
            return True
        child, parent = parent, parents.get(parent)
    return False


def _is_no_speech(child: ast.AST, parent: ast.AST) -> bool:
    """Whether a place in the code takes no words for a person."""
    if isinstance(parent, ast.Call):
        function = parent.func
        called = function.id if isinstance(function, ast.Name) else getattr(function, "attr", "")
        return called in _CALLS and child is not function
    if isinstance(parent, ast.If) and isinstance(parent.test, ast.Compare):
        return getattr(parent.test.left, "id", "") == "__name__"  # a demonstration
    return (
        isinstance(parent, ast.Expr | ast.JoinedStr | ast.Compare | ast.arguments)
        or (isinstance(parent, ast.Subscript) and child is parent.slice)
        or (isinstance(parent, ast.Dict) and child in parent.keys)
        or (isinstance(parent, ast.keyword) and parent.arg in _KEYWORDS)
        or (isinstance(parent, ast.FunctionDef) and child in parent.decorator_list)
        or (isinstance(parent, ast.AnnAssign) and child is parent.annotation)
    )

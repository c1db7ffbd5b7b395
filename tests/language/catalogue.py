"""Makes the catalogues in `assets/languages` from the sentences that the program says.

    python -m tests.language.catalogue      brings every de.po up to date and makes the .mo beside it

New sentences are left empty for a translator, and what nobody says any more is dropped. A test fails
when a sentence has no translation, or when a catalogue is stale.
"""

from __future__ import annotations

import ast
import inspect
import io
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from jinja2 import Environment
from jinja2.ext import extract_from_ast

ROOT = Path(__file__).resolve().parents[2]
PACKAGE, SERVER = ROOT / "logbook_app", ROOT / "server"
LANGUAGES = ROOT / "assets" / "languages"
KEYWORDS = {"_": None, "later": None, "ngettext": (1, 2), "pgettext": ((1, "c"), 2)}
MAKE = "python -m tests.language.catalogue"
HEADING = """\
# The words of Leadline. English is the source; the glossary stands in DEVELOPERS.md."""

Sentence = tuple[str, str | tuple[str, ...], str | None]
"""Place, the words (one and many), the context."""


def sentences() -> Iterator[Sentence]:
    """Every sentence that the program marks, with the file that says it."""
    for path in sorted([*PACKAGE.rglob("*.py"), *SERVER.rglob("*.py")]):
        yield from _marked(path, path.read_bytes())
    for path in sorted(SERVER.rglob("*.html")):
        yield from _marked_in_page(path)
    for path in sorted((PACKAGE / "commands").glob("*.py")):
        place = path.relative_to(ROOT).as_posix()
        yield from ((place, words, None) for words in help_of_commands(path.read_text(encoding="utf-8")))
    for path in sorted(PACKAGE.rglob("*.kv")):
        yield from _marked(path, "\n".join(calls_in_kv(path.read_text(encoding="utf-8"))).encode())


def help_of_commands(source: str) -> Iterator[str]:
    """What a module says of its commands: the docstring of each, and `help=` of its options."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef) and _is_command(node):
            yield inspect.cleandoc(ast.get_docstring(node) or "")
        elif isinstance(node, ast.keyword) and node.arg == "help" and isinstance(node.value, ast.Constant):
            yield str(node.value.value)


def _is_command(function: ast.FunctionDef) -> bool:
    made_by = " ".join(ast.unparse(decorator) for decorator in function.decorator_list)
    return "click.command" in made_by or "click.group" in made_by


def calls_in_kv(text: str) -> Iterator[str]:
    """The calls in a kv file that say something: `_('Settings')`, each as Python."""
    for match in re.finditer(r"(?<![\w.])(_|ngettext|pgettext)\(", text):
        yield _whole_call(text[match.start() :])


def template() -> Catalog:
    """All sentences, none translated."""
    made = _empty(None)
    for place, words, context in sentences():
        flags = ["python-brace-format"] if "{" in str(words) else []
        made.add(words, locations=[(place, 0)], context=context, flags=flags)
    return made


def read_catalogue(path: Path) -> Catalog:
    """A catalogue as it lies in the folder."""
    with path.open("rb") as opened:
        return read_po(opened, locale=path.stem)


def brought_up_to_date(catalogue: Catalog) -> Catalog:
    """The catalogue with every sentence of today and no other."""
    made = _empty(str(catalogue.locale))
    for wanted in template():
        if wanted.id:
            known = catalogue.get(wanted.id, wanted.context)
            made.add(
                wanted.id,
                known.string if known else "",
                locations=wanted.locations,
                context=wanted.context,
                flags=wanted.flags | (known.flags & {"fuzzy"} if known else set()),
                user_comments=known.user_comments if known else (),
            )
    return made


def untranslated(catalogue: Catalog) -> list[str]:
    """The sentences without a translation, or with a doubtful one."""
    return [str(each.id) for each in catalogue if each.id and (each.fuzzy or not all(strings(each)))]


def strings(message: Message) -> tuple[str, ...]:
    """Every form of a translation: one, or one for each kind of number."""
    return (message.string,) if isinstance(message.string, str) else tuple(message.string)


def po_bytes(catalogue: Catalog) -> bytes:
    """The catalogue as text, sentence by sentence in one order whatever the machine."""
    written = io.BytesIO()
    write_po(written, catalogue, width=100, sort_by_file=True, include_lineno=False)
    return written.getvalue()


def mo_bytes(catalogue: Catalog) -> bytes:
    """The catalogue in the form that is read at run time."""
    written = io.BytesIO()
    write_mo(written, catalogue)
    return written.getvalue()


def _empty(locale: str | None) -> Catalog:
    never = datetime(2000, 1, 1, tzinfo=UTC)  # else every making would change the file
    return Catalog(
        locale=locale,
        project="Leadline",
        header_comment=HEADING,
        creation_date=never,
        revision_date=never,
        last_translator="The Leadline authors",
        language_team="none",
        fuzzy=False,
    )


def _marked(path: Path, source: bytes) -> Iterator[Sentence]:
    place = path.relative_to(ROOT).as_posix()
    for _line, words, _comments, context in extract("python", io.BytesIO(source), KEYWORDS):
        yield place, words, context


def _marked_in_page(path: Path) -> Iterator[Sentence]:
    place, source = path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8")
    for _line, call, words in extract_from_ast(Environment(autoescape=True).parse(source), tuple(KEYWORDS)):
        told = tuple(each for each in words if each) if call == "ngettext" else words
        yield place, told, None


def _whole_call(text: str) -> str:
    """The call that the text begins with: to the first bracket that makes it an expression."""
    for end in (place + 1 for place, letter in enumerate(text) if letter == ")"):
        try:
            ast.parse(text[:end], mode="eval")
        except SyntaxError:
            continue
        return text[:end]
    raise ValueError(f"This call does not end: {text[:60]}")


if __name__ == "__main__":
    for po_path in sorted(LANGUAGES.glob("*.po")):
        now = brought_up_to_date(read_catalogue(po_path))
        po_path.write_bytes(po_bytes(now))
        po_path.with_suffix(".mo").write_bytes(mo_bytes(now))
        print(  # noqa: T201
            po_path.name, len(untranslated(now)), "sentences wait for a translation"
        )

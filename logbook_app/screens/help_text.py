"""Help pages as blocks of words, from the few written forms they use.

A page is plain text: `# ` and `## ` headings, paragraphs parted by empty lines, `- ` points, and
inside them **strong** and *slanted* words. A line that goes on continues the block above it. Any
other form is refused, so that nobody writes a page that shows its own punctuation.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import groupby

from logbook_app.language import spoken
from logbook_app.shipped_files import shipped_folder

_REFUSED = {
    "a numbered point": re.compile(r"^\d+[.)] ", re.MULTILINE),
    "a table": re.compile(r"^\|", re.MULTILINE),
    "a third heading": re.compile(r"^###", re.MULTILINE),
    "a quotation": re.compile(r"^>", re.MULTILINE),
    "a point within a point": re.compile(r"^[ \t]+- ", re.MULTILINE),
    "code": re.compile("`"),
    "a link": re.compile(r"\]\(|<http"),
}


@dataclass(frozen=True, slots=True)
class Block:
    """One block of a page: `title`, `heading`, `paragraph` or `point`, its words with Kivy's markup."""

    kind: str
    words: str


def read_help(room_name: str) -> tuple[Block, ...]:
    """Return the help page of a room in the language that is spoken, else in English.

    Raises FileNotFoundError where there is none.
    """
    pages = shipped_folder("assets") / "help"
    own = pages / spoken() / f"{room_name}.md"
    path = own if own.is_file() else pages / f"{room_name}.md"
    return parse_help(path.read_text(encoding="utf-8"))


def parse_help(text: str) -> tuple[Block, ...]:
    """Return the blocks of a page. Raises ValueError for a form that pages do not use.

    >>> parse_help("# Kit\\n\\nWhat you *carry*.\\n\\n- A **reel**\\n  and a lamp.")[2]
    Block(kind='point', words='A [b]reel[/b] and a lamp.')
    """
    for form, pattern in _REFUSED.items():
        if pattern.search(text):
            raise ValueError(f"A help page has {form} in it, which is not drawn.")
    blocks: list[list[str]] = []
    for empty, lines in groupby(text.splitlines(), key=lambda line: not line.strip()):
        if not empty:
            blocks.extend(_parted(list(lines)))
    return tuple(_block(" ".join(line.strip() for line in lines)) for lines in blocks)


def _parted(lines: list[str]) -> list[list[str]]:
    """Part lines without an empty one between them: a heading or a point begins a block."""
    parts: list[list[str]] = []
    for line in lines:
        if not parts or line.startswith(("#", "- ")) or parts[-1][0].startswith("#"):
            parts.append([])
        parts[-1].append(line)
    return parts


def _block(words: str) -> Block:
    for mark, kind in (("# ", "title"), ("## ", "heading"), ("- ", "point")):
        if words.startswith(mark):
            return Block(kind, _marked_up(words.removeprefix(mark)))
    return Block("paragraph", _marked_up(words))


def _marked_up(words: str) -> str:
    """Turn strong and slanted words into Kivy's markup, and nothing else into it."""
    plain = words.replace("&", "&amp;").replace("[", "&bl;").replace("]", "&br;")
    strong = re.sub(r"\*\*(.+?)\*\*", r"[b]\1[/b]", plain)
    return re.sub(r"\*(.+?)\*", r"[i]\1[/i]", strong)

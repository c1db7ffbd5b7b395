"""The bytes of a table become lines of text, whatever their encoding and line ends.

UTF-16 is told by its mark. Anything else is taken as UTF-8 and, line by line, as Windows-1252
where it is not; only names and notes can come out wrong by that, never a number.
"""

from __future__ import annotations

import codecs
import csv
from collections.abc import Iterable, Iterator
from typing import Final

from logbook_app.dive.problems import RefusedFile
from logbook_app.language import _

DELIMITERS: Final = (";", "\t", ",")
LONGEST_LINE_BYTES: Final = 1_000_000


def lines_of(chunks: Iterable[bytes], file_name: str) -> Iterator[str]:
    """Yield the lines of a text without their ends.

    Raises RefusedFile for a line so long that the text can be no table.
    """
    for block in blocks_of(chunks, file_name):
        yield from map(text_of, block.splitlines())


def blocks_of(chunks: Iterable[bytes], file_name: str) -> Iterator[bytes]:
    """Yield a text in blocks of whole lines, as many as a chunk holds.

    Raises RefusedFile for a line so long that the text can be no table.
    """
    rest = b""
    for chunk in _without_mark(chunks):
        text = rest + chunk
        # The last line stays behind, and so does a return that stands last: its "\n" may come next.
        end = max(text.rfind(b"\n"), text.rfind(b"\r", 0, -1)) + 1
        rest = text[end:]
        if len(rest) > LONGEST_LINE_BYTES:
            raise RefusedFile(
                _("{file_name} has a line of more than 1 MB and is no table of depths.").format(
                    file_name=file_name
                )
            )
        yield text[:end]
    yield rest


def text_of(line: bytes) -> str:
    """Return the text of one line."""
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode("cp1252", errors="replace")


def cells_of(line: str, delimiter: str) -> list[str]:
    """Return the cells of one line, trimmed; an open quotation mark ends with its line."""
    if '"' not in line:
        return [cell.strip() for cell in line.split(delimiter)]
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter), [])]
    except csv.Error:
        return []


def _without_mark(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """Yield the text as UTF-8 or as it was, without a byte order mark."""
    pieces = iter(chunks)
    first = next(pieces, b"")
    if first.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        decoder = codecs.getincrementaldecoder("utf-16")(errors="replace")
        yield decoder.decode(first).encode()
        for piece in pieces:
            yield decoder.decode(piece).encode()
    else:
        yield first.removeprefix(codecs.BOM_UTF8)
        yield from pieces

"""A long JSON text comes apart into its dives, one at a time.

The text is never held as a whole: the brackets are followed as they come, and each object in the
array "dives" is handed over as soon as it closes. What stands around the array comes last.
"""

from __future__ import annotations

import codecs
import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final

from logbook_app.dive.problems import RefusedFile
from logbook_app.language import _

LONGEST_PIECE: Final = 100_000_000  # characters; two days at three samples a second are a third of it
LONGEST_AROUND: Final = 1_000_000
_MARKS: Final = re.compile(r'["\\{}\[\]]')
_DIVES: Final = re.compile(r'"dives"\s*:\s*$')


@dataclass(frozen=True, slots=True)
class Around:
    """What stands around the dives: the text with an empty array in their place.

    complete  False where the text breaks off
    """

    text: str
    complete: bool


def pieces(chunks: Iterable[bytes], file_name: str) -> Iterator[str | Around]:
    """Yield the text of each dive in a logbook's JSON, then what stands around them.

    Raises RefusedFile where the text is not UTF-8 or one dive goes on without an end.
    """
    cutter = _Cutter(file_name)
    for text in _decoded(chunks, file_name):
        yield from cutter.feed(text)
    yield cutter.around()


def parsed(text: str) -> Any:
    """Return a JSON value. Raises ValueError for what is none, NaN and nesting without end included."""
    try:
        return json.loads(text, parse_constant=_no_number)
    except RecursionError as error:
        raise ValueError("it is nested too deep") from error


def _no_number(word: str) -> None:
    raise ValueError(f"{word} is no number")


def _decoded(chunks: Iterable[bytes], file_name: str) -> Iterator[str]:
    decoder = codecs.getincrementaldecoder("utf-8-sig")()
    try:
        for chunk in chunks:
            yield decoder.decode(chunk)
    except UnicodeDecodeError as error:
        raise RefusedFile(
            _("{file_name} is JSON in another encoding than UTF-8; save it as UTF-8.").format(
                file_name=file_name
            )
        ) from error


class _Cutter:
    """Follows quotation marks and brackets; a dive stands at the third depth, inside object and array."""

    def __init__(self, file_name: str) -> None:
        self._file_name = file_name
        self._depth = 0
        self._in_text = self._in_dives = False
        self._escaped_at = -1  # place of a character after a backslash, which marks nothing
        self._around = ""
        self._piece: list[str] = []
        self._length = 0

    def feed(self, text: str) -> Iterator[str]:
        """Take in the next part of the text and yield the dives that ended in it."""
        kept_to = 0
        for mark in _MARKS.finditer(text):
            at = mark.start()
            if at == self._escaped_at:
                continue
            if mark[0] == "\\":
                self._escaped_at = at + 1
            elif mark[0] == '"':
                self._in_text = not self._in_text
            elif self._in_text:
                continue
            elif mark[0] in "{[":
                self._keep(text[kept_to:at])
                kept_to = at
                self._open(mark[0])
            else:
                self._keep(text[kept_to : at + 1])
                kept_to = at + 1
                yield from self._close()
        self._keep(text[kept_to:])
        self._escaped_at -= len(text)

    def around(self) -> Around:
        """Return what stood around the dives, closed where the text breaks off."""
        if self._depth == 0 and not self._in_text:
            return Around(self._around, True)
        return Around(self._around.rstrip(" \t\r\n,") + "]" * self._in_dives + "}", False)

    def _open(self, bracket: str) -> None:
        if self._depth == 1 and bracket == "[" and _DIVES.search(self._around[-200:]):
            self._keep("[")  # an empty array stands for the dives
            self._in_dives = True
        self._depth += 1

    def _close(self) -> Iterator[str]:
        self._depth -= 1
        if self._in_dives and self._depth == 2:
            yield "".join(self._piece)
            self._piece, self._length = [], 0
        elif self._in_dives and self._depth == 1:
            self._in_dives = False
            self._keep("]")

    def _keep(self, text: str) -> None:
        if not self._in_dives:
            self._around += text
        elif self._depth > 2:
            self._piece.append(text)
            self._length += len(text)
        if self._length > LONGEST_PIECE or len(self._around) > LONGEST_AROUND:
            raise RefusedFile(
                _("{file_name} is JSON that no logbook is: one part of it has no end.").format(
                    file_name=self._file_name
                )
            )

"""A path becomes dives: the only place among the readers that opens anything.

Which reader takes a file is decided by what is in it, not by its name. Files are read in pieces,
so that a file of 100 MB needs no more memory than a small one, and the diver can stop in between.
"""

from __future__ import annotations

import json
import os
import re
import stat
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

from logbook_app.dive.problems import Cancelled, Problem, RefusedFile
from logbook_app.files.code_picture import PICTURE_STARTS, read_code
from logbook_app.files.depth_csv import parse_depth_csv
from logbook_app.files.dive_list_csv import is_dive_list, parse_dive_list
from logbook_app.files.logbook_json import FORMAT
from logbook_app.files.logbook_json_reader import parse_logbook_json
from logbook_app.files.picture_code import parse_picture_code
from logbook_app.files.read_dive import ReadDive, ReadKit, ReadOptions
from logbook_app.files.table_preview import TablePreview, parse_preview
from logbook_app.files.uddf.reader import parse_uddf
from logbook_app.language import _

FORMATS: Final = (".uddf", ".xml", ".csv", ".tsv", ".txt", ".json")
"""Endings that a file chooser offers; the content decides all the same."""

LARGEST_FILE_BYTES: Final = 1_000_000_000
_NOTHING_ELSE_KNOWN: Final = ReadOptions()
_CHUNK_BYTES: Final = 64 * 1024
_HEAD_BYTES: Final = 4096
_LOOKED_AT_BYTES: Final = 1_000_000  # of a JSON file; a larger one is a logbook more likely than not

Progress = Callable[[int, int], None]
"""Takes bytes done and bytes in all."""

_BYTE_ORDER_MARKS: Final = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")
_XML_START: Final = re.compile(rb"\s*<")


def _silent(done: int, of: int) -> None:
    """Progress that nobody watches."""


def _never() -> bool:
    return False


def may_hold_dives(path: Path) -> bool:
    """Tell whether a file is worth choosing: JSON is, where it says that it is a logbook.

    True where that cannot be told; reading the file says what is wrong with it.
    """
    if path.suffix.lower() != ".json":
        return True
    try:
        with path.open("rb") as file:
            head = file.read(_LOOKED_AT_BYTES + 1)
    except OSError:
        return True
    return len(head) > _LOOKED_AT_BYTES or json.dumps(FORMAT).encode() in head


def read_recording(
    path: Path | str,
    options: ReadOptions = _NOTHING_ELSE_KNOWN,
    progress: Progress = _silent,
    cancelled: Callable[[], bool] = _never,
) -> Iterator[ReadDive | ReadKit | Problem]:
    """Yield the dives of a file, and what was odd in it, as they are read.

    Raises RefusedFile with one sentence where nothing can be read from it, Cancelled as soon as
    `cancelled` tells so.
    """
    opened = _Opened(Path(path), progress, cancelled)
    head = opened.head()
    if head.startswith(PICTURE_STARTS):
        yield parse_picture_code(read_code(Path(path), opened.name), opened.name, options)
    elif _is_xml(head):
        yield from parse_uddf(opened.chunks, opened.name, options)
    elif _is_json(head):
        yield from parse_logbook_json(opened.chunks, opened.name, options)
    elif _is_text(head) and not options.csv_columns and is_dive_list(head):
        yield from parse_dive_list(opened.chunks(), opened.name, options)
    elif _is_text(head):
        yield from parse_depth_csv(opened.chunks(), opened.name, options)
    else:
        raise RefusedFile(
            _("{name} is neither UDDF nor a table of depths; no recording was found in it.").format(
                name=opened.name
            )
        )


def read_preview(path: Path | str) -> TablePreview | None:
    """Return the first rows of a table of samples, None where the file is something else.

    Raises RefusedFile with one sentence where it cannot be opened.
    """
    opened = _Opened(Path(path), _silent, _never)
    head = opened.head()
    if _is_xml(head) or _is_json(head) or not _is_text(head) or is_dive_list(head):
        return None
    return parse_preview(head, opened.name, whole=opened.is_head(head))


def told_name(path: Path) -> str:
    """Return a file's name as it can be told and kept.

    A name that is not UTF-8 holds half characters, which neither a record nor a screen can take.
    """
    return os.fsencode(path.name or path).decode("utf-8", "replace")


class _Opened:
    """A file that was found fit to be read, and how far reading it has got."""

    def __init__(self, path: Path, progress: Progress, cancelled: Callable[[], bool]) -> None:
        self._path = path
        self._progress = progress
        self._cancelled = cancelled
        self.name = told_name(path)
        self._size = self._readable_size()
        self._furthest = 0

    def _readable_size(self) -> int:
        try:
            status = self._path.stat()
        except (OSError, ValueError) as error:
            raise RefusedFile(
                _("{name} cannot be opened: {reason}.").format(name=self.name, reason=_reason(error))
            ) from error
        if stat.S_ISDIR(status.st_mode):
            raise RefusedFile(_("{name} is a folder; choose the files in it.").format(name=self.name))
        if not stat.S_ISREG(status.st_mode):
            raise RefusedFile(
                _("{name} is not an ordinary file; copy the recording to one first.").format(name=self.name)
            )
        if status.st_size == 0:
            raise RefusedFile(_("{name} is empty; ask for the file again.").format(name=self.name))
        if status.st_size > LARGEST_FILE_BYTES:
            raise RefusedFile(
                _("{name} is larger than 1 GB; export fewer dives at a time.").format(name=self.name)
            )
        return status.st_size

    def head(self) -> bytes:
        """Return the first bytes of the file."""
        try:
            with self._path.open("rb") as stream:
                return stream.read(_HEAD_BYTES)
        except OSError as error:
            raise RefusedFile(
                _("{name} cannot be read: {reason}.").format(name=self.name, reason=_reason(error))
            ) from error

    def is_head(self, head: bytes) -> bool:
        """Tell whether the first bytes of the file are all of it."""
        return len(head) == self._size

    def chunks(self) -> Iterator[bytes]:
        """Yield the file from its start, piece by piece; asked for again, it starts again.

        Progress counts each byte once: a second pass over bytes already counted stays silent until
        it gets further than the first.
        """
        try:
            with self._path.open("rb") as stream:
                while chunk := stream.read(_CHUNK_BYTES):
                    if self._cancelled():
                        raise Cancelled(_("Reading {name} was stopped.").format(name=self.name))
                    yield chunk
                    self._furthest = max(self._furthest, stream.tell())
                    self._progress(self._furthest, self._size)
        except OSError as error:
            raise RefusedFile(
                _("{name} could not be read to its end: {reason}.").format(
                    name=self.name, reason=_reason(error)
                )
            ) from error


def _reason(error: OSError | ValueError) -> str:
    return (error.strerror or str(error)) if isinstance(error, OSError) else str(error)


def _is_xml(head: bytes) -> bool:
    for mark in _BYTE_ORDER_MARKS:
        head = head.removeprefix(mark)
    return _XML_START.match(head.replace(b"\0", b"")) is not None


def _is_json(head: bytes) -> bool:
    return head.removeprefix(_BYTE_ORDER_MARKS[0]).lstrip().startswith(b"{")


def _is_text(head: bytes) -> bool:
    """Tell text from other bytes: UTF-16 by its mark, anything else by having no control characters."""
    if head.startswith(_BYTE_ORDER_MARKS[1:]):
        return True
    return not re.search(rb"[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f]", head)

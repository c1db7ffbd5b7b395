"""A file is written whole or not at all: what stood there before stays until the new one is on the disk."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from logbook_app.dive.problems import LogbookError
from logbook_app.language import _


@contextmanager
def written_whole(path: Path) -> Iterator[TextIO]:
    """Give an open text file that takes the place of `path` when the block ends well.

    The text goes to a file beside it first and is on the disk before it takes the name. Whatever
    ends the block early removes the unfinished file and leaves `path` as it was. Lines end with a
    line feed on every system.

    Raises LogbookError where the file cannot be written.
    """
    with _taking_the_name(path) as unfinished, unfinished.open("w", encoding="utf-8", newline="\n") as file:
        yield file
        file.flush()
        os.fsync(file.fileno())


def write_whole(path: Path, content: bytes) -> None:
    """Write bytes to a file, whole or not at all, in the same manner. Raises LogbookError."""
    with _taking_the_name(path) as unfinished, unfinished.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


@contextmanager
def _taking_the_name(path: Path) -> Iterator[Path]:
    unfinished = path.with_name(path.name + ".unfinished")
    try:
        yield unfinished
        unfinished.replace(path)
    except OSError as error:
        unfinished.unlink(missing_ok=True)
        reason = error.strerror or str(error)
        raise LogbookError(
            _("{path} cannot be written: {reason}. Choose another folder.").format(path=path, reason=reason)
        ) from error
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise

"""A table of times and depths becomes one dive."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from logbook_app.dive.problems import Problem, RefusedFile
from logbook_app.files.read_dive import ReadDive, ReadOptions


def parse_depth_csv(
    chunks: Iterable[bytes], file_name: str, options: ReadOptions
) -> Iterator[ReadDive | Problem]:
    """Yield the dive of a table of samples."""
    del chunks, options
    raise RefusedFile(f"{file_name} is not UDDF.")

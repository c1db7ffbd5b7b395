"""Reading a sample, or a text written on the spot, as an import would."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from invented_files import DIVE, PLAIN, SAMPLES, UDDF

from logbook_app.dive.problems import Problem
from logbook_app.dive.record import Dive
from logbook_app.files.read_dive import ReadDive, ReadOptions
from logbook_app.files.recording_file import read_recording


@dataclass(frozen=True)
class Outcome:
    """What a file gave."""

    read: tuple[ReadDive, ...]
    problems: tuple[Problem, ...]

    @property
    def dives(self) -> list[Dive]:
        return [item.dive for item in self.read]

    @property
    def words(self) -> str:
        return "\n".join(problem.sentence() for problem in self.problems)


Read = Callable[..., Outcome]
Written = Callable[..., Path]


@pytest.fixture
def read() -> Read:
    """Read a file by its path, or by its name among the samples."""

    def reading(path: Path | str, **options: object) -> Outcome:
        whole = SAMPLES / path if isinstance(path, str) else path
        items = list(read_recording(whole, ReadOptions(**options)))  # type: ignore[arg-type]
        return Outcome(
            tuple(item for item in items if isinstance(item, ReadDive)),
            tuple(item for item in items if isinstance(item, Problem)),
        )

    return reading


@pytest.fixture
def written(tmp_path: Path) -> Written:
    """Write a text or bytes to a file and return its path."""

    def writing(content: str | bytes, name: str = "written.uddf") -> Path:
        path = tmp_path / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return path

    return writing


@pytest.fixture
def one_dive() -> Callable[..., str]:
    """Return the UDDF text of one dive with the given parts in it."""

    def text(waypoints: str = PLAIN, before: str = "", after: str = "", tankdata: str = "") -> str:
        dive = DIVE.format(id="d1", before=before, after=after, tankdata=tankdata, waypoints=waypoints)
        return UDDF.format(dives=dive)

    return text

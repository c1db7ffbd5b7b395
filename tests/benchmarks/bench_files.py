"""How fast recordings are read, beside the bare parse of the same bytes, and what bad files do to it.

    pytest tests/benchmarks/bench_files.py -o python_files='bench_*.py' -s -q

Plain waypoints and plain rows are read many at a time, and each target leaves them little room. A
speed a little past its target says "missed" and does not fail: on a busy machine the readers, which
use more memory than a bare parse, lose more. One past it by half again fails, for that is what reading
one by one would do. What fails as well is an exception, a changed logbook, and memory that grows with
the file. LEADLINE_MUTATED_FILES sets how many files are mutated.
"""

from __future__ import annotations

import csv
import io
import os
import random
import re
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from xml.parsers import expat

from side_by_side import median_ratio, say

sys.path.insert(0, str(Path(__file__).parents[1] / "files"))

from accidents import garbled
from invented_files import DIVE, SAMPLES, UDDF
from test_large_files import peak_bytes, write_many_dives

from logbook_app.dive.problems import Problem, RefusedFile
from logbook_app.files.recording_file import read_recording
from logbook_app.logbook import Logbook

DEMO = Path(__file__).parents[2] / "demo_data"
PIECE_BYTES = 64 * 1024
MUTATED_FILES = int(os.environ.get("LEADLINE_MUTATED_FILES", "200000"))
FAR_PAST = 1.5
LONGEST_S = 600.0
LARGE_BYTES = 16 * 1024
REFUSED_AT_ONCE = 500
ONE_READ_OF, MOST_IMPORTED = 20, 400
RECORDINGS = 2000
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)


def tell(what: str, figure: float, target: float) -> None:
    """Say one line; a little past the target is said, far past it fails, see the top of the page."""
    verdict = "met" if figure <= target else "missed"
    say(f"{what}: {figure:.2f} times, target at most {target:g}: {verdict}")
    assert figure <= target * FAR_PAST, f"{what}: {figure:.2f} times is far past {target:g}"


def bare_expat(content: bytes) -> None:
    parser = expat.ParserCreate(namespace_separator="}")
    parser.StartElementHandler = lambda _tag, _attributes: None
    parser.EndElementHandler = lambda _tag: None
    parser.CharacterDataHandler = lambda _text: None
    for at in range(0, len(content), PIECE_BYTES):
        parser.Parse(content[at : at + PIECE_BYTES])
    parser.Parse(b"", True)


def bare_csv(content: bytes) -> None:
    for _row in csv.reader(io.StringIO(content.decode())):
        pass


def table(samples: int, begun: datetime = NOW, step_s: int = 1) -> str:
    """Return a table of one dive, with a temperature and a pressure every tenth sample."""
    rows = [f"# began: {begun.isoformat()}\n# gas: 32\ntime (s),depth (m),temperature (C),pressure (bar)\n"]
    for place in range(samples):
        depth_m = min(place, samples - 1 - place, samples // 4) * 80 / samples
        others = f"{18 - depth_m / 5:.1f},{220 - 150 * place / samples:.1f}" if place % 10 == 0 else ","
        rows.append(f"{place * step_s},{depth_m:.2f},{others}\n")
    return "".join(rows)


def test_uddf_beside_bare_expat():
    path = DEMO / "season_2025.uddf"
    content = path.read_bytes()
    ratio, seconds = median_ratio(lambda: list(read_recording(path)), lambda: bare_expat(content), rounds=21)
    waypoints = content.count(b"<waypoint>")
    rate = len(content) / seconds / 1e6
    say(f"{path.name}: {waypoints:,} waypoints in {seconds * 1e3:.0f} ms, {rate:.0f} MB/s")
    tell("UDDF read, of expat with handlers that do nothing", ratio, 2.0)


def test_csv_beside_csv_reader(tmp_path):
    path = tmp_path / "table.csv"
    path.write_text(table(20_000))
    content = path.read_bytes()
    ratio, seconds = median_ratio(lambda: list(read_recording(path)), lambda: bare_csv(content), rounds=21)
    say(f"a table of 20,000 rows: {seconds * 1e3:.0f} ms, {len(content) / seconds / 1e6:.0f} MB/s")
    tell("CSV read, of csv.reader alone", ratio, 2.5)


def test_memory_of_ten_and_of_forty_megabytes(tmp_path):
    """UDDF only: a table holds one dive of at most 500,000 rows, which is refused before 40 MB."""
    peaks = []
    for megabytes in (10, 40):
        path = tmp_path / f"{megabytes}.uddf"
        write_many_dives(path, megabytes * 1_000_000)
        peaks.append(peak_bytes(path) / 1e6)
    say(f"memory at the peak of reading 10 MB: {peaks[0]:.1f} MB, 40 MB: {peaks[1]:.1f} MB")
    assert peaks[1] < peaks[0] + 1.0, "memory grows with the file"


def whole_files() -> list[tuple[str, bytes]]:
    """Return what is mutated; of a season its first dive, or reading it would be all that is timed."""
    demo = [*DEMO.glob("*.uddf"), *DEMO.glob("*.csv")]
    files = []
    for path in sorted([*SAMPLES.iterdir(), *demo]):
        content = path.read_bytes()
        if len(content) > LARGE_BYTES:
            begun, end, _ = content.partition(b"</dive>")
            content = begun + end + b"</repetitiongroup></profiledata></uddf>"
        files.append((path.name, content))
    return files


def state_of(logbook: Logbook) -> list[str]:
    """Return all that an import could change: every dive with the digest of its samples, and the bin."""
    return [repr(each) for each in (*logbook.dives(), *logbook.binned())]


class Mutating:
    """Mutated files on their way through the readers, those that are refused through a logbook as well."""

    def __init__(self, folder: Path, logbook: Logbook) -> None:
        self.counts: Counter[str] = Counter()
        self._folder, self._logbook = folder, logbook
        self._before = state_of(logbook)
        self._refused: list[Path] = []
        self.to_import: list[Path] = []

    def take(self, name: str, content: bytes) -> None:
        path = self._folder / f"{len(self._refused)}_{name}"
        path.write_bytes(content)
        self.counts["files"] += 1
        try:
            items = list(read_recording(path))
        except RefusedFile:
            self.counts["refused"] += 1
            self._refused.append(path)
        else:
            self.counts["read"] += 1
            self.counts["with problems"] += any(isinstance(item, Problem) for item in items)
            if self.counts["read"] % ONE_READ_OF == 0 and len(self.to_import) < MOST_IMPORTED:
                self.to_import.append(path.rename(self._folder / f"kept_{self.counts['read']}_{name}"))
        if len(self._refused) >= REFUSED_AT_ONCE:
            self.import_refused()

    def import_refused(self) -> None:
        report = self._logbook.import_files(self._refused)
        assert not report.added
        assert len(report.problems) >= len(self._refused)
        assert state_of(self._logbook) == self._before
        self._refused.clear()


def mutations(count: int) -> Iterator[tuple[str, bytes]]:
    files, chance = whole_files(), random.Random("mutated files")
    for number in range(count):
        name, content = files[number % len(files)]
        yield name, garbled(content, chance) or b" "


def import_damaged(paths: list[Path], path: Path) -> None:
    """Import what could be read of some mutated files; the second time must change nothing."""
    with closing(Logbook.open(path, now=lambda: NOW)) as logbook:
        report = logbook.import_files(paths)
        assert report.added
        before = state_of(logbook)
        assert not logbook.import_files(paths).added
        assert state_of(logbook) == before
    added, joined = len(report.added), len(report.joined)
    say(f"imported {len(paths)} of those that were read, twice: {added} dives, {joined} joined")


def test_mutated_files_end_in_dives_or_in_one_refusal(tmp_path):
    with closing(Logbook.open(tmp_path / "logbook.leadline", now=lambda: NOW)) as logbook:
        logbook.import_files([DEMO / "last_weekend.uddf"])
        mutating, began = Mutating(tmp_path, logbook), time.monotonic()
        for name, content in mutations(MUTATED_FILES):
            mutating.take(name, content)
            if time.monotonic() - began > LONGEST_S:
                break
        mutating.import_refused()
        seconds = time.monotonic() - began
    import_damaged(mutating.to_import, tmp_path / "another.leadline")
    counts = mutating.counts
    rate = counts["files"] / seconds
    say(f"{counts['files']:,} of {MUTATED_FILES:,} mutated files in {seconds:.0f} s, {rate:.0f} a second")
    say(f"read {counts['read']:,}, with problems {counts['with problems']:,}, refused {counts['refused']:,}")
    assert counts["refused"] + counts["read"] == counts["files"]
    if counts["files"] < MUTATED_FILES:
        say(f"stopped after {LONGEST_S:.0f} s")


def write_recordings(folder: Path) -> list[Path]:
    """Write recordings of 40 minutes, two a day, UDDF and tables turn about."""
    paths = []
    for number in range(RECORDINGS):
        begun = datetime(2020, 1, 1, 9, tzinfo=UTC) + timedelta(hours=12 * number)
        if number % 2:
            path, text = folder / f"{number}.csv", table(241, begun, 10)
        else:
            path, text = folder / f"{number}.uddf", uddf(begun)
        path.write_text(text)
        paths.append(path)
    return paths


def uddf(begun: datetime) -> str:
    waypoints = "".join(
        f"<waypoint><depth>{min(place, 240 - place, 60) / 3:.2f}</depth><divetime>{place * 10}</divetime>"
        "</waypoint>"
        for place in range(241)
    )
    dive = DIVE.format(id="d1", before="", after="", tankdata="", waypoints=waypoints)
    at = begun.isoformat()
    return UDDF.format(dives=re.sub("<datetime>[^<]*", f"<datetime>{at}", dive))


def test_a_folder_of_recordings_twice(tmp_path):
    paths = write_recordings(tmp_path)
    with closing(Logbook.open(tmp_path / "logbook.leadline", now=lambda: NOW)) as logbook:
        began = time.monotonic()
        first = logbook.import_files(paths)
        first_s, began = time.monotonic() - began, time.monotonic()
        before = state_of(logbook)
        second = logbook.import_files(paths)
        second_s = time.monotonic() - began
        assert len(first.added) == RECORDINGS
        assert not second.added
        assert not second.joined
        assert len(second.already_there) == RECORDINGS
        assert state_of(logbook) == before
    say(f"a folder of {RECORDINGS:,} recordings: {first_s:.1f} s, the second time {second_s:.1f} s")

"""The app as a whole, as ratios against a baseline in the same run: its start, and its frames while it works.

    make bench, or python -m pytest tests/benchmarks/bench_app.py -o python_files='bench_*.py' -s

The start is counted in processor time of a process of its own, from nothing to the first frame, beside
a bare Kivy window with one label. Frames while recordings are read are counted in real time, because
what a finger feels is the longest wait between two of them; their baseline is the same page at rest.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from side_by_side import report, say

sys.path.insert(0, str(Path(__file__).parents[1] / "screens"))

from bench_files import RECORDINGS, write_recordings
from bringing_in import drop
from driver import ENVIRONMENT, Driver, set_environment, why_no_window

from logbook_app.dive.record import Dive
from logbook_app.logbook import Logbook

DIVES = 10_000
ROUNDS = 7
FRAME_S = 1 / 60
LONGEST_S = 120.0
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)

BARE_START = """
import os, sys, time
from logbook_app.screens.start import prepare_environment
prepare_environment()
from kivy.app import App
from kivy.core.window import Window
from kivy.uix.label import Label

class Bare(App):
    def load_kv(self, *_args, **_named):
        return False

    def build(self):
        return Label(text="Leadline")

def flipped(*_):
    sys.stdout.write(str(time.process_time()))
    sys.stdout.flush()
    os._exit(0)

Window.bind(on_flip=flipped)
Bare().run()
"""

OUR_START = """
import os, sys, time
from datetime import UTC, datetime
from pathlib import Path
from logbook_app.screens.start import prepare_environment, refuse_without_window
prepare_environment()
refuse_without_window()
from kivy.core.window import Window
from logbook_app.screens.app import LeadlineApp

def opened():
    from logbook_app.logbook import Logbook
    return Logbook.open(sys.argv[1])

def flipped(*_):
    sys.stdout.write(str(time.process_time()))
    sys.stdout.flush()
    os._exit(0)

app = LeadlineApp(opened, lambda: datetime.now(UTC))
app.bind(on_start=lambda *_: Window.bind(on_flip=flipped))
app.run()
"""


@pytest.fixture(scope="module")
def ten_thousand(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook with as many dives, three a day."""
    path = tmp_path_factory.mktemp("many") / "logbook.leadline"
    first = NOW - timedelta(hours=8 * DIVES)
    with closing(Logbook.open(path, now=lambda: NOW)) as logbook:
        logbook.keep_dives(
            [
                Dive(
                    began_at=first + timedelta(hours=8 * number),
                    duration_min=40,
                    max_depth_m=18,
                    number=number,
                )
                for number in range(DIVES)
            ]
        )
    return path


def started_s(script: str, *arguments: str) -> float:
    """Return the processor time that a process took to its first frame [s]."""
    ran = subprocess.run(
        [sys.executable, "-c", script, *arguments],
        env={**os.environ, **ENVIRONMENT},
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert ran.stdout, ran.stderr
    return float(ran.stdout)


def test_start_to_the_first_frame(window: Driver, ten_thousand: Path) -> None:
    """Rooms are built when they are visited and the logbook is opened after the first frame."""
    ratios, ours_s = [], []
    for _ in range(ROUNDS):
        bare, ours = started_s(BARE_START), started_s(OUR_START, str(ten_thousand))
        ratios.append(ours / bare)
        ours_s.append(ours)
    say(f"first frame with {DIVES:,} dives after {statistics.median(ours_s) * 1e3:.0f} ms of processor time")
    report("first frame, of a bare window with one label", statistics.median(ratios), 1.5)


@pytest.fixture(scope="module")
def window() -> Driver:
    """One window for all cases."""
    set_environment()
    if why := why_no_window():
        pytest.skip(why)
    return Driver()


def gaps_s(app: Driver, going_on: Callable[[], bool]) -> Iterator[float]:
    """Yield the real time between two frames that are wanted every sixtieth of a second [s]."""
    before = time.perf_counter()
    due = before
    while going_on():
        due = max(due + FRAME_S, time.perf_counter())
        time.sleep(max(0.0, due - time.perf_counter()))
        app.frames(1)
        now = time.perf_counter()
        yield now - before
        before = now


def for_seconds(seconds: float) -> Callable[[], bool]:
    end = time.perf_counter() + seconds
    return lambda: time.perf_counter() < end


def test_frames_while_two_thousand_recordings_are_read(window: Driver, tmp_path: Path) -> None:
    """The longest wait for a frame is at most twice the longest of the same page at rest."""
    from logbook_app.screens.app import LeadlineApp

    (tmp_path / "recordings").mkdir()
    write_recordings(tmp_path / "recordings")

    def opened() -> Any:
        return Logbook.open(tmp_path / "logbook.leadline", now=lambda: NOW)

    app = window.start(LeadlineApp(opened, window.clock, builds_ahead=False))
    app.idle()
    drop(app, tmp_path / "recordings")
    app.until(lambda: app.find_all(test_id="begin-import"), "the chosen files")
    app.idle()
    resting = list(gaps_s(app, for_seconds(5.0)))
    app.tap(test_id="begin-import")
    end, page = time.monotonic() + LONGEST_S, app.app.shell.rooms.room("import")
    reading = list(gaps_s(app, lambda: page.step != "report" and time.monotonic() < end))
    assert page.step == "report"
    window.stop()
    say(
        f"{RECORDINGS:,} recordings read in {sum(reading):.0f} s with the app open; frames came every "
        f"{statistics.median(reading) * 1e3:.1f} ms, at rest every {statistics.median(resting) * 1e3:.1f}; "
        f"longest {max(reading) * 1e3:.0f} and {max(resting) * 1e3:.0f} ms"
    )
    report("longest wait for a frame while reading, of that at rest", max(reading) / max(resting), 2.0)

"""A real recording of two days, hundreds of dives in one series: an Antarctic fur seal's.

See seal_recording.py for where it comes from. The figures D-01 to D-05
were worked out once with plain loops, apart from this program.
"""

from __future__ import annotations

import time
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from seal_recording import BEGAN, OFFSET_M, STEP_S, seal_depth_m

from logbook_app.analysis.profile_repair import mended_copy
from logbook_app.dive.profile import Profile
from logbook_app.logbook import Logbook
from logbook_app.physics.dive_bounds import dive_bounds
from logbook_app.physics.mean_depth import mean_depth_m

STATED_TIME_S = 60.0  # to read, split and save two days; under 3 s on a desk of 2025

pytestmark = pytest.mark.derived


@pytest.fixture(scope="module")
def depth_m() -> np.ndarray:
    """Depth of every row, NaN where it is missing."""
    return seal_depth_m()


@pytest.fixture(scope="module")
def table(depth_m: np.ndarray, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The recording as a table of depths, an empty cell for every missing one."""
    path = tmp_path_factory.mktemp("seal") / "two_days.csv"
    lines = [f"# began: {BEGAN.isoformat()}", "time (s),depth (m)"]
    lines += [f"{row * STEP_S:.0f},{'' if np.isnan(d) else d}" for row, d in enumerate(depth_m)]
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def imported(table: Path, tmp_path_factory: pytest.TempPathFactory):
    """The logbook after the import, with the report and the time it took."""
    path = tmp_path_factory.mktemp("seal logbook") / "logbook.leadline"
    with closing(Logbook.open(path, now=lambda: BEGAN + timedelta(days=3))) as logbook:
        began_s = time.perf_counter()
        report = logbook.import_files([table])
        yield logbook, report, time.perf_counter() - began_s


def bounds(depth_m: np.ndarray, threshold_m: float) -> list[tuple[int, int]]:
    """Return first and last row under the threshold of every dive, by the program's own rule with no stay."""
    under_m = np.nan_to_num(np.maximum(depth_m - OFFSET_M, 0.0))
    found = dive_bounds(np.arange(len(depth_m)) * STEP_S, under_m, threshold_m, surface_stay_s=0.0)
    return [(first + 1, last - 1) for first, last in found]


def test_d_01_runs_under_water_are_found_one_and_all(depth_m):
    runs = bounds(depth_m, 3.0)
    assert len(runs) == 426
    assert sum(last - first + 1 for first, last in runs) == 2659
    assert runs[0] == (579, 580)


def test_d_02_the_deepest_run_and_its_mean_depth(depth_m):
    under_m = np.nan_to_num(np.maximum(depth_m - OFFSET_M, 0.0))
    first, last = max(bounds(depth_m, 3.0), key=lambda run: under_m[run[0] : run[1] + 1].max())
    assert (first, last) == (11715, 11744)
    bracket = slice(first - 1, last + 2)
    time_s, deep_m = np.arange(len(depth_m))[bracket] * STEP_S, under_m[bracket]
    assert deep_m.max() == 88
    assert time_s[-1] - time_s[0] == 155
    assert mean_depth_m(time_s, deep_m) == pytest.approx(45.37, abs=0.005)


def test_d_03_runs_that_reach_ten_and_thirty_metres(depth_m):
    under_m = np.nan_to_num(np.maximum(depth_m - OFFSET_M, 0.0))
    deepest = [under_m[first : last + 1].max() for first, last in bounds(depth_m, 3.0)]
    assert sum(d >= 30 for d in deepest) == 59
    assert sum(d >= 10 for d in deepest) == 95


def test_d_05_other_thresholds(depth_m):
    assert len(bounds(depth_m, 10.0)) == 83
    assert bounds(depth_m, 10.0)[0] == (7054, 7070)
    assert len(bounds(depth_m, 20.0)) == 68


def by_plain_loop(depth_m: np.ndarray) -> list[tuple[float, float]]:
    """Return start and end of every dive by the rule in words, row by row, nothing of ours in it. [s]

    A dive begins at the last row at or above 1 m before the depth passes 1 m, and ends at the first row at
    or above 1 m that is followed by three minutes without passing 1 m again. Three minutes without a row
    end it as well, where the last row before them is at 3 m or less; all of them are.
    """
    dives: list[list[float]] = []
    stretch: list[tuple[float, float]] = []
    for row, depth in [*enumerate(depth_m), (10**9, 0.0)]:
        if np.isnan(depth):
            continue
        if stretch and row * STEP_S - stretch[-1][0] >= 180:
            assert stretch[-1][1] <= 3
            dives += _dives_of(stretch)
            stretch = []
        stretch.append((row * STEP_S, depth))
    return [(began_s, ended_s) for began_s, ended_s in dives]


def _dives_of(rows: list[tuple[float, float]]) -> list[list[float]]:
    dives: list[list[float]] = []
    for place, (_, depth) in enumerate(rows):
        if depth <= 1:
            continue
        before_s = rows[max(place - 1, 0)][0]
        after_s = rows[min(place + 1, len(rows) - 1)][0]
        if dives and before_s - dives[-1][1] < 180:
            dives[-1][1] = after_s
        else:
            dives.append([before_s, after_s])
    return dives


def test_d_04_two_days_are_read_and_split_in_the_stated_time(imported, depth_m):
    logbook, report, took_s = imported
    assert took_s < STATED_TIME_S
    expected = by_plain_loop(depth_m)
    dives = logbook.dives()
    assert len(report.added) == len(dives) == len(expected) > 20
    for dive, (began_s, ended_s) in zip(dives, expected, strict=True):
        assert dive.began_at == BEGAN + timedelta(seconds=began_s)
        assert dive.ended_at == BEGAN + timedelta(seconds=ended_s)


def test_the_report_says_in_one_sentence_that_it_was_split(imported, depth_m):
    _, report, _ = imported
    rows = np.flatnonzero(~np.isnan(depth_m))
    hours, minutes = divmod(int((rows[-1] - rows[0]) * STEP_S) // 60, 60)
    assert [note.what for note in report.notes] == [
        f"is one recording of {hours} h {minutes} min that holds {len(report.added)} dives; "
        "each is a dive of its own now."
    ]
    assert [problem.what.split(":")[0] for problem in report.problems] == [
        "9608 rows or values could not be read and were left out"
    ]


def test_every_sample_is_as_it_was_recorded_and_no_missing_row_was_filled_in(imported, depth_m):
    logbook, _, _ = imported
    for dive in logbook.dives():
        profile = logbook.profile_of(dive)
        since_s = (dive.began_at - BEGAN).total_seconds()
        rows = ((profile.time_s + since_s) / STEP_S).round().astype(int)
        assert (profile.depth_m == depth_m[rows]).all()  # NaN equals nothing: no missing row is in it


def test_no_dive_reaches_over_a_long_silence_and_nothing_is_added_in_a_short_one(imported):
    logbook, _, _ = imported
    for dive in logbook.dives():
        profile = logbook.profile_of(dive)
        assert np.diff(profile.time_s).max() < 180
        mended, what = mended_copy(profile)
        assert (mended.time_s == profile.time_s).all()
        assert {one.kind for one in what} <= {"negative"}


def test_the_whole_recording_is_kept_beside_its_dives(imported, depth_m):
    logbook, _, _ = imported
    place, whole_sha256 = logbook.dives()[0].extra["whole recording"].split(", ")
    assert place.startswith("1 of ")
    whole: Profile = logbook._store.profile(whole_sha256)
    assert len(whole) == np.count_nonzero(~np.isnan(depth_m)) == 34199 - 9608
    assert whole.depth_m.min() == -4
    assert whole.depth_m.max() == 91


def test_reading_it_again_adds_nothing(imported, table):
    logbook, report, _ = imported
    again = logbook.import_files([table])
    assert again.added == ()
    assert sorted(again.already_there) == sorted(report.added)
    assert again.import_id == 0


def test_its_dives_can_be_analysed_as_a_chain(imported):
    logbook, _, _ = imported
    state = logbook.surface(BEGAN + timedelta(days=3))
    assert state.last_dive_id == logbook.dives()[-1].id
    assert 0 <= state.load_now < 1

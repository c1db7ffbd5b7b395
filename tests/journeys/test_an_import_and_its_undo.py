"""Imports, joins and shifts of clocks, and each taken back: the logbook is then equal to what it was.

The recordings are written here, invented; what is checked is that nothing is lost, doubled or made up.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logbook_app.analysis.clock_shift import ShiftOffer
from logbook_app.analysis.same_dive import JoinOffer
from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.problems import UnknownChange
from logbook_app.logbook import Logbook

NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)
LATER = NOON + timedelta(days=20)

pytestmark = pytest.mark.law


class Clock:
    """A clock that goes on a second each time it is looked at."""

    def __init__(self) -> None:
        self.at = LATER

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with closing(Logbook.open(tmp_path / "logbook.leadline", now=Clock())) as opened:
        yield opened


Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Return a function that writes a recording: which dive, from when, by which recorder."""

    def writing(which: int, began: datetime = NOON, name: str = "wrist", **more) -> Path:
        return _write(tmp_path / f"{name}_{which}.csv", which, began, name, **more)

    return writing


def _write(path: Path, which: int, began: datetime, name: str, heading: str = "") -> Path:
    time_s, depth_m = _dive(which)
    if name == "console":
        began, time_s, depth_m = began + timedelta(seconds=40), time_s[4::2] - 40, depth_m[4::2] + 0.2
    rows = [f"{t:.0f},{d:.1f}" for t, d in zip(time_s, depth_m, strict=True)]
    path.write_text(
        "\n".join([f"# began: {began.isoformat()}", heading or "# gas: air", "time (s),depth (m)", *rows])
    )
    return path


def _dive(which: int) -> tuple[np.ndarray, np.ndarray]:
    chance = random.Random(which)
    turns_min = [0, 3, *sorted(chance.uniform(4, 38) for _ in range(6)), 40, 45]
    turns_m = [0, chance.uniform(14, 24), *(chance.uniform(8, 24) for _ in range(6)), 5, 0]
    time_s = np.arange(0, 45 * 60 + 1, 10.0)
    return time_s, np.interp(time_s / 60, turns_min, turns_m)


def test_an_import_is_kept_over_a_restart_and_taken_back_whole(tmp_path, write):
    path = tmp_path / "logbook.leadline"
    with closing(Logbook.open(path, now=Clock())) as logbook:
        logbook.import_files([write(1)])
        before = logbook.dives()
        report = logbook.import_files([write(2, NOON + timedelta(hours=3)), write(1, name="console")])
        assert len(report.added) == len(report.joined) == 1
    with closing(Logbook.open(path, now=Clock())) as logbook:
        past = logbook.imports()[0]
        assert (past.kind, past.id, past.report, past.undone_at) == ("import", report.import_id, report, None)
        changes = logbook.undo_import(report.import_id)
        assert changes.dives == {*report.added, *report.joined}
        assert logbook.dives() == before
        assert [dive.id for dive, _ in logbook.binned()] == list(report.added)
        assert logbook.imports()[0].undone_at is not None


def test_what_was_taken_back_can_be_imported_again(logbook, write):
    files = [write(1), write(2, NOON + timedelta(hours=3))]
    first = logbook.import_files(files)
    dives = logbook.dives()
    logbook.undo_import(first.import_id)
    again = logbook.import_files(files)
    assert again.added == first.added
    assert again.problems == ()
    assert logbook.dives() == dives
    logbook.undo_import(again.import_id)
    assert logbook.dives() == []


def test_a_dive_that_the_diver_deleted_stays_in_the_bin_and_is_told(logbook, write):
    first = logbook.import_files([write(1)])
    logbook.delete_dive(first.added[0])
    logbook.undo_import(first.import_id)
    again = logbook.import_files([write(1)])
    assert again.added == ()
    assert "is in the bin" in again.problems[0].what


def test_an_import_that_changed_nothing_is_not_kept(logbook, write):
    logbook.import_files([write(1)])
    again = logbook.import_files([write(1)])
    assert again.import_id == 0
    assert len(logbook.imports()) == 1


@pytest.mark.parametrize("import_id", [0, 7])
def test_what_is_not_there_cannot_be_taken_back(logbook, write, import_id):
    logbook.import_files([write(1)])
    with pytest.raises(UnknownChange, match="no import"):
        logbook.undo_import(import_id)


def test_an_import_is_taken_back_once(logbook, write):
    report = logbook.import_files([write(1)])
    logbook.undo_import(report.import_id)
    with pytest.raises(UnknownChange, match="already"):
        logbook.undo_import(report.import_id)


def test_two_recorders_make_one_dive_and_either_can_lead(logbook, write):
    logbook.import_files([write(1, heading="# gas: 32")])
    report = logbook.import_files([write(1, name="console", heading="# gas: 30, 50")])
    (dive,) = logbook.dives()
    assert report.joined == (dive.id,)
    assert report.problems == ()
    assert "second recording" in report.notes[0].what
    view = logbook.dive_view(dive.id)
    second = dive.recordings[1].fingerprint
    logbook.lead_with(dive.id, second)
    led = logbook.dive_view(dive.id)
    assert led.dive.began_at - view.dive.began_at == timedelta(seconds=40)
    assert [cylinder.gas.name for cylinder in led.dive.cylinders] == ["nitrox 30", "nitrox 50"]
    assert led.analysis.max_depth_m == pytest.approx(view.analysis.max_depth_m + 0.2, abs=0.3)
    logbook.undo_import(report.import_id)
    assert logbook.dive_view(dive.id).dive.recordings == view.dive.recordings[:1]
    assert logbook.dive_view(dive.id).dive.began_at == view.dive.began_at


def test_two_dives_that_a_wrong_clock_lays_over_each_other_are_not_joined(logbook, write):
    logbook.import_files([write(1)])
    report = logbook.import_files([write(5, NOON + timedelta(minutes=5), name="console")])
    assert report.joined == ()
    assert "both count in the load" in report.problems[0].what


def test_a_hand_entry_and_its_recording_are_offered_joined_and_parted(logbook, write):
    entry = HandEntry(
        began_local=NOON + timedelta(minutes=10), duration_min=45, max_depth_m=22, buddies=("Imke",)
    )
    hand, _ = logbook.add_by_hand(entry)
    report = logbook.import_files([write(1)])
    (offer,) = report.offers
    assert offer == JoinOffer(report.added[0], hand.id, offer.words)
    assert logbook.doubles() == [offer]
    before = logbook.dives()
    loaded = logbook.surface(NOON + timedelta(hours=2)).load_now
    changes = logbook.join_dives(offer.keep_id, offer.other_id)
    (one,) = logbook.dives()
    assert (one.buddies, one.number, one.estimate) == (("Imke",), hand.number, False)
    assert logbook.surface(NOON + timedelta(hours=2)).load_now < loaded  # it was counted twice
    assert logbook.doubles() == []
    logbook.undo_import(changes.undo_id)
    assert logbook.dives() == before
    assert logbook.surface(NOON + timedelta(hours=2)).load_now == loaded


def test_taking_back_an_import_takes_back_the_join_that_rests_on_it(logbook, write):
    hand, _ = logbook.add_by_hand(HandEntry(began_local=NOON, duration_min=45, max_depth_m=22))
    before = logbook.dives()
    report = logbook.import_files([write(1)])
    logbook.join_dives(hand.id, report.added[0])
    logbook.undo_import(report.import_id)
    assert logbook.dives() == before


def test_what_was_written_since_stays_when_an_import_is_taken_back(logbook, write):
    logbook.import_files([write(1)])
    (before,) = logbook.dives()
    report = logbook.import_files([write(1, name="console")])
    logbook.keep_dives([replace(logbook.dives()[0], notes="Two seals.")])
    logbook.undo_import(report.import_id)
    assert logbook.dives() == [replace(before, notes="Two seals.")]


def test_a_batch_by_a_wrong_clock_is_offered_moved_and_moved_back(logbook, write):
    starts = [NOON, NOON + timedelta(hours=4), NOON + timedelta(hours=21)]
    logbook.import_files([write(which, start) for which, start in enumerate(starts)])
    late = [write(which, start - timedelta(hours=1), name="console") for which, start in enumerate(starts)]
    merged = late[0].with_name("console.csv")
    reports = [logbook.import_files([file.rename(merged)]) for file in late]
    offers = [offer for report in reports for offer in report.offers]
    assert [type(offer) for offer in offers] == [ShiftOffer] * 3
    assert {offer.minutes for offer in offers} == {60}
    before = logbook.dives()
    moved_ids = [dive_id for offer in offers for dive_id in offer.dive_ids]
    changes = logbook.shift_clock(moved_ids, 60)
    moved = {dive.id: dive.began_at for dive in logbook.dives()}
    assert all(moved[d.id] - d.began_at == timedelta(hours=d.id in moved_ids) for d in before)
    assert len(logbook.doubles(moved_ids)) == 3
    assert logbook.import_files([merged]).added == ()  # it is the same recording all the same
    logbook.undo_import(changes.undo_id)
    assert logbook.dives() == before


def test_a_day_in_one_file_is_split_and_taken_back_whole(logbook, tmp_path):
    time_s, depth_m = _dive(1)
    whole_s = np.concatenate([time_s + start for start in (600, 9000, 20000)])
    rows = [f"{t:.0f},{d:.1f}" for t, d in zip(whole_s, np.tile(depth_m, 3), strict=True)]
    file = tmp_path / "day.csv"
    file.write_text("\n".join([f"# began: {NOON.isoformat()}", "time (s),depth (m)", *rows]))
    report = logbook.import_files([file])
    assert report.problems == ()
    assert "holds 3 dives" in report.notes[0].what
    assert [dive.number for dive in logbook.dives()] == [1, 2, 3]
    assert [(d.began_at - NOON).total_seconds() for d in logbook.dives()] == [600, 9000, 20000]
    assert logbook.import_files([file]).added == ()
    logbook.undo_import(report.import_id)
    assert logbook.dives() == []


def test_a_mended_recording_is_told_and_stays_as_it_was_recorded(logbook, tmp_path):
    time_s, depth_m = _dive(1)
    depth_m = depth_m.round(1)
    clean = _table(tmp_path / "clean.csv", time_s, depth_m)
    spiked_m = depth_m.copy()
    spiked_m[100] = 95.0
    report = logbook.import_files([_table(tmp_path / "spiked.csv", time_s, spiked_m)])
    view = logbook.dive_view(report.added[0])
    assert view.profile.depth_m.max() == 95.0
    assert view.analysis.max_depth_m < 30
    assert [(one.kind, one.recorded_m) for one in view.mended] == [("spike", 95.0)]
    told = [finding for finding in view.findings if finding.lead == "Mended: spike."]
    assert len(told) == 1
    assert told[0].look_here
    assert "95.0 m" in told[0].words
    logbook.undo_import(report.import_id)
    clean_id = logbook.import_files([clean]).added[0]
    assert logbook.dive_view(clean_id).mended == ()


def _table(path: Path, time_s: np.ndarray, depth_m: np.ndarray) -> Path:
    rows = [f"{t:.0f},{d:.1f}" for t, d in zip(time_s, depth_m, strict=True)]
    path.write_text("\n".join([f"# began: {NOON.isoformat()}", "time (s),depth (m)", *rows]))
    return path


STEPS = st.lists(
    st.tuples(st.sampled_from(["wrist", "console"]), st.integers(0, 3), st.sampled_from([0, 60])),
    min_size=1,
    max_size=4,
)


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(first=STEPS, second=STEPS)
def test_whatever_is_imported_and_taken_back_leaves_an_equal_logbook(first, second):
    """Any recordings of four dives by two recorders, one of them an hour wrong now and then."""
    with (
        TemporaryDirectory() as folder,
        closing(Logbook.open(Path(folder) / "logbook.leadline", now=Clock())) as logbook,
    ):
        logbook.import_files(_files(Path(folder), first))
        before = logbook.dives()
        report = logbook.import_files(_files(Path(folder), second))
        assert bool(report.import_id) == bool(report.added or report.joined)
        if report.import_id:
            logbook.undo_import(report.import_id)
        assert logbook.dives() == before


def _files(folder: Path, steps: list[tuple[str, int, int]]) -> list[Path]:
    return [
        _write(
            folder / f"{name}_{which}_{late_min}.csv",
            which,
            NOON + timedelta(hours=3 * which, minutes=late_min),
            name,
        )
        for name, which, late_min in steps
    ]


def test_an_import_leaves_the_number_of_a_dive_in_the_bin(logbook, write):
    logbook.import_files([write(1), write(2, NOON + timedelta(days=1))])
    last = logbook.dives()[-1]
    logbook.delete_dive(last.id)
    logbook.import_files([write(3, NOON + timedelta(days=2))])
    logbook.restore_dive(last.id)
    assert [dive.number for dive in logbook.dives()] == [1, 2, 3]

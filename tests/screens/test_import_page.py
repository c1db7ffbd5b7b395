"""Bringing in recordings with a finger: folders, choosing, whose they are, stopping, the report."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from bringing_in import ONE_DIVE, SEASON, WEEKEND, asked, assert_fits, bring_in, drop, open_page
from driver import SIZES, Driver, OpenApp

from logbook_app.analysis.clock_shift import ShiftOffer
from logbook_app.analysis.same_dive import JoinOffer
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.problems import Problem
from logbook_app.logbook import ImportReport, Logbook, PastChange
from logbook_app.screens import import_page
from logbook_app.screens.import_words import (
    endings_words,
    file_size,
    heading,
    past_line,
    report_words,
    settled_offers,
)
from logbook_app.screens.platform_services import Result


@pytest.fixture
def page(home: Path, app: Driver) -> Driver:
    """The import page of an empty logbook, looking into the downloads."""
    return open_page(app)


def names_shown(app: Driver) -> list[str]:
    rows = sorted(app.find_all(role="FileRow"), key=lambda row: -row.y)
    return [row.name for row in rows]


def test_looking_starts_in_the_downloads_with_what_can_be_read(page: Driver) -> None:
    """Folders first; a picture is not offered."""
    assert page.find(test_id="folder").text == "Downloads"
    assert names_shown(page) == ["Older", "broken.uddf", WEEKEND, ONE_DIVE, SEASON]


def test_folders_open_and_lead_up_again(page: Driver) -> None:
    """Into an empty folder, which says so, and out of it as far as home."""
    page.tap(test_id="file-Older")
    page.idle()
    assert page.find(test_id="folder").text == "Older"
    assert page.says("No folder and no .uddf")
    for folder in ("Downloads", "home"):
        page.tap(test_id="folder-up")
        page.idle()
        assert page.find(test_id="folder").text == folder


def test_files_are_chosen_over_several_folders(page: Driver, home: Path) -> None:
    """A second touch lets go; what is chosen stays chosen while one looks elsewhere."""
    shutil.copy(home / "Downloads" / ONE_DIVE, home / "Downloads" / "Older" / "copy.csv")
    page.tap(test_id=f"file-{WEEKEND}")
    page.tap(test_id=f"file-{SEASON}")
    page.tap(test_id=f"file-{SEASON}")
    page.tap(test_id="file-Older")
    page.idle()
    page.tap(test_id="file-copy.csv")
    assert page.find(test_id="begin-import").text == "Bring in 2 files"
    page.tap(test_id="folder-up")
    page.idle()
    assert page.find(test_id=f"file-{WEEKEND}").chosen
    assert not page.find(test_id=f"file-{SEASON}").chosen


def test_nothing_begins_before_a_file_is_chosen(page: Driver) -> None:
    """The button says what to do instead."""
    assert page.find(test_id="begin-import").disabled
    assert page.says("No file chosen yet")


def test_report_counts_names_and_opens_what_was_added(page: Driver) -> None:
    """The weekend holds two dives; touching one opens its page."""
    bring_in(page, WEEKEND)
    assert page.find(test_id="report-heading").text == "2 dives added."
    assert page.find(test_id="report-counts").text == "Added 2 · Already there 0 · Joined 0"
    rows = page.find_all(test_id="report-dive")
    assert [row.line.heading for row in rows] == ["Dive 213 · Heron Ledge", "Dive 214 · Heron Ledge"]
    page.tap(rows[1])
    page.idle()
    assert page.app.shell.rooms.current == "dive"
    page.press_back()
    assert page.find(test_id="report-heading").text == "2 dives added."


def test_the_same_file_again_adds_nothing(page: Driver) -> None:
    """And says so, rather than nothing."""
    bring_in(page, WEEKEND)
    page.tap(test_id="bring-in-more")
    page.idle()
    bring_in(page, WEEKEND)
    assert page.find(test_id="report-heading").text == "Nothing new: all 2 dives were there already."
    assert len(asked(page, lambda logbook: logbook.dives())) == 2


def test_a_file_that_cannot_be_read_gets_its_sentence_and_the_others_are_read(page: Driver) -> None:
    """Which file, where, what; nothing in silence."""
    bring_in(page, "broken.uddf", ONE_DIVE)
    assert page.find(test_id="report-heading").text == "1 dive added."
    sentences = [note.text for note in page.find_all(test_id="report-note")]
    assert any(sentence.startswith("broken.uddf") and "damaged" in sentence for sentence in sentences)


def test_what_can_be_done_is_said_as_something_to_touch(page: Driver, home: Path) -> None:
    """No option of the command line is named to somebody who has none."""
    (home / "Downloads" / "notes.txt").write_text("Two pike.\nNo table.\n")
    (home / "Downloads" / "zoneless.csv").write_text(
        "# began: 2026-06-14T10:05\ntime (min),depth (m)\n0,0\n1,9\n20,12\n21,0\n"
    )
    page.app.shell.rooms.room("import").ids.files.look_again()
    page.idle()
    bring_in(page, "notes.txt", "zoneless.csv")
    sentences = " ".join(note.text for note in page.find_all(test_id="report-note"))
    assert "Touch Columns beside the file" in sentences
    assert "touch the dive and correct its start" in sentences
    assert "--" not in sentences


def test_another_divers_recordings_are_kept_under_their_name(page: Driver) -> None:
    """They count in nobody's load but theirs, and cannot begin without a name."""
    page.tap(test_id="whose-others")
    page.tap(test_id=f"file-{WEEKEND}")
    assert page.find(test_id="begin-import").disabled
    page.tap(test_id="diver")
    page.type("Imke  Rieselang")
    page.wait(0.2)
    page.tap(test_id="begin-import")
    page.until(lambda: page.find_all(test_id="report-heading"))
    assert {dive.diver for dive in asked(page, lambda logbook: logbook.dives())} == {"Imke Rieselang"}
    assert asked(page, lambda logbook: logbook.surface()).last_dive_id is None


def test_stopping_keeps_what_is_finished(page: Driver, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stop is touched while a season is read; the report says so, and what it counts is in the logbook."""
    release = slow_down(monkeypatch)
    page.tap(test_id=f"file-{SEASON}")
    page.tap(test_id="begin-import")
    page.until(lambda: page.find_all(test_id="cancel-work"), "the progress bar")
    page.until(lambda: page.says(SEASON), "the name of the file")
    page.tap(test_id="cancel-work")
    release()
    page.until(lambda: page.find_all(test_id="report-heading"), "the report")
    assert page.find(test_id="report-heading").text.startswith("Stopped; what was finished is kept.")
    counted = int(page.find(test_id="report-counts").text.split()[1])
    assert len(asked(page, lambda logbook: logbook.dives())) == counted


def slow_down(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """Hold the reading after its first report of progress until the returned callable is called."""
    import threading

    go_on, run = threading.Event(), Logbook.import_files

    def held(
        self: Logbook, paths: Any, options: Any, progress: Any, cancelled: Any, columns: Any
    ) -> ImportReport:
        def report(done: int, of: int, name: str) -> None:
            progress(done, of, name)
            go_on.wait(20)

        return run(self, paths, options, report, cancelled, columns)

    monkeypatch.setattr(Logbook, "import_files", held)
    return go_on.set


def test_report_waits_while_one_is_elsewhere(page: Driver) -> None:
    """Another room may be visited; a sentence there says when it is done."""
    page.tap(test_id=f"file-{WEEKEND}")
    page.tap(test_id="begin-import")
    page.tap(test_id="rail-settings")
    page.until(lambda: page.says("The recordings are read. 2 dives added."))
    page.tap(test_id="rail-record")
    page.idle()
    page.tap(test_id="bring-in")
    assert page.find(test_id="report-heading").text == "2 dives added."


def test_a_long_report_is_shown_in_parts_and_whole(page: Driver) -> None:
    """No dive is left out: the button shows more until all are there."""
    bring_in(page, SEASON)
    added = len(asked(page, lambda logbook: logbook.dives()))
    assert added > import_page.SHOWN_AT_ONCE
    while page.find_all(test_id="more-dives"):
        page.tap(page.bring_into_view(page.find(test_id="more-dives")))
    page.until(lambda: len(page.find_all(test_id="report-dive")) == added, "every dive of the report")


def test_a_chooser_that_fails_leaves_the_folder_list(
    home: Path, app: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The reason is said once, the button goes, the list stays; a cancelled choice says nothing."""
    answers = [
        Result(False),
        Result(False, None, "No chooser here."),
        Result(True, (home / "Downloads" / WEEKEND,)),
    ]
    monkeypatch.setattr(import_page, "has_file_chooser", lambda: True)
    monkeypatch.setattr(import_page, "pick_files", lambda _endings, chosen: chosen(answers.pop(0)))
    open_page(app)
    app.tap(test_id="choose-files")
    assert app.find_all(test_id="choose-files")
    app.tap(test_id="choose-files")
    assert app.says("No chooser here.")
    assert not app.find_all(test_id="choose-files")
    assert names_shown(app)


def test_files_of_the_devices_chooser_are_chosen(
    home: Path, app: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it hands over is read like what is touched in the list."""
    monkeypatch.setattr(import_page, "has_file_chooser", lambda: True)
    monkeypatch.setattr(
        import_page,
        "pick_files",
        lambda _endings, chosen: chosen(Result(True, (home / "Downloads" / WEEKEND,))),
    )
    open_page(app)
    app.tap(test_id="choose-files")
    assert app.find(test_id="begin-import").text == "Bring in 1 file"
    app.tap(test_id="begin-import")
    app.until(lambda: app.find_all(test_id="report-heading"))
    assert app.find(test_id="report-heading").text == "2 dives added."


# Whole folders, and files dropped on the window


def test_a_folder_is_chosen_with_everything_below_it(page: Driver, home: Path) -> None:
    """Every readable file, however deep; hidden ones and pictures are not recordings."""
    downloads = home / "Downloads"
    (downloads / "Older" / "Reef").mkdir()
    shutil.copy(downloads / ONE_DIVE, downloads / "Older" / "Reef" / "deep.csv")
    (downloads / ".hidden").mkdir()
    shutil.copy(downloads / ONE_DIVE, downloads / ".hidden" / "hidden.csv")
    (downloads / "kit.json").write_text('{"pieces": []}')  # JSON of something else is nothing to choose
    page.tap(test_id="choose-folder")
    page.until(lambda: page.find(test_id="begin-import").text == "Bring in 5 files")
    page.wait(0.5)
    page.tap(test_id="begin-import")
    page.until(lambda: page.find_all(test_id="report-heading"), "the report")
    page.wait(0.5)
    asked_for = asked(page, lambda logbook: logbook.dives())
    assert page.find(test_id="report-heading").text == f"{len(asked_for)} dives added."
    assert page.says("broken.uddf")


def test_what_was_chosen_is_let_go_with_one_touch(page: Driver) -> None:
    """The same button, which says so."""
    page.tap(test_id="choose-folder")
    page.until(lambda: page.find_all(text="Choose none"))
    page.wait(0.5)
    page.tap(test_id="choose-folder")
    assert page.says("No file chosen yet")


def test_dropped_files_open_the_import_page_with_them_chosen(home: Path, app: Driver) -> None:
    """From any room; a folder among them is taken with everything in it, another ending is not refused."""
    downloads = home / "Downloads"
    strange = home / "Täfelchen.log"
    shutil.copy(downloads / ONE_DIVE, strange)
    shutil.copy(downloads / WEEKEND, downloads / "Older" / "weekend.uddf")
    app.tap(test_id="rail-settings")
    drop(app, strange, downloads / "Older")
    app.until(lambda: app.find_all(text="Bring in 2 files"), "the files")
    app.wait(0.5)
    app.tap(test_id="begin-import")
    app.until(lambda: app.find_all(test_id="report-heading"), "the report")
    assert app.find(test_id="report-heading").text == "3 dives added."


def test_files_dropped_while_others_are_read_wait(page: Driver, monkeypatch: pytest.MonkeyPatch) -> None:
    """They are not mixed into what is being read; a sentence says so."""
    release = slow_down(monkeypatch)
    page.tap(test_id=f"file-{WEEKEND}")
    page.tap(test_id="begin-import")
    page.until(lambda: page.find_all(test_id="cancel-work"), "the progress bar")
    drop(page, Path("late.uddf"))
    assert page.says("Bring these in after the report.")
    release()
    page.until(lambda: page.find_all(test_id="report-heading"), "the report")
    assert page.find(test_id="report-heading").text == "2 dives added."


# Taking back, and what is offered


def test_an_import_is_taken_back(page: Driver) -> None:
    """Its dives go to the bin; bringing the file in again has them back."""
    bring_in(page, WEEKEND)
    page.tap(test_id="undo-import")
    page.idle()
    assert page.find(test_id="report-heading").text.startswith("The import is taken back.")
    assert not page.find_all(test_id="undo-import")
    assert asked(page, lambda logbook: (len(logbook.dives()), len(logbook.binned()))) == (0, 2)
    page.tap(test_id="bring-in-more")
    page.idle()
    bring_in(page, WEEKEND)
    assert page.find(test_id="report-heading").text == "2 dives added."
    assert asked(page, lambda logbook: (len(logbook.dives()), len(logbook.binned()))) == (2, 0)


def written_before(app: Driver) -> None:
    """Write the weekend's first dive by hand, as a diver remembers it."""
    began = datetime.fromisoformat("2026-11-14T08:12+01:00")
    entry = HandEntry(began_local=began, duration_min=35, max_depth_m=15)
    asked(app, lambda logbook: logbook.add_by_hand(entry))


def test_an_offer_is_accepted_and_undone(page: Driver) -> None:
    """A dive written by hand and then recorded: one touch makes them one, another makes them two again."""
    written_before(page)
    bring_in(page, WEEKEND)
    assert len(asked(page, lambda logbook: logbook.dives())) == 3
    page.tap(page.bring_into_view(page.find(test_id="accept-offer")))
    page.idle()
    assert page.find(test_id="offer-done").text == "The two records are one dive now."
    assert not page.find_all(test_id="accept-offer")
    dives = asked(page, lambda logbook: logbook.dives())
    assert len(dives) == 2
    assert not any(dive.estimate for dive in dives)
    page.tap(test_id="undo")
    page.idle()
    assert page.find_all(test_id="accept-offer")
    assert len(asked(page, lambda logbook: logbook.dives())) == 3


def test_a_wrong_clock_is_moved_and_the_two_records_made_one(page: Driver, home: Path) -> None:
    """A second gauge an hour early: moved by a touch, and then the records are offered as one dive."""
    bring_in(page, WEEKEND)
    dive = asked(page, lambda logbook: logbook.dives()[1])
    profile = asked(page, lambda logbook: logbook.profile_of(dive))
    early = (dive.began_local - timedelta(hours=1)).isoformat()
    rows = "".join(
        f"{at},{depth * 1.01:.2f}\n" for at, depth in zip(profile.time_s, profile.depth_m, strict=True)
    )
    (home / "early.csv").write_text(f"# began: {early}\ntime (s),depth (m)\n{rows}")
    drop(page, home / "early.csv")
    page.until(lambda: page.find_all(text="Bring in 1 file"), "the file")
    page.wait(0.5)
    bring_in(page)
    assert page.find(test_id="accept-offer").text == "Move the clock by +01:00"
    page.tap(test_id="accept-offer")
    page.idle()
    assert page.find(test_id="offer-done").text == "The clock was moved by +01:00."
    moved = asked(page, lambda logbook: [other.began_at for other in logbook.dives()[1:]])
    assert moved == [dive.began_at, dive.began_at]
    page.tap(test_id="undo")
    page.idle()
    assert page.find(test_id="accept-offer").text == "Move the clock by +01:00"
    page.tap(test_id="accept-offer")
    page.idle()
    assert page.find(test_id="accept-offer").text == "Make them one"
    page.tap(test_id="accept-offer")
    page.idle()
    assert not page.find_all(test_id="accept-offer")
    assert len(asked(page, lambda logbook: logbook.dives())) == 2


def test_earlier_imports_are_listed_read_and_taken_back(page: Driver) -> None:
    """The latest first; a report is read again with its offers; undo says what it did."""
    written_before(page)
    bring_in(page, ONE_DIVE)
    page.tap(test_id="bring-in-more")
    page.idle()
    bring_in(page, WEEKEND)
    page.tap(test_id="earlier-imports")
    page.idle()
    lines = [line.text for line in page.find_all(test_id="past-line")]
    assert lines == ["Added 2 · Already there 0 · Joined 0.", "Added 1 · Already there 0 · Joined 0."]
    page.tap(page.find_all(test_id="read-report")[0])
    page.idle()
    page.idle()
    assert page.find(test_id="report-heading").text == "2 dives added."
    assert page.find_all(test_id="accept-offer")
    page.press_back()
    page.idle()
    page.tap(page.find_all(test_id="undo-past")[0])
    page.idle()
    page.idle()
    assert page.says("The import is taken back.")
    assert "Taken back on Sat 14 Nov 2026" in page.find_all(test_id="past-line")[0].text
    assert len(page.find_all(test_id="undo-past")) == 1
    assert len(asked(page, lambda logbook: logbook.dives())) == 2


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
@pytest.mark.parametrize("text_scale", [1.0, 1.3])
def test_choosing_and_report_fit(
    home: Path, open_app: OpenApp, size: tuple[int, int], text_scale: float
) -> None:
    """At every size of window and text: nothing small, close, clipped or out of the window."""
    app = open_page(open_app(size=size, text_scale=text_scale))
    assert_fits(app)
    if app.find_all(test_id="whose"):  # a narrow window asks when it is touched
        app.tap(test_id="whose")
    app.tap(test_id="whose-others")
    assert_fits(app)
    app.tap(test_id="whose-mine")
    written_before(app)
    drop(app, *(home / "Downloads" / name for name in ("broken.uddf", WEEKEND)))
    app.until(lambda: app.find_all(text="Bring in 2 files"), "the files")
    assert_fits(app)
    bring_in(app)
    app.wait(0.3)
    app.bring_into_view(app.find_all(test_id="accept-offer")[0])
    assert_fits(app)
    app.tap(test_id="earlier-imports")
    app.idle()
    assert_fits(app)


# The words without a window


@pytest.mark.parametrize(
    ("report", "words"),
    [
        (ImportReport(added=("a",)), "1 dive added."),
        (ImportReport(added=("a", "b"), already_there=("c",)), "2 dives added."),
        (ImportReport(already_there=("c",)), "Nothing new: the dive was there already."),
        (ImportReport(joined=("c",)), "1 dive joined by a second recording."),
        (ImportReport(), "No dive was added."),
        (ImportReport(cancelled=True), "Stopped; what was finished is kept. No dive was added."),
    ],
)
def test_heading_says_what_came_of_it(report: ImportReport, words: str) -> None:
    """One sentence for every outcome."""
    assert heading(report) == words


def test_every_problem_becomes_a_sentence() -> None:
    """As many sentences as problems, in their order."""
    problems = tuple(Problem("a.csv", f"line {line}", "no depth; left out.") for line in range(50))
    words = report_words(ImportReport(problems=problems), [], SpokenUnits())
    assert words.notes == tuple(f"a.csv, line {line}: no depth; left out." for line in range(50))


def offers() -> tuple[JoinOffer, ShiftOffer]:
    return JoinOffer("a", "b", "Same."), ShiftOffer(("c", "d"), 60, "An hour off.")


@pytest.mark.parametrize(
    ("kind", "dives", "undone", "gone", "settled"),
    [
        ("join", {"a", "b"}, False, (), [0]),
        ("join", {"a", "b"}, True, (), []),
        ("shift", {"c", "d"}, False, (), [1]),
        ("shift", {"a", "b"}, False, (), []),
        ("join", {"c", "d"}, False, ("d",), [1]),
    ],
)
def test_an_offer_that_was_accepted_is_not_made_again(
    kind: str, dives: set[str], undone: bool, gone: tuple[str, ...], settled: list[int]
) -> None:
    """A standing change of that kind on those dives, or a dive in the bin, settles it."""
    at = datetime(2026, 11, 14, tzinfo=UTC)
    change = PastChange(2, kind, at, at if undone else None, frozenset(dives), None)
    report = ImportReport(offers=offers(), import_id=1)
    assert settled_offers(report, [change], gone) == [report.offers[place] for place in settled]


def test_the_words_of_a_shift_tell_by_how_much() -> None:
    """As on the command line."""
    words = report_words(ImportReport(offers=offers()), [], SpokenUnits())
    assert [offer.accept for offer in words.offers] == ["Make them one", "Move the clock by +01:00"]


def test_earlier_changes_are_named_by_the_clock_on_the_dock() -> None:
    """Kept in UTC, told in local time."""
    at = datetime(2026, 11, 14, 23, 30, tzinfo=UTC)
    now = datetime.fromisoformat("2026-11-16T10:00+01:00")
    line = past_line(PastChange(3, "join", at, None, frozenset({"a", "b"}), None), now)
    assert (line.heading, line.line) == ("Sun 15 Nov 2026, 00:30", "Two records made one dive.")
    assert line.standing
    assert not line.has_report


def test_sizes_and_endings_are_said_in_words() -> None:
    """Decimal units, as storage is sold."""
    assert [file_size(size) for size in (0, 999, 84_200, 1_260_000)] == [
        "0 bytes",
        "999 bytes",
        "84 kB",
        "1.3 MB",
    ]
    assert endings_words((".uddf",)) == ".uddf"
    assert endings_words((".uddf", ".csv")) == ".uddf and .csv"

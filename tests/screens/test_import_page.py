"""Bringing in recordings with a finger: folders, choosing, whose they are, stopping, the report."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from driver import SIZES, Driver, OpenApp

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.problems import Problem
from logbook_app.logbook import ImportReport, Logbook
from logbook_app.screens import import_page
from logbook_app.screens.import_words import endings_words, file_size, heading, report_words
from logbook_app.screens.platform_services import Result
from logbook_app.shipped_files import shipped_folder

WEEKEND = "last_weekend.uddf"
SEASON = "season_2026.uddf"
ONE_DIVE = "one_dive.csv"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home with recordings in its downloads, on a device without a chooser of its own."""
    home = tmp_path / "home"
    downloads = home / "Downloads"
    (downloads / "Older").mkdir(parents=True)
    for name in (WEEKEND, SEASON, ONE_DIVE):
        shutil.copy(shipped_folder("demo_data") / name, downloads / name)
    (downloads / "broken.uddf").write_text("<uddf><profiledata>")
    (downloads / "picture.jpg").write_bytes(b"\xff\xd8")
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setattr(import_page, "has_file_chooser", lambda: False)
    return home


@pytest.fixture
def page(home: Path, app: Driver) -> Driver:
    """The import page of an empty logbook, looking into the downloads."""
    return open_page(app)


def open_page(app: Driver) -> Driver:
    app.tap(test_id="rail-record")
    app.idle()
    app.tap(test_id="bring-in")
    app.idle()
    app.idle()
    return app


def bring_in(app: Driver, *names: str) -> None:
    for name in names:
        app.tap(test_id=f"file-{name}")
    app.tap(test_id="begin-import")
    app.until(lambda: app.find_all(test_id="report-heading"), "the report")
    app.wait(0.5)  # the progress bar goes, and the page takes its room


def names_shown(app: Driver) -> list[str]:
    rows = sorted(app.find_all(role="FileRow"), key=lambda row: -row.y)
    return [row.name for row in rows]


def asked(app: Driver, question: Callable[[Logbook], Any]) -> Any:
    answers: list[Any] = []
    app.app.ask(question, then=answers.append)
    app.until(lambda: answers)
    return answers[0]


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
    assert len(page.find_all(test_id="report-dive")) == added


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


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
@pytest.mark.parametrize("text_scale", [1.0, 1.3])
def test_choosing_and_report_fit(
    home: Path, open_app: OpenApp, size: tuple[int, int], text_scale: float
) -> None:
    """At every size of window and text: nothing small, close, clipped or out of the window."""
    app = open_page(open_app(size=size, text_scale=text_scale))
    app.tap(test_id="whose-others")
    app.tap(test_id="whose-mine")
    assert_fits(app)
    bring_in(app, "broken.uddf")
    app.wait(0.3)
    assert_fits(app)


def assert_fits(app: Driver) -> None:
    assert not app.small_targets()
    assert not app.close_targets()
    assert not app.clipped_texts()
    assert not app.texts_out_of_window()


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

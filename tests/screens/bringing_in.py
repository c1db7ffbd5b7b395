"""Steps that several tests take on the way to an imported recording."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from driver import Driver

from logbook_app.logbook import Logbook

WEEKEND = "last_weekend.uddf"
SEASON = "season_2026.uddf"
ONE_DIVE = "one_dive.csv"


def open_page(app: Driver) -> Driver:
    """Go to the import page as a diver does."""
    app.tap(test_id="rail-record")
    app.idle()
    app.tap(test_id="bring-in")
    app.idle()
    app.idle()
    return app


def bring_in(app: Driver, *names: str) -> None:
    """Choose files, read them, and wait for the report."""
    for name in names:
        app.tap(test_id=f"file-{name}")
    app.tap(test_id="begin-import")
    until_reported(app)


def until_reported(app: Driver) -> None:
    """Wait for the report."""
    app.until(lambda: app.find_all(test_id="report-heading"), "the report")
    app.wait(0.5)  # the progress bar goes, and the page takes its room


def drop(app: Driver, *paths: Path) -> None:
    """Drop files on the window as SDL tells of it: a begin, each file, an end."""
    app.window.dispatch("on_drop_begin", 100, 100)
    for path in paths:
        app.window.dispatch("on_drop_file", os.fsencode(path), 100, 100)
    app.window.dispatch("on_drop_end", 100, 100)
    app.frames(3)


def asked(app: Driver, question: Callable[[Logbook], Any]) -> Any:
    """Ask the logbook in its own thread."""
    answers: list[Any] = []
    app.app.ask(question, then=answers.append)
    app.until(lambda: answers)
    return answers[0]


def assert_fits(app: Driver) -> None:
    """Nothing small, close, clipped or out of the window."""
    assert not app.small_targets()
    assert not app.close_targets()
    assert not app.clipped_texts()
    assert not app.texts_out_of_window()

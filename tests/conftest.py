"""Fixtures that open the app: one window a session, a fresh app and a fresh logbook for each test.

They stand here because the tests of the screens and the journeys share the one window.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

TESTS = Path(__file__).parent
sys.path.insert(0, str(TESTS / "screens"))  # where the driver lies

from driver import ON_THE_DOCK, SIZES, Driver, OpenApp, set_environment, why_no_window  # noqa: E402

FAILURES = TESTS / "failures"

# A check of a clean clone tries the same examples each time; on a desk Hypothesis looks for new ones.
settings.register_profile("clean clone", derandomize=True, deadline=None)
settings.register_profile("desk", deadline=None)
settings.load_profile("clean clone" if os.environ.get("CI") else "desk")


def pytest_configure() -> None:
    """Kivy reads its environment when it is first imported, by whichever test module.

    The tests read English whatever the system speaks; those about another language ask for it.
    """
    os.environ["LANGUAGE"] = "en"
    os.environ["PYTHON_KEYRING_BACKEND"] = "keyring.backends.fail.Keyring"  # nobody's own is written to
    set_environment()


@pytest.fixture(scope="session")
def window() -> Driver:
    """The one window. Where none opens: skipped on a desk, failed in CI."""
    why = why_no_window()
    if why and os.environ.get("CI"):
        pytest.fail(why, pytrace=False)
    if why:
        pytest.skip(why)
    return Driver()


@pytest.fixture
def open_app(window: Driver, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[OpenApp]:
    """Return a function that starts the app: `open_app(logbook_path, at=, size=, text_scale=, wait=)`.

    Without a path the logbook is new and empty. Rooms are built when a test goes there, unless
    it asks for `builds_ahead`. After the test nothing unexpected may stand in
    the trouble log; a failed test leaves a picture and the tree of widgets in tests/failures.
    """
    from logbook_app.logbook import Logbook
    from logbook_app.screens.app import LeadlineApp

    trouble_log = tmp_path / "trouble.log"

    def start(
        logbook_path: Path | None = None,
        *,
        at: datetime = ON_THE_DOCK,
        size: tuple[int, int] = SIZES["tablet"],
        text_scale: float = 1.0,
        wait: bool = True,
        builds_ahead: bool = False,
        notify: Callable[[str, str], Any] | None = None,
    ) -> Driver:
        window.dock_time = at
        path = logbook_path or tmp_path / "logbook.leadline"
        app = LeadlineApp(
            lambda: Logbook.open(path, now=window.clock),
            window.clock,
            trouble_log,
            tmp_path / "last-look.txt",
            builds_ahead,
            notify,
        )
        window.start(app, size, text_scale)
        if wait:
            window.idle()
        return window

    yield start
    _leave_evidence(window, request.node)
    window.stop()
    assert not trouble_log.exists(), trouble_log.read_text(encoding="utf-8")


@pytest.fixture
def app(open_app: OpenApp) -> Driver:
    """The app on an empty logbook, tablet size."""
    return open_app()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Any:
    """Keep the outcome of the test itself, for `open_app` to look at."""
    report = yield
    if report.when == "call":
        item.stash[_FAILED] = report.failed
    return report


_FAILED = pytest.StashKey[bool]()


def _leave_evidence(window: Driver, item: pytest.Item) -> None:
    if not item.stash.get(_FAILED, False) or window.app is None:
        return
    stem = "".join(letter if letter.isalnum() else "_" for letter in item.name)
    window.picture(FAILURES / f"{stem}.png")
    (FAILURES / f"{stem}.txt").write_text(window.tree(), encoding="utf-8")

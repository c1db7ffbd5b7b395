"""Killed, put to sleep, turned, short of memory: what was half written is there again.

The kill is a real one: the app runs in a process of its own, and the system ends that process without a word
to it, as a phone does that needs the memory.
"""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest
from driver import SIZES, Driver, OpenApp

from logbook_app.logbook import Logbook
from logbook_app.screens.entry_draft import EntryDraft

ROOT = Path(__file__).parents[2]

HALF_WAY = """
import sys
sys.path[:0] = [sys.argv[2], sys.argv[2] + "/tests/screens"]
from driver import Driver, set_environment
set_environment()
from pathlib import Path
from logbook_app.logbook import Logbook
from logbook_app.screens.app import LeadlineApp

driver = Driver()
app = LeadlineApp(lambda: Logbook.open(Path(sys.argv[1]), now=driver.clock), driver.clock, None, None, False)
driver.start(app, (360, 640))
driver.idle()

def touch(test_id):
    driver.tap(driver.bring_into_view(driver.find(test_id=test_id)))

def told(words):
    driver.idle()
    print(words, flush=True)

touch("pre-dive")
driver.idle()
touch("check-valve")
touch("plan")
driver.wait(0.3)
driver.type("Row ashore")
told("card")
touch("rail-record")
driver.idle()
touch("field-max_depth_m")
for key in "28":
    driver.tap(test_id="key-" + key)
told("depth")
driver.tap(test_id="key-next")
while True:
    driver.tap(test_id="key-1")
    driver.tap(test_id="key-clear")
"""


@pytest.fixture
def killed(window: Driver, tmp_path: Path) -> Path:
    """A logbook whose app was ended in the middle of an entry."""
    path = tmp_path / "killed.leadline"
    command = [sys.executable, "-c", HALF_WAY, str(path), str(ROOT)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT) as app:
        assert app.stdout is not None
        for said in app.stdout:
            if said.strip() == "depth":
                break
        app.send_signal(signal.SIGKILL)
    assert app.returncode == -signal.SIGKILL
    return path


@pytest.mark.skipif(sys.platform == "win32", reason="there a process is ended in another way")
def test_a_kill_in_the_middle_of_an_entry_loses_nothing_that_was_shown(
    killed: Path, open_app: OpenApp
) -> None:
    """The card with its half sentence, and the number that was typed: both are there at the next start."""
    logbook = Logbook.open(killed)
    card, draft = logbook.pre_dive.waiting(), EntryDraft.from_text(logbook.draft())
    logbook.close()
    assert card is not None
    assert (card.kit_checked, card.plan) == (("valve",), "Row ashore")
    assert draft.max_depth_m == 28.0  # it was ended while the time was being typed
    app = open_app(killed, size=SIZES["phone"])
    app.tap(app.bring_into_view(app.find(test_id="pre-dive")))
    app.idle()
    assert app.find(test_id="plan").text == "Row ashore"


def test_a_pause_and_a_turn_in_the_middle_of_an_entry(open_app: OpenApp, tmp_path: Path) -> None:
    """The system may end a paused app at any time, and turns it while a number is being typed."""
    path = tmp_path / "paused.leadline"
    app = open_app(path, size=SIZES["phone"])
    app.tap(test_id="rail-record")
    app.idle()
    app.tap(test_id="field-max_depth_m")
    for key in "28":
        app.tap(test_id=f"key-{key}")
    app.app.on_pause()
    kept = Logbook.open(path)
    assert EntryDraft.from_text(kept.draft()).max_depth_m == 28.0
    kept.close()
    app.app.on_resume()
    app.resize(640, 360)
    app.resize(1280, 800)
    assert app.find(test_id="pad-value").text == "28 m"
    app.tap(test_id="key-next")
    assert app.find(test_id="field-max_depth_m").words == "28 m"


def test_a_low_memory_warning_takes_nothing_away(open_app: OpenApp, tmp_path: Path) -> None:
    """The system warns before it ends apps: what is written and what is shown stays as it is."""
    app = open_app(tmp_path / "low.leadline")
    app.tap(test_id="rail-record")
    app.idle()
    app.tap(test_id="field-max_depth_m")
    app.tap(test_id="key-9")
    app.window.dispatch("on_memorywarning")
    app.frames(3)
    assert app.find(test_id="pad-value").text == "9 m"
    app.tap(test_id="rail-logbook")
    app.idle()
    app.window.dispatch("on_memorywarning")
    app.frames(3)
    assert app.misfits() == []

"""From a file in the downloads to the surface interval on the screen: the whole app, touched.

A new logbook, the demo's own recording, a clock on the dock that stands at a known time. The dive
surfaced at 11:52 by the file (start 11:05, 47 minutes), so at 14:07 the interval is 2 h 15 min; both
are worked by hand from what the file says.
"""

from __future__ import annotations

import shutil
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from driver import OpenApp

from logbook_app.logbook import Logbook
from logbook_app.screens import import_page
from logbook_app.shipped_files import shipped_folder

RECORDING = "last_weekend.uddf"
ON_THE_DOCK = datetime.fromisoformat("2026-11-14T14:07:10+01:00")


@pytest.mark.derived
def test_from_a_file_to_the_surface_room(
    open_app: OpenApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Record, bring in, choose, read, report, Surface; then the file on the disk has the dives."""
    downloads = tmp_path / "home" / "Downloads"
    downloads.mkdir(parents=True)
    shutil.copy(shipped_folder("demo_data") / RECORDING, downloads / RECORDING)
    monkeypatch.setenv("HOME", str(downloads.parent))
    monkeypatch.setattr(import_page, "has_file_chooser", lambda: False)
    path = tmp_path / "logbook.leadline"

    app = open_app(path, at=ON_THE_DOCK)
    app.tap(test_id="rail-record")
    app.idle()
    app.tap(test_id="bring-in")
    app.idle()
    app.idle()
    app.tap(test_id=f"file-{RECORDING}")
    app.tap(test_id="begin-import")
    app.until(lambda: app.find_all(test_id="report-heading"), "the report")
    assert app.find(test_id="report-heading").text == "2 dives added."
    app.wait(0.5)  # the progress bar goes, and the page takes its room

    app.tap(test_id="to-surface")
    app.idle()
    app.wait(0.5)
    assert app.says("2 h 15 min")
    assert app.says("11:52")
    assert app.says("Heron Ledge")

    app.leap(timedelta(hours=1))
    app.idle()
    app.wait(0.5)
    assert app.says("3 h 15 min")

    on_disk = Logbook.open(path, now=lambda: ON_THE_DOCK)
    assert [dive.number for dive in on_disk.dives()] == [213, 214]
    assert on_disk.surface().surface_interval_min == pytest.approx(135, abs=1)
    on_disk.close()

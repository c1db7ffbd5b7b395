"""Two recordings of one dive on its page, and what was mended in a recording."""

from __future__ import annotations

from pathlib import Path

import pytest
from bringing_in import WEEKEND, asked, assert_fits
from driver import ON_THE_DOCK, SIZES, Driver, OpenApp

from logbook_app.analysis.dive_words import dive_sheet
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.record import Dive
from logbook_app.logbook import Logbook
from logbook_app.screens.recording_lines import recording_lines
from logbook_app.shipped_files import shipped_folder

DEEPER = 1.02  # what the second gauge reads more


@pytest.fixture(scope="session")
def twice_logbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's last weekend, its first dive recorded by a second gauge as well."""
    folder = tmp_path_factory.mktemp("twice")
    logbook = Logbook.open(folder / "twice.leadline", now=lambda: ON_THE_DOCK)
    logbook.import_files([shipped_folder("demo_data") / WEEKEND])
    dive = logbook.dives()[0]
    profile = logbook.profile_of(dive)
    assert profile is not None
    rows = (f"{at},{depth * DEEPER:.2f}\n" for at, depth in zip(profile.time_s, profile.depth_m, strict=True))
    second = folder / "second_gauge.csv"
    second.write_text(f"# began: {dive.began_local.isoformat()}\ntime (s),depth (m)\n" + "".join(rows))
    assert logbook.import_files([second]).joined == (dive.id,)
    logbook.close()
    return folder / "twice.leadline"


@pytest.fixture
def twice(twice_logbook: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    copy = tmp_path / "twice.leadline"
    copy.write_bytes(twice_logbook.read_bytes())
    return copy


def on_first_dive(app: Driver) -> Driver:
    dive = asked(app, lambda logbook: logbook.dives()[0])
    app.app.open_dive(dive.id)
    app.idle()
    app.frames(3)
    return app


def test_another_recording_leads_and_the_first_one_again(open_app: OpenApp, twice: Path) -> None:
    """The figures follow the recording that leads; undo puts the first one back."""
    app = on_first_dive(open_app(twice))
    before = asked(app, lambda logbook: logbook.dives()[0])
    assert app.find(test_id="recordings").text == "Recordings (2)"
    app.tap(app.bring_into_view(app.find(test_id="lead-with")))
    app.idle()
    app.idle()
    after = asked(app, lambda logbook: logbook.dives()[0])
    assert after.recordings[0].file_name == "second_gauge.csv"
    assert after.max_depth_m == pytest.approx(before.max_depth_m * DEEPER, abs=0.01)
    assert app.says("second_gauge.csv leads now.")
    lines = recording_lines(after, SpokenUnits())
    shown = [label.text for label in app.find_all(test_id="recording-line")]
    assert shown == [line.line for line in lines]
    app.tap(test_id="undo")
    app.idle()
    app.idle()
    again = asked(app, lambda logbook: logbook.dives()[0])
    assert (again.recordings[0], again.max_depth_m) == (before.recordings[0], before.max_depth_m)
    assert app.find_all(test_id="recording-line")[0].text == recording_lines(before, SpokenUnits())[0].line


def test_a_dive_recorded_once_has_no_such_card(open_app: OpenApp, twice: Path) -> None:
    """There is nothing to choose."""
    app = open_app(twice)
    dive = asked(app, lambda logbook: logbook.dives()[1])
    app.app.open_dive(dive.id)
    app.idle()
    app.frames(3)
    assert not app.find_all(test_id="recordings")
    assert recording_lines(dive, SpokenUnits()) == ()


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_the_recordings_fit(open_app: OpenApp, twice: Path, size: tuple[int, int]) -> None:
    """At every size of window, with large text."""
    app = on_first_dive(open_app(twice, size=size, text_scale=1.3))
    app.bring_into_view(app.find(test_id="lead-with"))
    assert_fits(app)


def test_each_recording_tells_its_own_start_and_depth(twice: Path) -> None:
    """The leading one by the dive, the other by its own account."""
    logbook = Logbook.open(twice)
    dive = logbook.dives()[0]
    first, second = recording_lines(dive, SpokenUnits())
    assert (first.leads, second.leads) == (True, False)
    assert first.line.startswith("began 08:20 · 15.2 m · ")
    assert second.heading == "second_gauge.csv"
    assert second.line.startswith("began 08:20 · 15.5 m")
    logbook.close()


def test_what_was_mended_stands_in_the_record(tmp_path: Path) -> None:
    """A spike that no diver swam: where it was, what was recorded, what the figures take."""
    depths = [0, *[12.0] * 30, 60.0, *[12.0] * 30, 0]
    rows = "".join(f"{10 * at},{depth}\n" for at, depth in enumerate(depths))
    file = tmp_path / "spike.csv"
    file.write_text(f"# began: 2026-11-14T10:00+01:00\ntime (s),depth (m)\n{rows}")
    logbook = Logbook.open(tmp_path / "logbook.leadline")
    (dive_id,) = logbook.import_files([file]).added
    record = {line.label: line.value for line in dive_sheet(logbook.dive_view(dive_id), SpokenUnits()).record}
    assert record["Mended"] == "spike 5:00 to 5:20, recorded 60.0 m, taken as 12.0 m"
    logbook.close()


def test_another_recording_is_laid_over_the_chart(open_app: OpenApp, twice: Path) -> None:
    """A chip lays it over; the finger reads both and the difference, the clocks are told."""
    app = on_first_dive(open_app(twice))
    card = app.find(role="ChartCard")
    (other,) = card.others
    chip = app.find(test_id=f"lay-over-{other.fingerprint}")
    app.tap(app.bring_into_view(chip))
    assert chip.chosen
    assert card.chart.other is other
    assert app.find(test_id="clock-words").text == (
        "second_gauge.csv stands where its own clock puts it: it began at the same second. "
        "By its shape it began at the same second."
    )
    card.chart.scrub_s = 600
    app.frames(2)
    section = card.section
    depth_m = section.depth_at(600)
    said = card.chart.readout
    assert said[1] == f"second_gauge.csv: {depth_m * DEEPER:.1f} m"
    assert said[2] == f"{depth_m * (DEEPER - 1):.1f} m deeper than this one"
    assert_fits(app)
    app.tap(chip)
    assert card.chart.other is None
    assert app.find_all(test_id="clock-words") == []


@pytest.mark.parametrize("opened", ["recorded", "written"])
def test_the_same_dive_once_more_is_offered_made_one_and_parted_again(
    open_app: OpenApp, tmp_path: Path, opened: str
) -> None:
    """From either page; the record that stays is shown, with what was written in the other."""
    logbook = Logbook.open(tmp_path / "offer.leadline", now=lambda: ON_THE_DOCK)
    logbook.import_files([shipped_folder("demo_data") / WEEKEND])
    recorded = logbook.dives()[-1]
    written = Dive(
        began_at=recorded.began_at,
        duration_min=round(recorded.duration_min),
        max_depth_m=round(recorded.max_depth_m),
        notes="Trained by the pier.",
        estimate=True,
    )
    logbook.keep_dives([written])
    before = {dive.id: dive for dive in logbook.dives()}
    logbook.close()
    page = open_app(tmp_path / "offer.leadline", size=SIZES["phone"])
    page.app.open_dive(recorded.id if opened == "recorded" else written.id)
    page.idle()
    page.idle()
    page.tap(page.bring_into_view(page.find(test_id=f"make-one-{written.id}")))
    page.idle()
    page.idle()
    assert page.app.shell.rooms.room("dive").dive_id == recorded.id
    assert "Trained by the pier." in asked(page, lambda book: book.dive(recorded.id)).notes
    assert not page.find_all(test_id="offers")
    page.tap(test_id="undo")
    page.idle()
    assert asked(page, lambda book: {dive.id: dive for dive in book.dives()}) == before

"""The page of one dive: what it says, its chart under the finger, deleting and undoing."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from driver import ON_THE_DOCK, SIZES, Driver, OpenApp
from pypdf import PdfReader

from logbook_app.analysis.dive_words import dive_name, dive_sheet
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.record import Dive, Site, Water
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.shipped_files import shipped_folder

METRIC, IMPERIAL = SpokenUnits("metric"), SpokenUnits("imperial")


@pytest.fixture(scope="session")
def weekend_logbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's last weekend and one hand entry after it; each test gets a copy."""
    path = tmp_path_factory.mktemp("weekend") / "weekend.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    logbook.import_files([shipped_folder("demo_data") / "last_weekend.uddf"])
    logbook.add_by_hand(
        HandEntry(
            began_local=ON_THE_DOCK,
            duration_min=34,
            max_depth_m=13,
            gas=BreathingGas(0.32),
            site=Site.named("Otter Steps", elevation_m=412.0, water=Water.FRESH),
            notes="Two [b]perch[/b].",
        )
    )
    logbook.close()
    return path


@pytest.fixture
def weekend(weekend_logbook: Path, tmp_path: Path) -> Path:
    """A logbook with dives 213 and 214 from a recorder, and 215 written by hand."""
    return Path(shutil.copy(weekend_logbook, tmp_path / "weekend.leadline"))


@pytest.fixture
def heron_ledge(open_app: OpenApp, weekend: Path) -> Driver:
    """The page of dive 214, which has samples, a fast stretch and a stop."""
    return on_page(open_app(weekend), 214)


def on_page(driver: Driver, number: int) -> Driver:
    """Open the page of the dive with this number."""
    rows: list[Any] = []
    driver.app.ask(lambda logbook: logbook.rows(), then=rows.extend)
    driver.idle()
    driver.app.open_dive(next(row.id for row in rows if row.number == number))
    driver.idle()
    driver.frames(3)
    return driver


def chart(driver: Driver) -> Any:
    return driver.find(test_id="chart")


def figures(driver: Driver) -> dict[str, str]:
    """Return the figures under the chart by their labels."""
    return {widget.label: widget.value for widget in driver.find_all(role="SmallFigure")}


# What it says


def test_page_says_which_dive_it_is(heron_ledge: Driver) -> None:
    """Number, site, day, local time with its offset, buddy, height, source."""
    assert heron_ledge.find(test_id="dive-title").text == "Dive 214 · Heron Ledge"
    about = heron_ledge.find(test_id="about").text
    assert about.startswith("Sat 14 Nov 2026, 11:05 (UTC+1) · with ")
    assert about.endswith("412 m above sea level · from a recorder file")


def test_figures_come_from_the_samples(heron_ledge: Driver) -> None:
    """Greatest and mean depth as the samples give them, worked out here once more."""
    section = chart(heron_ledge).section
    shown = figures(heron_ledge)
    assert shown["Max depth"] == f"{max(section.depth_m):.1f} m"
    steps_s = section.time_s[1:] - section.time_s[:-1]
    mean_m = ((section.depth_m[1:] + section.depth_m[:-1]) / 2 * steps_s).sum() / steps_s.sum()
    assert float(shown["Mean depth"].split()[0]) == pytest.approx(mean_m, abs=0.15)  # its bounds are at 1 m
    assert list(shown) == [
        "Max depth",
        "Mean depth",
        "Dive time",
        "Coldest",
        "Minute volume",
        "Gas used",
        "Least no-stop",
        "Load at surfacing",
        "CNS",
    ]


def test_only_what_needs_a_look_has_the_accent(heron_ledge: Driver) -> None:
    """The fast stretch is in the accent; what went as usual is not."""
    from kivy.utils import get_hex_from_color

    accent = get_hex_from_color(heron_ledge.app.look.theme.accent)
    said = [label.text for label in heron_ledge.find_all(role="Words") if label.markup]
    marked = [text for text in said if accent in text]
    assert len(said) >= 3
    assert all("fast stretch" in text or "Deeper than" in text for text in marked)
    assert marked


def test_caution_names_the_model_and_defers(heron_ledge: Driver) -> None:
    """Figures that could be acted on say what they rest on."""
    caution = heron_ledge.find(test_id="caution").text
    for part in ("ZH-L16C", "40/85", "training", "local rules", "physician"):
        assert part in caution


def test_estimate_says_so(open_app: OpenApp, weekend: Path) -> None:
    """By the title, in the findings and on the chart, whose line is the square that the load took."""
    page = on_page(open_app(weekend), 215)
    assert page.find(test_id="estimate").text.startswith("An estimate")
    assert page.says("[b]")  # the findings
    section = chart(page).section
    assert section.estimate
    assert section.depth_m.tolist() == [0, 13, 13, 0]
    assert section.end_s == 34 * 60
    assert figures(page)["Dive time"] == "34 min"


def test_notes_are_shown_as_written(open_app: OpenApp, weekend: Path) -> None:
    """What looks like markup in a note is text."""
    page = on_page(open_app(weekend), 215)
    (notes,) = page.find_all(role="Words", text="Two [b]perch[/b].")
    assert not notes.markup
    assert page.find(test_id="edit-notes").value == notes.text


def test_page_follows_the_divers_units(heron_ledge: Driver) -> None:
    """Feet on the figures and on the chart, as soon as the settings change."""

    def to_feet(logbook: Any) -> Any:
        return logbook.change_settings(replace(logbook.settings(), units="imperial"))

    heron_ledge.app.ask(to_feet, then=heron_ledge.app.changed)
    heron_ledge.idle()
    heron_ledge.idle()
    assert figures(heron_ledge)["Max depth"] == "93 ft"  # 28.4 m / 0.3048 m = 93.2
    assert chart(heron_ledge).section.imperial


def test_sheet_lists_what_was_written_down_and_nothing_else(tmp_path: Path) -> None:
    """Each field of the record that has a value has a line; the others have none."""
    logbook = Logbook.open(tmp_path / "l.leadline", now=lambda: ON_THE_DOCK)
    full = Dive(
        began_at=ON_THE_DOCK,
        utc_offset_min=60,
        duration_min=40,
        max_depth_m=20,
        mean_depth_m=12,
        site=Site.named("Heron Ledge", latitude_deg=46.5, longitude_deg=-7.25, region="Lantermere"),
        surface_bar=0.97,
        cylinders=(Cylinder(BreathingGas(0.32), 12.0, 200, 80), Cylinder(None, name="stage")),
        weights_kg=6,
        suit="dry suit",
        visibility_m=12,
        current="none",
        conditions="calm",
        air_temperature_c=13,
        purpose="training",
        rating=8,
        tags=("night",),
        estimate=True,
        extra={"uddf:thermalcomfort": "cold"},
    )
    bare = Dive(began_at=ON_THE_DOCK - timedelta(days=9), duration_min=40, max_depth_m=5, estimate=True)
    logbook.keep_dives([full, bare])
    lines = {line.label: line.value for line in dive_sheet(logbook.dive_view(full.id), METRIC).record}
    assert lines["Cylinder 1"].startswith("nitrox 32, 12 L, 200 bar to 80 bar")
    assert lines["Cylinder 2"] == "stage, gas not recorded"
    assert lines["At the surface"] == "0.970 bar, as recorded"
    assert lines["Weights"] == "6 kg"
    assert lines["Visibility"] == "12 m"
    assert lines["Rating"] == "8 of 10"
    assert lines["Position"] == "46.50000° N, 7.25000° W"
    assert lines["Also in the file"] == "Comfort: cold"
    assert {"Suit", "Current", "Conditions", "Air", "Purpose", "Tags", "Region"} <= set(lines)
    bare_lines = {line.label for line in dive_sheet(logbook.dive_view(bare.id), METRIC).record}
    assert bare_lines == {"Highest ppO₂", "Oxygen units", "At the surface"}
    logbook.close()


def test_dive_without_number_and_site_is_called_by_its_day() -> None:
    """There is always something to call a dive by."""
    assert dive_name(Dive(began_at=ON_THE_DOCK, duration_min=40, max_depth_m=20)) == "Dive of Sat 14 Nov 2026"


# Touching it


def test_finger_on_the_chart_scrubs_at_once(heron_ledge: Driver) -> None:
    """No waiting whether it is a scroll: the card is there in the next frame."""
    widget = chart(heron_ledge)
    frame = widget.frame
    finger = heron_ledge.finger(*widget.to_window(float(frame.x(18 * 60)), widget.center_y))
    finger.down()
    heron_ledge.frames(1)
    assert widget.scrub_s == pytest.approx(18 * 60, abs=4)
    assert widget.readout[0].startswith(("18:0", "17:5"))
    finger.up()
    assert heron_ledge.find(test_id="page").scroll_y == 1


def test_finger_that_goes_up_the_chart_scrolls_the_page(open_app: OpenApp, weekend: Path) -> None:
    """On a phone the chart fills the screen; the page must scroll all the same."""
    page = on_page(open_app(weekend, size=SIZES["phone"]), 214)
    widget = chart(page)
    x, y = widget.to_window(widget.center_x, widget.y + 60)
    page.drag_from(x, y, dx=4, dy=220, frames=12)
    page.wait(0.3)
    assert page.find(test_id="page").scroll_y < 0.95


def test_arrow_keys_move_the_scrub_line(heron_ledge: Driver) -> None:
    """Right and left, a hundred and twentieth of what is shown each; only while the page is shown."""
    widget = chart(heron_ledge)
    heron_ledge.press_key(275, "right")
    first_s = widget.scrub_s
    heron_ledge.press_key(275, "right")
    assert widget.scrub_s == pytest.approx(first_s + widget.to_s / 120)
    heron_ledge.press_key(276, "left")
    assert widget.scrub_s == pytest.approx(first_s)
    heron_ledge.press_back()
    heron_ledge.press_key(275, "right")
    assert widget.scrub_s == pytest.approx(first_s)


def test_deleting_can_be_undone(heron_ledge: Driver) -> None:
    """Delete asks nothing, goes back, and offers to undo."""
    heron_ledge.tap(test_id="delete")
    heron_ledge.idle()
    assert heron_ledge.app.shell.rooms.current != "dive"
    assert heron_ledge.says("Dive 214 · Heron Ledge is deleted.")
    numbers = numbers_in_logbook(heron_ledge)
    assert 214 not in numbers
    heron_ledge.tap(test_id="undo")
    heron_ledge.idle()
    assert numbers_in_logbook(heron_ledge) == sorted([*numbers, 214])


def test_second_tap_on_delete_does_nothing_more(heron_ledge: Driver) -> None:
    """A wet finger taps twice: one dive is deleted, and one step is gone back."""
    page = heron_ledge.app.shell.rooms.room("dive")
    heron_ledge.app.go("logbook")
    heron_ledge.app.open_dive(page.dive_id)
    heron_ledge.idle()
    page.delete()
    page.delete()
    heron_ledge.idle()
    assert heron_ledge.app.shell.rooms.current == "logbook"
    assert len(numbers_in_logbook(heron_ledge)) == 2


def numbers_in_logbook(driver: Driver) -> list[int]:
    found: list[int] = []
    driver.app.ask(lambda logbook: sorted(row.number for row in logbook.rows()), then=found.extend)
    driver.idle()
    return found


def test_turning_to_another_dive_shows_it_from_the_top(heron_ledge: Driver) -> None:
    """Nothing of the dive before stays: neither its scrub line nor how far one had scrolled."""
    chart(heron_ledge).scrub_s = 600
    heron_ledge.find(test_id="page").scroll_y = 0
    on_page(heron_ledge, 213)
    assert heron_ledge.find(test_id="dive-title").text.startswith("Dive 213")
    assert chart(heron_ledge).scrub_s is None
    assert heron_ledge.find(test_id="page").scroll_y == 1


def test_dive_that_is_not_there_is_said_and_left(app: Driver) -> None:
    """A page of a dive that is gone says so and goes back."""
    app.app.open_dive("no such dive")
    app.idle()
    assert app.app.shell.rooms.current != "dive"
    assert app.find(test_id="undo-bar").sentence


@pytest.mark.parametrize("text_scale", [1.0, 1.3, 2.0])
@pytest.mark.parametrize("number", [214, 215])
def test_page_fits_its_window(open_app: OpenApp, weekend: Path, text_scale: float, number: int) -> None:
    """Nothing is clipped or over another text, nothing too small for a finger, at any size."""
    page = on_page(open_app(weekend, text_scale=text_scale), number)
    for _size in page.at_each_size():
        assert page.misfits() == []


def test_the_page_can_be_printed(heron_ledge: Driver, weekend: Path) -> None:
    """The PDF lies beside a logbook that lies somewhere of its own, and the app says where."""
    heron_ledge.tap(heron_ledge.bring_into_view(heron_ledge.find(test_id="print-dive")))
    heron_ledge.idle()
    printed = weekend.parent / "dive 214.pdf"
    assert "Dive 214 · Heron Ledge" in PdfReader(printed).pages[0].extract_text()
    assert heron_ledge.says(printed.name)


@pytest.mark.parametrize("ending", [".uddf", ".csv", ".json"])
def test_the_dive_can_be_taken_out_and_read_again(heron_ledge: Driver, weekend: Path, ending: str) -> None:
    """The file lies beside the logbook, the app says where, and a logbook reads the dive from it."""
    touched = heron_ledge.find(test_id=f"take-out-{ending[1:]}")
    heron_ledge.tap(heron_ledge.bring_into_view(touched))
    heron_ledge.idle()
    written = weekend.parent / f"dive 214{ending}"
    assert heron_ledge.says(written.name)
    other = Logbook.open(weekend.parent / "other.leadline", now=lambda: ON_THE_DOCK)
    report = other.import_files([written])
    assert len(report.added) == 1
    other.close()


def test_a_dive_without_samples_offers_none(open_app: OpenApp, weekend: Path) -> None:
    page = on_page(open_app(weekend), 215)
    assert page.find(test_id="take-out-csv").disabled

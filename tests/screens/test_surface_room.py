"""The Surface room: the clock, the four figures, the curve and its marks, the table, the caution."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from driver import ON_THE_DOCK, SIZES, Driver, OpenApp
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.record import Site
from logbook_app.logbook import Logbook
from logbook_app.screens.going_up_lines import (
    HIGHEST_M,
    LOWEST_M,
    Answer,
    GoingUp,
    RuleLine,
    stepped_pass_m,
)
from logbook_app.screens.surface_lines import surface_sheet
from logbook_app.screens.tide_lines import LabelPlace, hour_ticks, load_scale, place_labels
from logbook_app.screens.widgets.going_up import GoingUpTable

SURFACED = ON_THE_DOCK - timedelta(hours=2, minutes=15)


@pytest.fixture
def one_dive(tmp_path: Path) -> Path:
    """A logbook with one dive: 18 m for 40 min on air at Heron Ledge, surfaced at 11:52."""
    return _logbook(tmp_path, [(SURFACED, 40, 18.0)])


@pytest.fixture
def two_dives(tmp_path: Path) -> Path:
    """The same after a dive in the morning."""
    return _logbook(tmp_path, [(SURFACED - timedelta(hours=3), 30, 20.0), (SURFACED, 40, 18.0)])


def _logbook(folder: Path, dives: list[tuple[datetime, float, float]]) -> Path:
    path = folder / "dived.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    for surfaced, minutes, depth_m in dives:
        logbook.add_by_hand(
            HandEntry(
                began_local=surfaced - timedelta(minutes=minutes),
                duration_min=minutes,
                max_depth_m=depth_m,
                site=Site.named("Heron Ledge"),
            )
        )
    logbook.close()
    return path


# What the page says


def test_the_last_dive_is_named(open_app: OpenApp, one_dive: Path) -> None:
    """Site, depth, time, gas and when the diver surfaced, by the clock on the dock."""
    line = open_app(one_dive).find(test_id="last-line").text.replace("\u00a0", " ")
    assert line == "Last dive · Heron Ledge · 18.0 m, 40 min · air · surfaced 11:52"


def test_a_clock_that_was_set_back_is_pointed_out(open_app: OpenApp, two_dives: Path) -> None:
    """After a flat battery the later dive counts in no figure; nobody may fly by what is then shown."""
    app = open_app(two_dives, at=SURFACED - timedelta(hours=1))
    app.idle()
    said = app.find(test_id="look-here").text
    assert said.startswith("1 dive ends after Sat 14 Nov 2026, 10:52 (UTC+1), this device's time")
    for _size in app.at_each_size():
        assert app.misfits() == []
    app.stop()
    app = open_app(two_dives, at=SURFACED - timedelta(days=300))
    app.idle()
    assert app.find(test_id="look-here").text.startswith("2 dives end after")
    app.stop()
    assert not open_app(two_dives).says("this device's time")


def test_the_interval_follows_the_clock(open_app: OpenApp, one_dive: Path) -> None:
    """Derived from the clock, not counted: a sleep of the tablet loses no minute."""
    app = open_app(one_dive)
    interval = app.find(test_id="interval")
    assert interval.value == "2 h 15 min"
    app.wait(61)
    assert interval.value == "2 h 16 min"
    app.leap(timedelta(hours=1))
    assert interval.value == "3 h 16 min"


@pytest.mark.published
def test_one_dive_waits_twelve_hours_to_fly(open_app: OpenApp, one_dive: Path) -> None:
    """Consensus guideline of the Flying After Recreational Diving Workshop, May 2002 (proceedings 2004).

    A single no-decompression dive: at least 12 h. Surfaced 11:52, so from 23:52 the same day.
    """
    fly = open_app(one_dive).find(test_id="fly")
    assert fly.value == "9 h 45 min"
    assert fly.label.startswith("Time to fly · cabin 2")
    assert fly.detail == "from 23:52 · by the guideline"


@pytest.mark.published
def test_several_dives_wait_eighteen_hours(open_app: OpenApp, two_dives: Path) -> None:
    """The same guideline: multiple dives a day or several days of diving, at least 18 h."""
    app = open_app(two_dives)
    fly = app.find(test_id="fly")
    assert fly.value == "15 h 45 min"
    assert fly.detail == "from Sun 05:52 · by the guideline"
    assert "18 h after several dives (guideline)" in app.find(test_id="going-up-sentences").text


# Going up


def test_the_deciding_rule_is_marked_and_said(open_app: OpenApp, one_dive: Path) -> None:
    """Every rule has its time; the latest is the one filled, and it is the time to fly."""
    app = open_app(one_dive)
    rules = app.find(test_id="going-up").lines.rules
    assert [rule.rule for rule in rules][::2] == ["Guideline", "Model alone"]
    assert [rule.cabin.decides for rule in rules] == [True, False, False]
    assert rules[0].cabin.words == "23:52"
    assert app.find(test_id="going-up-sentences").text.startswith(
        "The filled mark decides. Cabin: 12 h after one dive (guideline)."
    )


def test_a_table_shows_the_rules_that_it_was_made_with(app: Driver) -> None:
    """Given in its constructor, before its own rows are there, they show all the same."""
    answers = (Answer("Sun 05:52", decides=True), Answer("13:17"))
    rules = (RuleLine("Guideline", *answers), RuleLine("Model alone", *reversed(answers)))
    table = GoingUpTable(lines=GoingUp("2 438 m", "600 m", rules, ""))
    assert [row.line for row in reversed(table.ids.body.children)] == list(rules)


def test_a_lower_pass_never_waits_longer(open_app: OpenApp, one_dive: Path) -> None:
    """Each touch of minus lowers the pass by 100 m; the page says when, at once and without a restart."""
    app = open_app(one_dive)
    assert app.find(test_id="pass").text.replace("\u202f", "") == "1000 m"
    for _ in range(4):
        app.tap(app.bring_into_view(app.find(test_id="pass-less")))
    app.wait(0.3)
    app.idle()
    assert app.find(test_id="pass").text == "600 m"
    lines = app.find(test_id="going-up").lines
    assert lines.crossing == "600 m"
    assert lines.rules[0].crossing.words == "no answer"  # the guideline begins at 2,000 ft, 610 m
    assert [rule.crossing.decides for rule in lines.rules].count(True) == 1
    assert " Pass: " in lines.sentences


@pytest.mark.published
def test_a_pass_above_the_cabin_waits_a_day(open_app: OpenApp, one_dive: Path) -> None:
    """FAA, Aeronautical Information Manual 8-1-2: 24 h after any dive to go above 8,000 ft (from memory)."""
    app = open_app(one_dive)
    room = app.find(role="SurfaceRoom")
    room.step_pass(20)
    app.wait(0.3)
    app.idle()
    lines = app.find(test_id="going-up").lines
    assert lines.crossing.replace("\u202f", "") == "3000 m"
    assert (lines.rules[0].crossing.words, lines.rules[0].crossing.decides) == ("Sun 11:52", True)
    assert "Pass: 24 h after any dive, above 8,000 ft (FAA)." in lines.sentences


@pytest.mark.parametrize("system", ["metric", "imperial"])
def test_the_pass_keeps_to_round_numbers_and_its_range(system: str) -> None:
    """100 m or 500 ft a touch; beyond the ends a touch changes nothing."""
    units = SpokenUnits(system)
    for steps in (1, -1):
        elevation_m, before_m = stepped_pass_m(1000.0, 0, units), 0.0
        while elevation_m != before_m:
            before_m, elevation_m = elevation_m, stepped_pass_m(elevation_m, steps, units)
            assert LOWEST_M <= elevation_m <= HIGHEST_M
    said = units.elevation(stepped_pass_m(1000.0, 1, units)).replace("\u202f", "")
    assert said in ("1100 m", "4000 ft")


def test_the_oxygen_of_the_day_stands_under_its_clock(open_app: OpenApp, one_dive: Path) -> None:
    """850 OTU on a single day: REPEX as reproduced in the NOAA Diving Manual, recalled from memory."""
    detail = open_app(one_dive).find(test_id="oxygen").detail.replace("\u00a0", " ")
    assert "of 24 h limit" in detail
    assert detail.endswith("of 850")


def test_everything_is_seen_at_once_on_a_tablet(open_app: OpenApp, two_dives: Path) -> None:
    """At 1280 x 800 nothing scrolls: figures, curve, ladder, limits and the rules for going up."""
    app = open_app(two_dives)
    page = app.find(test_id="page")
    assert page.children[0].height <= page.height
    for test_id in ("fly", "tide-curve", "ladder", "limits-table", "going-up"):
        widget = app.find(test_id=test_id)
        assert 0 <= widget.to_window(*widget.pos)[1] <= 800 - widget.height


def test_figures_in_a_row_are_equally_high(open_app: OpenApp, two_dives: Path) -> None:
    """A longer line under one figure raises all of its row."""
    app = open_app(two_dives)
    for _size in app.at_each_size():
        heights = {name: app.find(test_id=name).height for name in ("interval", "load", "fly", "oxygen")}
        assert heights["interval"] == heights["load"]
        assert heights["fly"] == heights["oxygen"]


def test_the_wait_never_ends_a_second_too_soon(open_app: OpenApp, one_dive: Path) -> None:
    """Rounded up: a minute is said until its last second has passed."""
    app = open_app(one_dive, at=SURFACED + timedelta(hours=11, minutes=59, seconds=20))
    fly = app.find(test_id="fly")
    assert fly.value == "1 min"
    app.wait(41)
    assert fly.value == "0 min"
    assert fly.detail.startswith("wait over since 23:52")


def test_the_load_is_worked_out_again(open_app: OpenApp, one_dive: Path) -> None:
    """The load falls while the page is looked at; the worker works it out each minute."""
    app = open_app(one_dive)
    before = app.find(test_id="ladder").rungs
    app.wait(62)
    app.idle()
    after = app.find(test_id="ladder").rungs
    assert max(rung.load for rung in after) < max(rung.load for rung in before)
    assert [rung.at_surfacing for rung in after] == [rung.at_surfacing for rung in before]


def test_only_what_changed_is_set(open_app: OpenApp, one_dive: Path) -> None:
    """A tick that sets every text would lay the page out each second."""
    app = open_app(one_dive, at=ON_THE_DOCK + timedelta(seconds=2))
    set_texts: list[str] = []
    for name in ("interval", "load", "fly", "oxygen"):
        app.find(test_id=name).bind(value=lambda _widget, text: set_texts.append(text))
    app.wait(50)
    assert set_texts == []
    app.wait(10)
    assert set_texts == ["2 h 16 min", "9 h 44 min"]


def test_a_clear_diver_is_told_so(open_app: OpenApp, one_dive: Path) -> None:
    """Days later every compartment is at or under 5 %: the page says since when, and draws no curve."""
    app = open_app(one_dive, at=SURFACED + timedelta(days=4))
    assert app.find(test_id="state-line").text.startswith("Clear since ")
    assert "clear since" in app.find(test_id="load").detail
    assert app.find(test_id="interval").value == "4 d 0 h"
    assert not app.find_all(test_id="tide-curve")


def test_an_estimate_says_so(open_app: OpenApp, one_dive: Path) -> None:
    """A dive without samples was taken as square; whoever reads the load must know."""
    assert open_app(one_dive).find(test_id="look-here").text.startswith("Estimate:")


def test_an_empty_logbook_says_what_to_do(app: Driver) -> None:
    """No figures that could be taken for a state; two ways to begin."""
    assert app.says("No dive yet")
    assert not app.find_all(test_id="fly")
    app.tap(test_id="record-a-dive")
    app.idle()
    assert app.app.shell.rooms.current == "record"
    app.press_back()
    app.tap(test_id="import-a-file")
    app.idle()
    assert app.app.shell.rooms.current == "import"


def test_a_first_dive_replaces_the_empty_page(app: Driver) -> None:
    """What is recorded elsewhere shows here without a restart."""
    entry = HandEntry(began_local=SURFACED - timedelta(minutes=40), duration_min=40, max_depth_m=18)
    app.app.ask(lambda logbook: logbook.add_by_hand(entry)[1], then=app.app.changed)
    app.idle()
    app.idle()
    assert app.find(test_id="interval").value == "2 h 15 min"


@pytest.mark.parametrize("at", [SURFACED + timedelta(minutes=1), ON_THE_DOCK, SURFACED + timedelta(days=4)])
def test_the_caution_is_always_on_the_page(open_app: OpenApp, one_dive: Path, at: datetime) -> None:
    """It stands outside what scrolls, on a phone too, and defers to whom it must."""
    app = open_app(one_dive, at=at, size=SIZES["phone"])
    caution = app.find(test_id="caution")
    assert "physician" in caution.text
    assert "local rules" in caution.text
    assert 0 <= caution.to_window(*caution.pos)[1] < 640


def test_the_table_names_its_gas_and_factors(open_app: OpenApp, one_dive: Path) -> None:
    """A no-stop time without its gas and its factors is no figure."""
    app = open_app(one_dive)
    assert app.says("No-stop time on the next dive · air · 40/85")
    rows = app.find(test_id="limits-table").rows
    minutes = [int(now.split()[0]) for _depth, now, _later in rows]
    assert minutes == sorted(minutes, reverse=True)


def test_an_hour_more_never_shortens_a_no_stop_time(one_dive: Path) -> None:
    """At the surface every compartment loses gas, so no depth can allow less an hour later."""
    logbook = Logbook.open(one_dive, now=lambda: ON_THE_DOCK)
    rows = surface_sheet(logbook, ON_THE_DOCK).limits.rows
    logbook.close()
    assert all(int(later.split()[0]) >= int(now.split()[0]) for _depth, now, later in rows)


# Where it is put


@pytest.mark.parametrize(
    ("minutes_up", "text_scale"), [(135, 1.0), (135, 1.3), (135, 2.0), (1, 1.0), (1435, 1.3), (1800, 1.0)]
)
def test_the_page_fits(open_app: OpenApp, two_dives: Path, text_scale: float, minutes_up: int) -> None:
    """Nothing clipped, nothing over anything, nothing too small to touch, at any size and instant."""
    app = open_app(two_dives, at=SURFACED + timedelta(minutes=minutes_up), text_scale=text_scale)
    for _size in app.at_each_size():
        for where in (1.0, 0.5, 0.0):
            app.find(test_id="page").scroll_y = where
            app.frames(2)
            assert app.misfits() == []


@pytest.mark.law
@given(
    data=st.lists(st.tuples(st.floats(0, 1), st.floats(60, 250)), min_size=1, max_size=3),
    width=st.floats(300, 1200),
)
def test_labels_of_marks_never_lie_over_each_other(data: list[tuple[float, float]], width: float) -> None:
    """Whatever the marks and the width of the chart, as long as each label has room by itself."""
    at = [share * width for share, _ in data]
    widths = [min(label, width) for _, label in data]
    places = place_labels(at, widths, 0.0, width)
    boxes = list(zip(places, widths, strict=True))
    for index, (place, label) in enumerate(boxes):
        assert 0 <= place.left <= width - label + 1e-6
        for other, other_label in boxes[index + 1 :]:
            assert place.step != other.step or not _over(place, label, other, other_label)


def _over(a: LabelPlace, a_width: float, b: LabelPlace, b_width: float) -> bool:
    return a.left < b.left + b_width and b.left < a.left + a_width


@pytest.mark.derived
def test_hours_are_those_of_a_clock() -> None:
    """From 11:52 for 24 h with room for eight: every third hour of the clock, midnight by its day."""
    began = datetime.fromisoformat("2026-11-14T11:52:00+01:00")
    ticks = hour_ticks(began, 24 * 60, 8)
    assert [words for _, words in ticks] == [
        "12:00", "15:00", "18:00", "21:00", "Sun 15", "03:00", "06:00", "09:00",
    ]  # fmt: skip
    assert ticks[0][0] == 8.0
    assert ticks[4][0] == (24 - 11) * 60 - 52


@pytest.mark.derived
@pytest.mark.parametrize(
    ("largest", "top"), [(0.64, 0.75), (0.75, 0.75), (0.99, 1.0), (1.04, 1.25), (0.3, 0.3), (0.0, 0.1)]
)
def test_the_scale_of_the_load_ends_on_a_line(largest: float, top: float) -> None:
    """The next quarter above the largest load, or the next tenth where the load is small."""
    assert load_scale(largest)[0] == top
    assert load_scale(largest)[1][-1] == top


# The sheet for an accident


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_the_sheet_for_an_accident_is_one_touch_away(open_app: OpenApp, one_dive: Path, size: str) -> None:
    """It is written beside a logbook that lies somewhere of its own, and the app says where."""
    app = open_app(one_dive, size=SIZES[size])
    app.tap(app.bring_into_view(app.find(test_id="accident-sheet")))
    app.idle()
    (path,) = one_dive.parent.glob("*.pdf")
    assert path.name == f"accident sheet {ON_THE_DOCK:%Y-%m-%d %H%M}.pdf"
    assert "1 dive in the 72 h before now" in PdfReader(path).pages[0].extract_text()
    assert app.says(path.name)


def test_a_sheet_is_never_written_over_another(open_app: OpenApp, one_dive: Path) -> None:
    app = open_app(one_dive)
    for _ in range(2):
        app.tap(test_id="accident-sheet")
        app.idle()
    assert len(list(one_dive.parent.glob("*.pdf"))) == 2

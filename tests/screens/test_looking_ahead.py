"""Looking ahead from the surface, touching the ladder, and the page of a rested diver."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from driver import ON_THE_DOCK, SIZES, Driver, OpenApp
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.compartment_state import compartment_states
from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.record import Site
from logbook_app.logbook import Logbook
from logbook_app.screens.looking_ahead import FARTHEST, SNAP, kept_ahead
from logbook_app.screens.surface_lines import surface_sheet

SURFACED = ON_THE_DOCK - timedelta(hours=2, minutes=15)
EVENING = ON_THE_DOCK.replace(hour=18, minute=30)
RIGHT, LEFT = 275, 276


@pytest.fixture
def two_dives(tmp_path: Path) -> Path:
    """A logbook with two dives at Heron Ledge, the last one surfaced at 11:52."""
    path = tmp_path / "dived.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    for before, minutes, depth_m in ((timedelta(hours=3), 30, 20.0), (timedelta(), 40, 18.0)):
        began = SURFACED - before - timedelta(minutes=minutes)
        site = Site.named("Heron Ledge")
        logbook.add_by_hand(
            HandEntry(began_local=began, duration_min=minutes, max_depth_m=depth_m, site=site)
        )
    logbook.close()
    return path


def drag_to(app: Driver, instant: datetime, frames: int = 8) -> None:
    """Drag along the curve from now to an instant."""
    curve = app.bring_into_view(app.find(test_id="tide-curve"))
    drawing = curve.drawing
    minutes = (instant - SURFACED).total_seconds() / 60
    x, y = curve.to_window(drawing.x(drawing.lines.marks[0].minutes), curve.center_y)
    app.drag_from(x, y, drawing.x(minutes) - drawing.x(drawing.lines.marks[0].minutes), 0, frames)
    app.idle()
    app.idle()


def shown(app: Driver) -> dict[str, Any]:
    """Return what the page shows of each of its parts."""
    part = app.find(role="BetweenDives")
    return {
        "interval": app.find(test_id="interval").value,
        "load": app.find(test_id="load").value,
        "fly": app.find(test_id="fly").value,
        "oxygen": app.find(test_id="oxygen").value,
        "ladder": part.sheet.rungs,
        "limits": part.sheet.limits.rows,
        "oxygen detail": part.sheet.state.cns_fraction,
    }


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_the_whole_page_follows_the_finger(open_app: OpenApp, two_dives: Path, size: tuple[int, int]) -> None:
    """Dragged to 18:30, the page is what the logbook says of 18:30, and says so in words."""
    app = open_app(two_dives, size=size)
    drag_to(app, EVENING)
    at = app.find(role="SurfaceRoom")._at
    assert abs(at - EVENING) <= timedelta(minutes=30)  # a point of the phone's curve is a quarter of an hour
    logbook = Logbook.open(two_dives, now=lambda: ON_THE_DOCK)
    then = surface_sheet(logbook, at)
    logbook.close()
    figures = {figure.label.split(" · ")[0]: figure.value for figure in then.figures_at(at)}
    page = shown(app)
    assert page["interval"] == figures["Surface interval"]
    assert page["load"] == figures["Residual load"]
    assert page["fly"] == figures["Time to fly"]
    assert page["oxygen"] == figures["Oxygen"]
    assert page["limits"] == then.limits.rows
    assert [rung.load for rung in page["ladder"]] == [rung.load for rung in then.rungs]
    when = f"{at:%H:%M}"
    assert when in app.find(test_id="ahead").text
    assert "if you do not dive before then" in app.find(test_id="ahead").text
    assert (
        app.find(test_id="interval").label.endswith(f"at\u00a0{when}")
        or when in app.find(test_id="interval").label
    )
    assert app.find(test_id="limits-table").when == f"at {when}"
    assert app.misfits() == []


def test_back_to_now_is_a_touch_and_a_key(open_app: OpenApp, two_dives: Path) -> None:
    """The words go, and the figures are those of the clock again."""
    app = open_app(two_dives)
    before = shown(app)
    for go_back in (lambda: app.tap(test_id="back-to-now"), app.press_back):
        drag_to(app, EVENING)
        assert shown(app) != before
        go_back()
        app.idle()
        app.idle()
        assert shown(app)["interval"] == before["interval"]
        assert not app.find_all(test_id="back-to-now")
        assert app.app.shell.rooms.current == "surface"


def test_an_hour_later_needs_no_gesture(open_app: OpenApp, two_dives: Path) -> None:
    """Buttons and arrow keys do what the finger does: nothing is behind a gesture alone."""
    app = open_app(two_dives)
    later = app.find(test_id="hour-later")
    assert not app.find_all(test_id="hour-earlier")  # nothing lies before now
    app.tap(later)
    app.tap(later)
    app.idle()
    assert app.find(test_id="interval").value == "4 h 13 min"  # 16:05, on whole five minutes
    app.tap(test_id="hour-earlier")
    app.idle()
    assert app.find(test_id="interval").value == "3 h 13 min"
    app.press_key(RIGHT, "right")
    app.idle()
    assert app.find(test_id="interval").value == "3 h 23 min"
    for _ in range(8):
        app.press_key(LEFT, "left")
    app.idle()
    app.idle()
    assert not app.find_all(test_id="ahead")


def test_a_finger_that_goes_up_or_down_scrolls(open_app: OpenApp, two_dives: Path) -> None:
    """On a phone the curve lies in the way of the thumb that scrolls the page: nothing looks ahead."""
    app = open_app(two_dives, size=SIZES["phone"])
    curve = app.bring_into_view(app.find(test_id="tide-curve"))
    page = app.find(test_id="page")
    before = page.scroll_y
    app.drag(curve, dy=120)
    app.wait(0.5)
    assert page.scroll_y != before
    assert not app.find_all(test_id="ahead")


def test_dragging_never_waits_for_the_worker(open_app: OpenApp, two_dives: Path) -> None:
    """One question at a time however many points the finger crosses, and the last one is answered."""
    app = open_app(two_dives)
    asked: list[None] = []
    ask = app.app.ask

    def counted(*args: Any, **kwargs: Any) -> None:
        asked.append(None)
        ask(*args, **kwargs)

    app.app.ask = counted
    room = app.find(role="SurfaceRoom")
    for minutes in range(140, 640, 5):
        room.look_at_minutes(minutes)
    assert len(asked) == 1
    curve = app.find(test_id="tide-curve")
    app.frames(1)
    assert curve.at_min == pytest.approx(635, abs=2.5)  # the line is there before any answer
    app.app.ask = ask
    app.idle()
    app.idle()
    assert app.find(test_id="interval").value.startswith("10 h 3")


def test_the_curve_is_not_drawn_anew_while_a_finger_drags(open_app: OpenApp, two_dives: Path) -> None:
    """Only the line moves, and the figures, bars and times that follow it: dragging stays smooth."""
    app = open_app(two_dives)
    drag_to(app, EVENING)
    curve = app.find(test_id="tide-curve")
    drawing, texts = curve.drawing, list(curve.children)
    drag_to(app, EVENING + timedelta(hours=3), frames=30)
    app.wait(0.2)
    assert curve.drawing is drawing
    assert set(texts) == set(curve.children)
    assert "at 21:3" in curve.at_words


def test_the_past_is_not_shown_and_the_end_is_kept() -> None:
    """An instant is kept on five whole minutes, after now and within three days."""
    assert kept_ahead(ON_THE_DOCK - timedelta(hours=1), ON_THE_DOCK) is None
    assert kept_ahead(ON_THE_DOCK, ON_THE_DOCK) is None
    assert kept_ahead(ON_THE_DOCK + timedelta(days=30), ON_THE_DOCK) == ON_THE_DOCK + FARTHEST


@pytest.mark.law
@given(st.floats(0.1, 72.0))
def test_an_instant_ahead_is_near_what_was_wanted(hours: float) -> None:
    """Never further away than half of five minutes, and never in the past."""
    wanted = ON_THE_DOCK + timedelta(hours=hours)
    at = kept_ahead(wanted, ON_THE_DOCK)
    assert at is not None
    assert at > ON_THE_DOCK
    assert abs(at - wanted) <= SNAP / 2


def test_leaving_the_page_leaves_the_future(open_app: OpenApp, two_dives: Path) -> None:
    """Whoever comes back to the page later must not take yesterday's wish for now."""
    app = open_app(two_dives)
    drag_to(app, EVENING)
    app.app.on_pause()
    app.app.on_resume()
    assert app.find(test_id="interval").value != "2 h 15 min"
    assert app.find(test_id="ahead").text  # for as long as the figures are those of later
    app.idle()
    app.idle()
    assert not app.find_all(test_id="ahead")
    assert app.find(test_id="interval").value == "2 h 15 min"


def test_the_clock_catches_up_with_the_instant(open_app: OpenApp, two_dives: Path) -> None:
    """Once 16:05 is there, the page shows now."""
    app = open_app(two_dives)
    app.tap(test_id="hour-later")
    app.idle()
    app.leap(timedelta(hours=1, minutes=10))
    app.idle()
    assert not app.find_all(test_id="ahead")
    assert app.find(test_id="interval").value == "3 h 25 min"


# The ladder


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_a_touch_on_a_rung_tells_of_its_compartment(
    open_app: OpenApp, two_dives: Path, size: tuple[int, int]
) -> None:
    """Half-times, tensions, limit, load now and at surfacing, and when it is clear; keys go to the next."""
    app = open_app(two_dives, size=size)
    ladder = app.bring_into_view(app.find(test_id="ladder"))
    finger = app.finger(*ladder.to_window(ladder.center_x, ladder.rung_middle(4)))
    finger.down()
    app.frames(2)
    finger.up()
    app.frames(15)
    logbook = Logbook.open(two_dives, now=lambda: ON_THE_DOCK)
    fifth = compartment_states(logbook.surface(ON_THE_DOCK), logbook.rules())[4]
    logbook.close()
    words = app.find(test_id="rung-words").text
    assert words.startswith("Compartment 5 of 16: half-time 27 min for nitrogen, 10.21 min for helium.")
    assert f"Nitrogen {fifth.n2_bar:.2f} bar, helium 0.00 bar" in words
    assert f"surface with {fifth.limit_bar:.2f} bar (gradient factor 85 %)" in words
    assert f"{fifth.load_at_surfacing * 100:.0f} % at surfacing" in words
    assert re.search(r"Clear (from|since) \d\d:\d\d: at or under 5 %\.$", words)
    app.tap(app.bring_into_view(app.find(test_id="rung-slower")))
    assert app.find(test_id="rung-words").text.startswith("Compartment 6 of 16")
    assert app.misfits() == []
    app.tap(app.bring_into_view(app.find(test_id="rung-close")))
    assert not app.find_all(test_id="rung-words")


# Two days without a dive


def test_a_rested_diver_is_offered_the_last_dives(open_app: OpenApp, two_dives: Path) -> None:
    """Two days up, clear and free to fly: said in words, and a touch opens the newest dive."""
    app = open_app(two_dives, at=SURFACED + timedelta(hours=49))
    assert app.find(test_id="state-line").text.startswith("Clear since ")
    assert not app.find_all(test_id="tide-curve")
    assert not app.find_all(test_id="hour-later")
    newest = app.find(test_id="last-dive-1")
    assert "Heron Ledge" in newest.entry.heading
    assert newest.entry.detail.startswith("18.0 m, 40 min")
    for _size in app.at_each_size():
        app.wait(0.3)
        assert app.misfits() == []
    app.tap(app.bring_into_view(app.find(test_id="last-dive-1")))
    app.idle()
    assert app.app.shell.rooms.current == "dive"


def test_a_day_up_is_not_yet_rested(open_app: OpenApp, two_dives: Path) -> None:
    """Clear and free to fly, but within two days: the curve still tells the story."""
    app = open_app(two_dives, at=SURFACED + timedelta(hours=40))
    assert app.find_all(test_id="tide-curve")
    assert not app.find_all(test_id="last-dive-1")


# A page that ticks


def test_a_minute_of_ticking_draws_only_what_changed(
    open_app: OpenApp, two_dives: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sixty ticks: two figures change their words once, with the page worked out anew once.

    Counted are the textures that texts are made into, and the frames that were drawn because something had
    changed. For the fifty seconds in which no figure changes there are none of either.
    """
    from kivy.core.text import LabelBase

    app = open_app(two_dives, at=ON_THE_DOCK + timedelta(seconds=2))
    app.wait(2)
    made: list[str] = []
    drawn: list[float] = []
    refresh = LabelBase.refresh
    monkeypatch.setattr(LabelBase, "refresh", lambda label: (made.append(label.text), refresh(label))[1])
    see = app.window.fbind("on_draw", lambda _window: drawn.append(app.kivy_now_s))
    for _ in range(50 * 60):
        app.frames(1)  # each drawn, where there is something to draw
    assert made == []
    assert drawn == []
    for _ in range(10 * 60):  # a minute of the clock ends, and the worker works the page out again
        app.frames(1)
    app.idle()
    app.window.unbind_uid("on_draw", see)
    assert 0 < len(made) <= 60, (
        made
    )  # the figures that changed, and the texts on the curve: its now has moved
    assert 0 < len(drawn) <= 30


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_the_line_of_the_finger_never_runs_through_its_own_words(
    open_app: OpenApp, two_dives: Path, size: tuple[int, int]
) -> None:
    """Right of the line, left of it, or on top of it: what it says can be read wherever it stands."""
    app = open_app(two_dives, size=size)
    for hours in (1, 4, 8, 12):
        drag_to(app, ON_THE_DOCK + timedelta(hours=hours))
        curve = app.find(test_id="tide-curve")
        line, label = curve._handle._line.points, curve._handle._label
        assert label.text
        assert not (label.x < line[0] < label.right and label.y < line[3])
        assert label.right <= curve.right

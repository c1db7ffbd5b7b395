"""The Buddies room: a likely pair and a group on one chart, a line that is moved, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bringing_in import asked
from driver import SIZES, Driver, OpenApp

from logbook_app.demo_logbook import demo_clock, throw_away_demo
from logbook_app.logbook import Logbook


@pytest.fixture(scope="module")
def demo() -> Iterator[Path]:
    """The demo logbook with the recordings of two buddies, to be thrown away."""
    with throw_away_demo() as path:
        yield path


def open_room(
    open_app: OpenApp, demo: Path, size: tuple[int, int] = SIZES["tablet"], **kwargs: Any
) -> Driver:
    """Go to the room as a diver does, and wait until it has looked for partners."""
    app = open_app(demo, size=size, at=demo_clock()(), **kwargs)
    if not app.find_all(test_id="rail-buddies"):
        app.tap(test_id="rail-more")
        app.frames(3)
    app.tap(test_id="rail-buddies")
    app.until(lambda: app.find_all(test_id="pair-0"), "a likely pair")
    app.idle()
    return app


def compare_newest(app: Driver) -> Any:
    """Touch the first likely pair; return the room."""
    app.tap(app.bring_into_view(app.find(test_id="pair-0")))
    app.until(lambda: app.find_all(test_id="together-title"), "the comparison")
    app.idle()
    return room_of(app)


def room_of(app: Driver) -> Any:
    return app.app.shell.rooms.room("buddies")


def said(app: Driver) -> list[str]:
    return [label.text for label in app.find_all(test_id="said")]


def settle(app: Driver) -> None:
    """Let the worker answer what the last steps asked."""
    app.wait(0.4)
    app.idle()


def test_a_likely_pair_is_offered_and_laid_over_each_other(open_app: OpenApp, demo: Path) -> None:
    app = open_room(open_app, demo)
    assert app.find(test_id="pair-0").line.heading == "Dive 214 with Imke Rieselang"
    room = compare_newest(app)
    assert app.find(test_id="together-title").text == "You and Imke Rieselang"
    assert said(app)[0].startswith("The shapes are those of one dive. This clock is 10 min behind")
    assert [label.text for label in app.find_all(test_id="named-line")] == ["you", "Imke Rieselang"]
    app.press_back()
    assert not room.comparing
    assert app.find_all(test_id="pair-0")


def test_the_finger_reads_both_and_the_difference(open_app: OpenApp, demo: Path) -> None:
    app = open_room(open_app, demo)
    room = compare_newest(app)
    chart = room.ids.chart
    x, y = chart.to_window(*chart.center)
    app.drag_from(x - 200, y, 60, 0)
    _when, leader, other, apart = chart.readout
    (line,) = chart.divers
    leader_m, other_m = chart.section.depth_at(chart.scrub_s), line.depth_at(chart.scrub_s)
    assert leader.startswith(f"you · {leader_m:.1f} m")
    assert other.startswith(f"Imke Rieselang · {other_m:.1f} m")
    assert apart == f"{abs(other_m - leader_m):.1f} m {'deeper' if other_m > leader_m else 'shallower'}"


def test_a_line_is_moved_by_steps_and_by_a_finger_and_goes_back(open_app: OpenApp, demo: Path) -> None:
    app = open_room(open_app, demo)
    room = compare_newest(app)
    (beside,) = room.together.comparison.others
    by_shape_s, first = beside.lag_s, said(app)
    assert beside.laid_by == "shape"
    app.tap(app.bring_into_view(app.find(test_id="move")))
    for step in ("step-10", "step-10", "step-1", "step--1", "step--10"):
        app.tap(app.bring_into_view(app.find(test_id=step)))
    settle(app)
    (beside,) = room.together.comparison.others
    assert (beside.laid_by, beside.lag_s) == ("hand", pytest.approx(by_shape_s + 10))
    assert said(app)[0].startswith("Laid by hand.")
    assert said(app)[1] != first[1]
    chart = room.ids.chart
    app.bring_into_view(chart)
    began_s, scrub_s = chart.divers[0].begins_s, chart.scrub_s
    x, y = chart.to_window(*chart.center)
    app.drag_from(x, y, 80, 0)
    moved_s = round(80 / chart.frame.width * (chart.to_s - chart.from_s))
    assert chart.divers[0].begins_s == pytest.approx(began_s + moved_s, abs=0.5)
    assert chart.scrub_s == scrub_s
    settle(app)
    (beside,) = room.together.comparison.others
    assert beside.lag_s == pytest.approx(by_shape_s + 10 + moved_s, abs=0.5)
    assert chart.divers[0].begins_s == pytest.approx(began_s + moved_s, abs=0.5)
    app.tap(app.bring_into_view(app.find(test_id="unmoved")))
    settle(app)
    (beside,) = room.together.comparison.others
    assert (beside.laid_by, beside.lag_s) == ("shape", by_shape_s)
    assert said(app) == first
    assert app.find(test_id="unmoved").disabled


def test_the_limits_change_what_counts_as_apart(open_app: OpenApp, demo: Path) -> None:
    app = open_room(open_app, demo)
    compare_newest(app)
    app.tap(app.bring_into_view(app.find(test_id="limit-m-10")))
    settle(app)
    assert "Never more than 10.0 m apart for longer than 1 min." in said(app)
    app.tap(app.bring_into_view(app.find(test_id="limit-m-2")))
    app.tap(app.bring_into_view(app.find(test_id="limit-s-30")))
    settle(app)
    (told,) = (words for words in said(app) if "more than 2.0 m apart for longer than 30 s" in words)
    assert told[0].isdigit()


def test_a_group_is_chosen_with_its_leader_first(open_app: OpenApp, demo: Path) -> None:
    """After the leader is chosen, those begun nearest stand at the top."""
    app = open_room(open_app, demo)
    first = asked(app, lambda logbook: [dive.id for dive in logbook.buddies.to_choose_from()])[0]
    assert app.find(test_id="compare").disabled
    app.tap(app.bring_into_view(app.find(test_id=f"choose-{first}")))
    app.idle()
    nearest = asked(app, lambda logbook: [dive.id for dive in logbook.buddies.to_choose_from(first)])
    assert nearest[0] == first
    for dive_id in nearest[1:3]:
        app.tap(app.bring_into_view(app.find(test_id=f"choose-{dive_id}")))
        app.idle()
    room = room_of(app)
    assert list(room.picked) == nearest[:3]
    assert " leads. Along: " in app.find(test_id="picked").text
    app.tap(app.bring_into_view(app.find(test_id="compare")))
    app.idle()
    app.idle()
    assert len(room.ids.chart.divers) == 2
    assert app.find_all(test_id="gaps")
    assert len(app.find_all(test_id="named-line")) == 3


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_the_comparison_fits(open_app: OpenApp, demo: Path, size: tuple[int, int]) -> None:
    """With a line being moved, at several places of the page, also with large text."""
    app = open_room(open_app, demo, size=size)
    room = compare_newest(app)
    app.tap(app.bring_into_view(app.find(test_id="move")))
    for place in (1.0, 0.6, 0.3, 0.0):
        room.ids.compared.scroll_y = place
        app.frames(4)
        assert app.misfits() == []


@pytest.mark.parametrize("text_scale", [1.0, 2.0])
def test_a_group_fits_on_a_phone(open_app: OpenApp, demo: Path, text_scale: float) -> None:
    app = open_room(open_app, demo, size=SIZES["phone"], text_scale=text_scale)
    ids = asked(app, lambda logbook: [dive.id for dive in logbook.buddies.to_choose_from()])[:5]
    room = room_of(app)
    room.compare(ids)
    app.idle()
    app.idle()
    for place in (1.0, 0.75, 0.5, 0.25, 0.0):
        room.ids.compared.scroll_y = place
        app.frames(4)
        assert app.misfits() == []


def test_without_a_partner_it_says_what_to_do(open_app: OpenApp, tmp_path: Path) -> None:
    path = tmp_path / "alone.leadline"
    Logbook.open(path).close()
    app = open_app(path)
    app.app.go("buddies")
    app.idle()
    app.idle()
    assert app.find(test_id="no-pairs").text.startswith("No recording of somebody else")

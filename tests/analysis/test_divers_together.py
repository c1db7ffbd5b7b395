"""Who may have dived with whom, and several divers on one chart: moved lines, names, what is read of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from test_section_of_dive import EASY, section

from logbook_app.analysis.chart_layout import ChartLayout, Letters, chart_layout
from logbook_app.analysis.chart_lines import Frame
from logbook_app.analysis.chart_places import Box, Places
from logbook_app.analysis.divers_together import divers_readout, lag_words, moved
from logbook_app.analysis.likely_partners import FAR_EACH, NEAR_EACH, far_dives, near_dives
from logbook_app.analysis.other_recording import OtherRecording
from logbook_app.analysis.section_of_dive import Section
from logbook_app.dive.record import Dive

BEGAN = datetime(2026, 6, 14, 9, tzinfo=UTC)
TIME_S = np.array([0.0, 60.0, 1200.0, 1320.0, 1560.0, 1620.0])
DEPTH_M = np.array([0.0, 17.0, 17.0, 5.0, 5.0, 0.0])
FRAME = Frame(0, 0, 800, 400, 0.0, 1620.0, 26.0)
LETTERS = Letters(1.0, lambda words, _role: (8.0 * len(words), 14.0))


def record(hours: float, depth_m: float = 20.0, minutes: float = 40.0, name: str = "") -> Dive:
    began = BEGAN + timedelta(hours=hours)
    return Dive(id=name or f"{hours}", began_at=began, duration_min=minutes, max_depth_m=depth_m)


def line(name: str = "Ada", deeper_m: float = 0.0) -> OtherRecording:
    return OtherRecording(name, name, TIME_S, np.maximum(DEPTH_M + deeper_m, 0.0), "")


def with_divers(*lines: OtherRecording) -> Section:
    return replace(section(EASY), diver="you", divers=lines)


def laid_out(shown: Section) -> ChartLayout:
    lines = [(FRAME.x(each.time_s), FRAME.y(each.depth_m)) for each in shown.divers]
    own = FRAME.x(shown.time_s), FRAME.y(shown.depth_m)
    return chart_layout(shown, FRAME, LETTERS, Places(Box(0, 0, 800, 400), *own, 5.0, lines))


def test_dives_near_a_record_by_its_clock_come_nearest_first() -> None:
    others = [record(2.0), record(-1.0), record(0.5), record(40.0), record(0.2, depth_m=30.0)]
    assert [dive.id for dive in near_dives(record(0.0, name="theirs"), others)] == ["0.5", "-1.0", "2.0"]


def test_dives_of_any_day_come_most_alike_first() -> None:
    others = [record(100.0, 22.0), record(-900.0, 20.0), record(1.0), record(300.0, 20.5, 41.0)]
    found = far_dives(record(0.0, name="theirs"), others)
    assert [dive.id for dive in found] == ["-900.0", "300.0", "100.0"]


def test_no_more_than_a_few_are_tried() -> None:
    """However many dives there are."""
    others = [record(at / 10) for at in range(60)] + [record(100.0 + at) for at in range(60)]
    theirs = record(0.0, name="theirs")
    assert (len(near_dives(theirs, others)), len(far_dives(theirs, others))) == (NEAR_EACH, FAR_EACH)


@pytest.mark.law
def test_a_moved_line_keeps_its_depths() -> None:
    further = moved(line(), 30.0)
    assert further.depth_at(90.0) == line().depth_at(60.0)
    assert further.depth_at(20.0) is None


def test_where_a_line_lies_is_said_from_its_clock_on() -> None:
    assert lag_words(-5.0, -5.2) == "where its clock puts it"
    assert lag_words(-65.0, 0.0) == "65 s earlier than its clock"
    assert lag_words(3700.0, 0.0) == "1 h 01 min later than its clock"
    assert lag_words(0.0, 3 * 86400.0) == "3 d 0 h earlier than its clock"


def test_the_card_says_each_diver_and_how_far_from_the_leader() -> None:
    shown = with_divers(line("Ada", 2.0), line("Tom", -3.0), moved(line("Kim"), 900.0))
    assert divers_readout(shown, 600.0) == [
        "10:00",
        "you · 15.0 m",
        "Ada · 19.0 m · 4.0 m deeper",
        "Tom · 14.0 m · 1.0 m shallower",
        "Kim: nothing recorded",
    ]


def test_each_name_stands_on_its_own_side_of_the_lines() -> None:
    """The deeper diver's below, the other's above; figures of both lines likewise."""
    layout = laid_out(with_divers(line("Ada", 2.0)))
    assert layout.diver is not None
    (ada,) = layout.divers
    assert (layout.diver.words, ada.words) == ("you", "Ada")
    assert layout.diver.box.bottom > float(FRAME.y(15.0))
    assert ada.box.top < float(FRAME.y(19.0))
    figures = {put.words for put in layout.figures if put.role == "sounding"}
    assert {"15", "19"} <= figures
    assert not layout.remarks
    assert layout.stop is None


def test_a_group_names_who_is_outermost_and_leaves_the_rest_to_the_key() -> None:
    """A name between lines could belong to any of them."""
    shown = with_divers(line("Ada", 3.0), line("Tom", -2.5), line("Kim", -1.0))
    assert {put.words for put in laid_out(shown).divers} == {"Ada", "Tom"}


def test_who_began_long_after_is_not_drawn() -> None:
    """Else the chart would show weeks of nothing."""
    late = moved(line("Kim"), 500_000.0)
    assert with_divers(line(), late).drawn_end_s == pytest.approx(1620.0)
    assert with_divers(moved(line(), 300.0)).drawn_end_s == pytest.approx(1920.0)

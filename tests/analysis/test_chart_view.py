"""Which part of a dive a chart shows, for any sequence of zooms and moves. No window."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.chart_view import SHORTEST_S, ChartView

ENDS_S = st.floats(30.0, 40_000.0)
STEPS = st.lists(
    st.tuples(st.sampled_from(["zoom", "move", "show"]), st.floats(0.01, 100.0), st.floats(-9_000.0, 9_000.0))
)


@pytest.mark.law
@given(ENDS_S, STEPS)
def test_view_stays_within_the_dive(end_s: float, steps: list[tuple[str, float, float]]) -> None:
    """Whatever fingers do, it lies within the dive and is never shorter than a minute."""
    view = ChartView.whole(end_s)
    for what, factor, at_s in steps:
        if what == "zoom":
            view = view.zoomed(factor, min(max(at_s, view.from_s), view.to_s))
        elif what == "move":
            view = view.moved(at_s)
        else:
            view = view.showing(at_s, at_s + 100 * factor)
        assert view.from_s >= 0
        assert view.to_s <= view.whole_s * (1 + 1e-9)
        assert view.length_s >= min(SHORTEST_S, view.whole_s) * (1 - 1e-9)


@pytest.mark.law
@given(st.floats(0.1, 0.9), st.floats(1.0, 8.0))
def test_zoom_keeps_the_instant_under_the_pointer(share: float, factor: float) -> None:
    """Closer about an instant leaves it at the same share of the chart, where the dive's ends allow."""
    view = ChartView.whole(4000.0)
    about_s = view.from_s + share * view.length_s
    closer = view.zoomed(factor, about_s)
    assert (about_s - closer.from_s) / closer.length_s == pytest.approx(share, abs=1e-6)
    assert closer.zoomed(1 / factor, about_s).is_whole


def test_view_follows_an_instant_no_further_than_needed() -> None:
    """In view nothing moves; beyond an edge the edge goes to it."""
    view = ChartView.whole(1000.0).showing(300.0, 500.0)
    assert view.with_instant(400.0) == view
    assert (view.with_instant(520.0).from_s, view.with_instant(520.0).to_s) == (320.0, 520.0)
    assert view.with_instant(250.0).from_s == 250.0


def test_ends_of_the_scale_are_known() -> None:
    """The buttons that would do nothing are told."""
    whole = ChartView.whole(1000.0)
    assert (whole.is_whole, whole.is_closest) == (True, False)
    closest = whole.zoomed(1000.0, 500.0)
    assert (closest.is_whole, closest.is_closest) == (False, True)
    short = ChartView.whole(20.0)
    assert (short.is_whole, short.is_closest) == (True, True)

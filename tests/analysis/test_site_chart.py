"""Where sites lie on the sheet: all of them on it, true to scale, with a grid that can be read."""

from __future__ import annotations

from math import cos, radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.book_statistics import Place
from logbook_app.analysis.site_chart import LEAST_DEG, shore_lines, site_chart
from logbook_app.screens.coast_lines import coast_lines

WIDTH, HEIGHT = 400.0, 300.0


def place(north: float | None, east: float | None) -> Place:
    return Place("somewhere", north, east, 1, ("a",))


@pytest.mark.law
@given(st.lists(st.tuples(st.floats(-80, 80), st.floats(-180, 180)), min_size=1, max_size=6))
def test_every_site_is_on_the_sheet(positions: list[tuple[float, float]]) -> None:
    chart = site_chart([place(*each) for each in positions], WIDTH, HEIGHT)
    assert chart is not None
    for north, east in positions:
        assert -0.01 <= chart.x(east) <= WIDTH + 0.01
        assert -0.01 <= chart.y(north) <= HEIGHT + 0.01


def test_a_degree_east_is_as_much_shorter_as_its_parallel() -> None:
    chart = site_chart([place(60.0, 10.0)], WIDTH, HEIGHT)
    assert chart is not None
    assert chart.px_deg_east / chart.px_deg_north == pytest.approx(cos(radians(60.0)))
    assert HEIGHT / chart.px_deg_north == pytest.approx(LEAST_DEG)


def test_sites_on_both_sides_of_the_date_line_lie_side_by_side() -> None:
    chart = site_chart([place(-18.0, 179.0), place(-18.0, -179.0)], WIDTH, HEIGHT)
    assert chart is not None
    assert chart.x(179.0) < chart.x(-179.0)
    assert WIDTH / chart.px_deg_east < 10


def test_without_a_position_there_is_no_sheet() -> None:
    assert site_chart([place(None, None)], WIDTH, HEIGHT) is None
    assert site_chart([], WIDTH, HEIGHT) is None


def test_the_grid_names_its_degrees() -> None:
    chart = site_chart([place(0.5, -1.0), place(-0.5, 1.0)], WIDTH, HEIGHT)
    assert chart is not None
    names = {words: x for x, words in chart.meridians()}
    assert names["0°"] == pytest.approx(chart.x(0.0))
    assert {"1° W", "1° E"} <= set(names)
    rows = {words: y for y, words in chart.parallels()}
    assert rows["0°"] == pytest.approx(HEIGHT / 2)


def test_shores_are_steps_from_a_first_point() -> None:
    (line,) = shore_lines(100, [[100, 200, 10, -20, 0, 5]])
    assert line.tolist() == [[1.0, 2.0], [1.1, 1.8], [1.1, 1.85]]


def test_only_the_shore_on_the_sheet_is_drawn() -> None:
    chart = site_chart([place(0.0, 0.0)], WIDTH, HEIGHT)
    assert chart is not None
    near = np.array([[-0.1, 0.0], [0.1, 0.0], [0.1, 5.0]])
    far = np.array([[90.0, 0.0], [91.0, 0.0]])
    stretches = chart.shore([near, far])
    assert len(stretches) == 2
    assert stretches[0].tolist() == pytest.approx([chart.x(-0.1), HEIGHT / 2, chart.x(0.1), HEIGHT / 2])


def test_the_shipped_shores_are_those_of_this_planet() -> None:
    """The straits and capes that anybody finds on a globe; within the 5 km that the file says it keeps.

    Positions recalled: Cape Agulhas 34.83 S 20.00 E, the North Cape 71.17 N 25.78 E.
    """
    points = np.concatenate(coast_lines())
    assert np.all(np.abs(points[:, 0]) <= 180.01)
    assert np.all(np.abs(points[:, 1]) <= 90.01)
    for north, east in ((-34.83, 20.00), (71.17, 25.78)):
        assert np.hypot(points[:, 0] - east, points[:, 1] - north).min() < 0.3

"""The lines of a chart section, and the places of its words: plain functions, no window."""

from __future__ import annotations

import numpy as np
import pytest

from logbook_app.analysis import chart_lines as lines
from logbook_app.analysis.chart_places import (
    Box,
    Places,
    Wish,
    place_on_leaders,
    place_under_line,
)
from logbook_app.physics.units import feet_from_metres


def noisy_line(samples: int, width_px: float, noise_px: float) -> tuple[np.ndarray, np.ndarray]:
    """Return a line as irregular as a recorder's, x increasing."""
    noise = np.random.default_rng(samples)
    x = np.sort(noise.uniform(0, width_px, samples))
    x[0], x[-1] = 0.0, width_px
    return x, 200 + 80 * np.sin(x / 40) + noise.normal(0, noise_px, samples)


@pytest.mark.law
@pytest.mark.parametrize("samples", [2, 40, 500, 12_000])
def test_envelope_is_the_least_and_greatest_height_between_edges(samples: int) -> None:
    """Looked at sample by sample and edge by edge, slowly, the envelope is the same."""
    x, y = noisy_line(samples, 300, 6)
    edges = np.arange(301.0)
    low, high = lines.envelope(x, y, edges)
    for column in range(300):
        at_edges = np.interp([column, column + 1], x, y)
        inside = y[(x >= column) & (x < column + 1)]
        assert low[column] == pytest.approx(min([*at_edges, *inside]), abs=1e-9)
        assert high[column] == pytest.approx(max([*at_edges, *inside]), abs=1e-9)


@pytest.mark.law
def test_pen_on_a_level_line_leaves_its_own_width() -> None:
    """A level line of radius 1.1 is 2.2 pixels high in every column."""
    ink = lines.ink_of_line(np.array([10.0, 90.0]), np.array([50.0, 50.0]), 1.1)
    assert np.allclose(ink.upper, 51.1)
    assert np.allclose(ink.lower, 48.9)
    assert (ink.x[0], ink.x[-1]) == (9.5, 90.5)


@pytest.mark.law
@pytest.mark.parametrize("samples", [30, 400, 9_000])
def test_ink_goes_no_further_than_the_pen_and_covers_the_line(samples: int) -> None:
    """No joint spikes: the ink is nowhere higher than the line nearby plus the pen's radius."""
    x, y = noisy_line(samples, 300, 12)
    ink = lines.ink_of_line(x, y, 1.1)
    for column, lower, upper in zip(ink.x, ink.lower, ink.upper, strict=True):
        near = np.linspace(column - 1.25, column + 1.25, 400)
        heights = np.concatenate((np.interp(near, x, y), y[(x > near[0]) & (x < near[-1])]))
        assert heights.min() - 1.1 - 1e-9 <= lower < upper <= heights.max() + 1.1 + 1e-9
        here = np.interp(column, x, y)
        assert lower < here < upper


@pytest.mark.law
def test_one_sample_is_never_lost() -> None:
    """One deep sample among ten thousand, less than a column wide, is drawn to its full depth."""
    x, y = np.linspace(0, 300, 10_000), np.full(10_000, 100.0)
    y[6_543] = 37.0
    ink = lines.ink_of_line(x, y, 1.1)
    assert ink.lower.min() == pytest.approx(37.0 - 1.1)


def test_part_of_a_line_ends_on_the_line() -> None:
    """A view that begins between two samples begins at the depth between them."""
    time_s, depth_m = lines.part_of_line(
        np.array([0.0, 10.0, 20.0]), np.array([0.0, 5.0, 10.0]), from_s=4.0, to_s=15.0
    )
    assert time_s.tolist() == [4.0, 10.0, 15.0]
    assert depth_m.tolist() == [2.0, 5.0, 7.5]


def test_part_beyond_the_line_is_empty() -> None:
    """A view after the end of the dive has no line in it."""
    time_s, _ = lines.part_of_line(np.array([0.0, 10.0]), np.array([0.0, 5.0]), 20.0, 30.0)
    assert time_s.size == 0


@pytest.mark.law
def test_frame_finds_back_the_instant_under_a_finger() -> None:
    """What stands at x is what a finger at x means; beyond the edges it is the edge."""
    frame = lines.Frame(40, 30, 700, 300, from_s=600, to_s=1800, floor_m=32)
    assert frame.time_s(float(frame.x(777.0))) == pytest.approx(777.0)
    assert frame.point(600.0, 0.0) == (40, 330)
    assert frame.point(1800.0, 32.0) == (740, 30)
    assert (frame.time_s(-5), frame.time_s(5000)) == (600, 1800)


def test_tints_step_at_whole_depths_of_the_divers_unit() -> None:
    """5, 10, 20, 30, 40 m, or 15, 30, 60, 100, 130 ft, down to the floor of the chart."""
    metric = lines.tint_bands(32.0, imperial=False)
    assert metric == [(0, 5, 0), (5, 10, 1), (10, 20, 2), (20, 30, 3), (30, 32, 4)]
    imperial = lines.tint_bands(60.0, imperial=True)
    assert [round(feet_from_metres(top_m)) for top_m, _, _ in imperial] == [0, 15, 30, 60, 100, 130]
    assert imperial[-1][1] == 60.0


@pytest.mark.law
@pytest.mark.parametrize("imperial", [False, True])
@pytest.mark.parametrize("max_depth_m", [3.2, 28.4, 62.0, 120.0])
def test_depth_figures_stand_apart(max_depth_m: float, imperial: bool) -> None:
    """However deep the dive, the figures at the side never touch, and the surface is one of them."""
    floor_m = lines.floor_of_chart_m(max_depth_m, imperial)
    assert floor_m > max_depth_m
    marks = lines.depth_marks(floor_m, imperial, height_px=300, gap_px=18)
    heights = np.array([depth_m * 300 / floor_m for depth_m, _ in marks])
    assert marks[0] == (0.0, "0")
    assert (np.diff(heights) >= 18).all()
    assert heights[-1] <= 300


def test_depth_figures_of_a_dive_to_28_m() -> None:
    """The steps of the tints are numbered."""
    words = [words for _, words in lines.depth_marks(32.0, False, 360, 16)]
    assert words == ["0", "5", "10", "20", "30"]


def test_minutes_are_whole_and_apart() -> None:
    """A 47 minute dive on 1,000 px is numbered every 5 minutes, on 300 px every 15."""
    assert lines.minute_marks(0, 47 * 60, 1000, 72) == [0, 5, 10, 15, 20, 25, 30, 35, 40, 45]
    assert lines.minute_marks(0, 47 * 60, 300, 72) == [0, 15, 30, 45]
    assert lines.minute_marks(61, 300, 400, 72) == [2, 3, 4, 5]


def test_turning_points_leave_out_noise_and_begin_with_the_deepest() -> None:
    """Turns of a metre count, the flicker of a decimetre does not."""
    depth_m = [0, 10, 20, 20.1, 20.0, 20.1, 18, 21, 15, 15.1, 15.0, 16.5, 0]
    turns = lines.turning_points(depth_m, 1.0)
    assert [depth_m[at] for at in turns] == [21, 20.1, 18, 16.5, 15.0]


def test_turning_points_of_one_sample() -> None:
    """A recording of one sample has one sounding."""
    assert lines.turning_points([7.0], 1.0) == [0]


def test_first_of_each_stretch_keeps_the_order_of_worth() -> None:
    """Of points close together only the worthiest remains."""
    kept = lines.first_of_each_stretch(np.array([105.0, 12.0, 108.0, 31.0, 17.0, 95.0]), 20.0)
    assert kept.tolist() == [0, 1, 3, 5]


def test_sounding_is_split_at_its_decimal() -> None:
    """Metres carry a decimetre, which stands lower; feet are whole."""
    assert lines.sounding_figures(5.06, imperial=False) == ("5", "1")
    assert lines.sounding_figures(9.96, imperial=False) == ("10", "0")
    assert lines.sounding_figures(18.288, imperial=True) == ("60", "")


def places_over(x: np.ndarray, y: np.ndarray) -> Places:
    """Return an empty plot of 600 x 300 with a line in it."""
    return Places(Box(0, 0, 600, 300), x, y, gap=4)


@pytest.mark.law
def test_words_cover_neither_the_line_nor_each_other() -> None:
    """Two hundred wishes on a restless line: what is granted lies free, and near its point."""
    x, y = noisy_line(900, 600, 3)
    places = places_over(x, y)
    at = np.random.default_rng(3).integers(0, 900, 200)
    wishes = [Wish(float(x[k]), float(y[k]), (34.0, 18.0)) for k in at]
    granted = place_under_line(places, wishes, reach=22)
    boxes = [box for _, box in granted]
    assert 3 <= len(boxes) < 60
    for number, box in granted:
        low, _ = places.line_between(box.left, box.right)
        assert box.top + 4 <= low + 1e-9
        assert box.within(places.plot)
        assert wishes[number].y - box.top <= 22
    assert all(a.apart_from(b, 4) for k, a in enumerate(boxes) for b in boxes[:k])


def test_soundings_keep_their_distance() -> None:
    """Where soundings shall stay few, the second of two close ones is left out."""
    places = places_over(np.array([0.0, 600.0]), np.array([150.0, 150.0]))
    wishes = [Wish(at, 150.0, (30.0, 18.0)) for at in (300.0, 360.0, 400.0)]
    assert [number for number, _ in place_under_line(places, wishes, 22, apart=96)] == [0, 2]


@pytest.mark.law
def test_remarks_stand_beside_their_leaders_or_not_at_all() -> None:
    """Remarks close to one another get lanes; no words lie across a leader; some find no room."""
    places = places_over(np.array([0.0, 20.0, 600.0]), np.array([300.0, 220.0, 220.0]))
    wishes = [Wish(at, 220.0, (140.0, 18.0)) for at in (200.0, 210.0, 220.0, 230.0, 240.0, 250.0, 560.0)]
    boxes = place_on_leaders(places, wishes, indent=8)
    granted = [(box, wish) for box, wish in zip(boxes, wishes, strict=True) if box]
    assert boxes[0] is not None
    assert boxes[-1] is not None
    assert 3 <= len(granted) < len(wishes)
    for box, wish in granted:
        assert box.bottom >= wish.y
        assert all(box is other or box.apart_from(other, 4) for other, _ in granted)
        for other, leading in granted:
            assert not (box.left < leading.x < box.right and other.top > box.bottom)

"""The chart on a window: the line is where the recording says, and a finger gets true answers."""

from __future__ import annotations

from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from driver import Driver

from logbook_app.analysis.readout import readout
from logbook_app.analysis.sampled import Sampled
from logbook_app.analysis.section_of_dive import Mark, Section
from logbook_app.analysis.spoken_units import SpokenUnits

WIDTH, HEIGHT = 1000, 420


def section_of(time_s: np.ndarray, depth_m: np.ndarray, **more: Any) -> Section:
    """Return a section with this line, and a diver who comes to no limit."""
    count = len(time_s)
    series: Any = SimpleNamespace(  # what the chart reads of a DiveSeries
        time_s=time_s,
        depth_m=depth_m,
        ceiling_m=np.zeros(count),
        no_stop_min=np.linspace(90, 30, count),
        loads=np.linspace(0, 0.5, count)[:, None] * np.linspace(1, 0.2, 16),
        load=np.linspace(0, 0.5, count),
        ppo2_bar=0.21 * (1.01325 + depth_m / 10),
        cns_fraction=np.linspace(0, 0.02, count),
        density_g_l=1.293 * (1 + depth_m / 10),
    )
    tank = Sampled(time_s[::5], np.linspace(200, 60, count)[::5])
    return Section(time_s, depth_m, series, SpokenUnits("metric"), tanks=(tank,), **more)


def noisy_dive(samples: int, noise_m: float) -> Section:
    """Return a dive to 30 m with a recorder's noise on it, in decimetres."""
    noise = np.random.default_rng(1)
    time_s = np.arange(samples) * (3600.0 / samples)
    way = np.clip(np.minimum(time_s / 288, (3600 - time_s) / 900), 0, 1)
    depth_m = np.round(np.clip(30 * way + noise.normal(0, noise_m, samples), 0, None), 1)
    return section_of(time_s, depth_m)


def dive_with_one_deep_sample() -> Section:
    """Return a quiet dive of 10,000 samples, one of which is 9 m deeper than its neighbours."""
    time_s = np.arange(10_000) * 0.36
    depth_m = np.full(10_000, 12.0)
    depth_m[[0, -1]] = 0.0
    depth_m[6_543] = 21.0
    return section_of(time_s, depth_m)


class Chart:
    """A chart alone on the window."""

    def __init__(self, driver: Driver, section: Section) -> None:
        from logbook_app.screens.widgets.alone import app_around
        from logbook_app.screens.widgets.chart_section import ChartSection

        driver.start(app_around(lambda: ChartSection(section=section)), (WIDTH, HEIGHT))
        self.driver = driver
        self.widget = driver.find(test_id="chart")
        self.section = section

    def red(self) -> np.ndarray:
        """Return the red of every pixel, rows upward: ink has 19, the darkest water 143."""
        from kivy.core.window import Window
        from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glReadPixels

        Window.canvas.ask_update()
        Window.dispatch("on_draw")
        pixels = np.frombuffer(bytes(glReadPixels(0, 0, WIDTH, HEIGHT, GL_RGBA, GL_UNSIGNED_BYTE)), np.uint8)
        Window.dispatch("on_flip")
        return pixels.reshape(HEIGHT, WIDTH, 4)[:, :, 0]

    def without_words(self) -> Chart:
        """Take the words off the chart, so that all ink on it is line."""
        self.widget._sheet._painters = (self.widget._water,)
        self.widget.draw()
        self.driver.frames(2)
        return self


@pytest.fixture
def window_alone(window: Driver) -> Iterator[Driver]:
    """The window, cleared after the test."""
    yield window
    window.stop()


LINES = {
    "every second, 0.25 m of noise": lambda: noisy_dive(3_600, 0.25),
    "every second, 0.05 m of noise": lambda: noisy_dive(3_600, 0.05),
    "20,000 samples, 0.25 m of noise": lambda: noisy_dive(20_000, 0.25),
    "every 3 s, 0.1 m of noise": lambda: noisy_dive(1_200, 0.1),
    "one deep sample": dive_with_one_deep_sample,
}


VIEWS_S = {
    "whole dive": [(0.0, 3708.0)],
    "ten minutes": [(700.0, 1300.0)],
    "one minute": [(2340.0, 2400.0)],
    "moved along": [(700.0, 1300.0), (811.3, 1411.3)],
    "stretched in small steps": [(700.0 + step, 1900.0 - 3 * step) for step in range(0, 200, 7)],
    "moved beyond the painted part": [(100.0, 400.0), (350.0, 650.0), (900.0, 1200.0)],
}


@pytest.mark.law
@pytest.mark.parametrize("view_s", VIEWS_S.values(), ids=VIEWS_S.keys())
@pytest.mark.parametrize("dive", LINES.values(), ids=LINES.keys())
def test_drawn_line_stays_within_one_pixel_of_the_recording(
    window_alone: Driver, dive: Any, view_s: list[tuple[float, float]]
) -> None:
    """Read back from the frame: in no column is ink beyond the recorded least and greatest depth by more
    than a pixel, and in every column the ink reaches both.

    A profile drawn deeper than it was is a fault that a diver could act on. The pen is 2.2 px wide, so a
    column also holds what its neighbours hold.
    """
    chart = Chart(window_alone, dive()).without_words()
    for from_s, to_s in view_s:
        chart.widget.show_span(from_s, to_s)
        window_alone.frames(1)
    red, frame, section = chart.red(), chart.widget.frame, chart.section
    columns = np.arange(round(frame.left) + 2, min(frame.right, float(frame.x(section.end_s))) - 2, dtype=int)
    assert columns.size > 500
    for column in columns:
        rows, rim = np.flatnonzero(red[:, column] < 100), np.flatnonzero(red[:, column] < 135)
        lowest, highest = recorded_between(section, frame, column - 1, column + 2)
        own_lowest, own_highest = recorded_between(section, frame, column, column + 1)
        assert rows.size, f"nothing drawn in column {column}"
        assert rows[0] >= np.floor(lowest) - 1, f"{lowest - rows[0]:.1f} px too deep in column {column}"
        assert rows[-1] <= np.floor(highest) + 1, (
            f"{rows[-1] - highest:.1f} px too shallow in column {column}"
        )
        assert rim[0] >= np.floor(lowest) - 2, f"a soft rim reaches beyond the depth in column {column}"
        assert rim[-1] <= np.floor(highest) + 2, f"a soft rim reaches above the line in column {column}"
        assert rows[0] <= own_lowest, f"greatest depth of column {column} not reached"
        assert rows[-1] >= own_highest - 1, f"least depth of column {column} not reached"


def recorded_between(section: Section, frame: Any, left: float, right: float) -> tuple[float, float]:
    """Return least and greatest height of the recording between two columns, sample by sample."""
    from_s, to_s = (
        frame.from_s + (at - frame.left) / frame.width * (frame.to_s - frame.from_s) for at in (left, right)
    )
    inside = section.depth_m[(section.time_s >= from_s) & (section.time_s <= to_s)]
    depth_m = np.concatenate((np.interp([from_s, to_s], section.time_s, section.depth_m), inside))
    heights = frame.top - depth_m * frame.height / frame.floor_m
    return float(heights.min()), float(heights.max())


def test_finger_moves_the_scrub_line(window_alone: Driver) -> None:
    """The card says the values of the instant under the finger, while it moves and after it has left."""
    chart = Chart(window_alone, noisy_dive(3_600, 0.05))
    assert chart.widget.readout == []
    frame = chart.widget.frame
    finger = window_alone.finger(float(frame.x(600)), 200)
    finger.down()
    window_alone.frames(2)
    assert chart.widget.scrub_s == pytest.approx(600, abs=4)
    finger.move(float(frame.x(1800)), 190)
    window_alone.frames(2)
    finger.up()
    window_alone.frames(2)
    assert chart.widget.scrub_s == pytest.approx(1800, abs=4)
    assert chart.widget.readout == readout(chart.section, chart.widget.scrub_s)
    assert chart.widget.readout[0].startswith(("29:5", "30:0"))
    assert " · 30.0 m" in chart.widget.readout[0] or " · 29.9 m" in chart.widget.readout[0]


def test_finger_that_goes_up_lets_the_page_scroll(window_alone: Driver) -> None:
    """The chart lets go of a finger that moves across it, and keeps one that moves along it."""
    chart = Chart(window_alone, noisy_dive(600, 0.05))
    let_go: list[Any] = []
    chart.widget.bind(on_let_go=lambda _chart, touch: let_go.append(touch))
    window_alone.drag_from(500, 200, dx=0, dy=120)
    assert len(let_go) == 1
    window_alone.wait(1)
    window_alone.drag_from(400, 200, dx=200, dy=60)
    assert len(let_go) == 1


def test_two_fingers_stretch_the_time_and_keep_what_they_hold(window_alone: Driver) -> None:
    """Fingers apart show a shorter part; the instants under them stay under them."""
    chart = Chart(window_alone, noisy_dive(600, 0.05))
    frame = chart.widget.frame
    left, right = window_alone.finger(400, 200), window_alone.finger(600, 200)
    held_s = frame.time_s(400), frame.time_s(600)
    left.down()
    right.down()
    for step in range(1, 11):
        left.move(400 - 15 * step, 200)
        right.move(600 + 15 * step, 200)
        window_alone.frames(1)
    left.up()
    right.up()
    window_alone.frames(2)
    stretched = chart.widget.frame
    assert stretched.to_s - stretched.from_s == pytest.approx(
        (frame.to_s - frame.from_s) * 200 / 500, rel=0.02
    )
    assert stretched.time_s(250) == pytest.approx(held_s[0], abs=12)
    assert stretched.time_s(750) == pytest.approx(held_s[1], abs=12)


def test_view_stays_within_the_dive(window_alone: Driver) -> None:
    """No span shows what lies before the dive, and none is shorter than a minute."""
    chart = Chart(window_alone, noisy_dive(600, 0.05))
    chart.widget.show_span(-500, 400)
    assert (chart.widget.from_s, chart.widget.to_s) == (0, 900)
    chart.widget.show_span(1000, 1001)
    assert chart.widget.to_s - chart.widget.from_s == 60


def test_readout_says_every_value_of_the_instant() -> None:
    """Depth off the line; the rest from the nearest sample that has it; remarks where the finger is."""
    time_s, depth_m = np.arange(0.0, 601, 60), np.array([0, 10, 20, 20, 20, 20, 20, 20, 12, 4, 0.0])
    section = section_of(
        time_s,
        depth_m,
        remarks=(Mark(480, 510, "ascent 12 m/min for 30 s"),),
        gases=(Mark(0, 0, "air"), Mark(300, 300, "nitrox 50")),
    )
    said = readout(section, 90)
    assert said[0] == "1:30 · 15.0 m"
    assert "ceiling none" in said[1]
    assert said[2].startswith("ppO₂ 0.42 bar")  # 0.21 * (1.01325 + 1.0), by hand
    assert said[3].startswith("air · 2.6 g/L · load ")  # the nearest sample is the one before, at 10 m
    assert readout(section, 310)[3].startswith("nitrox 50 · 3.9 g/L · load ")
    assert (said[4], readout(section, 310)[4]) == ("200 bar", "130 bar")
    assert readout(section, 500)[-1] == "ascent 12 m/min for 30 s"


def test_readout_says_where_there_is_no_limit() -> None:
    """Nothing within 24 h is said as that, not as a number or a blank."""
    section = section_of(np.array([0.0, 60.0]), np.array([3.0, 3.0]))
    section.series.no_stop_min[:] = np.nan
    section.series.ceiling_m[:] = 1.24
    assert readout(section, 0)[1] == "no-stop over 24 h · ceiling 1.2 m"

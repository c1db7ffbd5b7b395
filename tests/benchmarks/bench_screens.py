"""Speed of the list of dives and of the chart, as ratios against a baseline in the same run.

    make bench, or python -m pytest tests/benchmarks/bench_screens.py -s

What is timed is the work of the drawing thread: Python and the walk of the canvas tree, which are ours
on a tablet too; not the filling of pixels, which is the graphics processor's, nor what others do on this
machine. The baselines are the least that Kivy can do: a stock RecycleView of rows with one label, and a
bare line of as many points as the window has columns. Each case takes turns with its baseline.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "screens"))

from driver import Driver, set_environment, why_no_window

SIZE = (1280, 800)
ROWS = 10_000
FLUNG_PX = 60  # a frame: a fast fling
ROUNDS, FRAMES = 4, 60


@pytest.fixture(scope="module")
def window() -> Driver:
    """One window for all cases."""
    set_environment()
    if why := why_no_window():
        pytest.skip(why)
    return Driver()


class Case:
    """Something on the window that changes every frame."""

    def __init__(self, driver: Driver, build: Callable[[], Any], change: Callable[[Any, int], None]) -> None:
        self.driver, self.build, self.change = driver, build, change
        self.frame_ms: list[float] = []
        self.open_ms: list[float] = []

    def run(self) -> None:
        """Open it, let it change for some frames, and close it."""
        from kivy.graphics.opengl import glFinish

        from logbook_app.screens.widgets.alone import app_around

        held: list[Any] = []
        began = time.perf_counter()
        self.driver.start(app_around(lambda: held.append(self.build()) or held[0]), SIZE)
        self.open_ms.append((time.perf_counter() - began) * 1e3)
        for number in range(FRAMES):
            began = time.thread_time()
            self.change(held[0], number)
            self._draw()
            self.frame_ms.append((time.thread_time() - began) * 1e3)
            glFinish()  # the software rasteriser must not be waited for in the next frame
            self.driver.window.dispatch("on_flip")
        self.driver.stop()

    def _draw(self) -> None:
        from kivy.clock import Clock
        from kivy.lang import Builder

        self.driver.kivy_now_s += 1 / 60
        Clock.tick()
        Builder.sync()
        Clock.tick_draw()
        Builder.sync()
        self.driver.window.canvas.ask_update()
        self.driver.window.dispatch("on_draw")

    @property
    def usual_ms(self) -> float:
        """The median frame."""
        return statistics.median(self.frame_ms)

    @property
    def slow_ms(self) -> float:
        """A frame slower than 95 of 100."""
        return statistics.quantiles(self.frame_ms, n=20)[-1]


def take_turns(case: Case, baseline: Case, name: str) -> tuple[float, float]:
    """Run both in turns; return and print the ratios of the usual and of the slow frame."""
    for _ in range(ROUNDS):
        baseline.run()
        case.run()
    usual, slow = case.usual_ms / baseline.usual_ms, case.slow_ms / baseline.slow_ms
    sys.stdout.write(
        f"\n{name}: usual frame {usual:.2f} times the baseline, slow frame {slow:.2f} times "
        f"({case.usual_ms:.2f} and {case.slow_ms:.2f} ms; opens in {min(case.open_ms):.0f} ms, "
        f"baseline {min(baseline.open_ms):.0f} ms)\n"
    )
    return usual, slow


def fling(listed: Any, frame: int) -> None:
    """Move a list by as much as a finger flings it in one frame."""
    listed.scroll_y = 1 - (frame + 1) * FLUNG_PX / (ROWS * 66)


def one_label_list() -> Any:
    """Return a stock RecycleView of rows with one label each."""
    from kivy.lang import Builder
    from kivy.uix.recycleboxlayout import RecycleBoxLayout
    from kivy.uix.recycleview import RecycleView

    Builder.load_string("<OneLabel@Label>:\n    size_hint_y: None\n    height: 66", rulesonly=True)
    view = RecycleView()
    box = RecycleBoxLayout(
        default_size=(None, 66), default_size_hint=(1, None), size_hint_y=None, orientation="vertical"
    )
    box.bind(minimum_height=box.setter("height"))
    view.add_widget(box)
    box.viewclass = "OneLabel"
    view.data = [{"text": f"Ledge {number % 371}, dive {number}"} for number in range(ROWS)]
    return view


def dive_list() -> Any:
    """Return the list of dives with as many rows, each with four texts and a picture."""
    from logbook_app.screens.widgets.dive_list import DiveList, _invented_rows

    return DiveList(data=_invented_rows(ROWS))


def test_flinging_ten_thousand_dives(window: Driver) -> None:
    """At most twice a one-label list while flinging, two and a half times for the slow frames."""
    usual, slow = take_turns(
        Case(window, dive_list, fling), Case(window, one_label_list, fling), "flinging 10,000 dives"
    )
    assert usual <= 2.0
    assert slow <= 2.5


def bare_line() -> Any:
    """Return a widget with one line of as many points as the window has columns."""
    from kivy.graphics import Mesh
    from kivy.uix.widget import Widget

    widget = Widget()
    with widget.canvas:
        widget.mesh = Mesh(mode="line_strip", indices=np.arange(SIZE[0], dtype=np.uint16))
    return widget


def move_line(widget: Any, frame: int) -> None:
    """Give the bare line other points."""
    vertices = np.zeros((SIZE[0], 4), dtype=np.float32)
    vertices[:, 0] = np.arange(SIZE[0])
    vertices[:, 1] = 400 + 300 * np.sin((np.arange(SIZE[0]) + frame) / 90)
    widget.mesh.vertices = vertices.ravel()


def chart_of(samples: int) -> Callable[[], Any]:
    """Return what builds a chart of an hour's dive with this many samples."""

    def build() -> Any:
        from test_chart_section import noisy_dive

        from logbook_app.screens.widgets.chart_section import ChartSection

        return ChartSection(section=noisy_dive(samples, 0.25))

    return build


def pan(chart: Any, frame: int) -> None:
    """Show another half hour, a little later each frame."""
    chart.show_span(4.0 * frame, 4.0 * frame + 1800)


def scrub(chart: Any, frame: int) -> None:
    """Move the scrub line as a finger does."""
    chart.scrub_s = 300 + 30.0 * frame


@pytest.mark.parametrize(("samples", "most"), [(3_600, 30.0), (20_000, 34.0)])
def test_panning_the_chart(window: Driver, samples: int, most: float) -> None:
    """All of the chart drawn anew each frame, words and soundings too, against a bare line."""
    usual, _slow = take_turns(
        Case(window, chart_of(samples), pan),
        Case(window, bare_line, move_line),
        f"panning {samples:,} samples",
    )
    assert usual <= most


def test_scrubbing_the_chart(window: Driver) -> None:
    """A finger on a chart of 20,000 samples: only the card is drawn anew."""
    usual, _slow = take_turns(
        Case(window, chart_of(20_000), scrub), Case(window, bare_line, move_line), "scrubbing 20,000 samples"
    )
    assert usual <= 22.0

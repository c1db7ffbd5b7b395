"""Speed of the list of dives and of the chart, as ratios against a baseline in the same run.

    make bench, or python -m pytest tests/benchmarks/bench_screens.py -s

What is timed is the work of the drawing thread: Python and the walk of the canvas tree, which are ours
on a tablet too; not the filling of pixels, which is the graphics processor's, nor what others do on this
machine. The baselines are the least that Kivy can do: a stock RecycleView of rows with one label, and a
bare line of as many points as the window has columns. Each case takes turns with its baseline.
"""

from __future__ import annotations

import contextlib
import statistics
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "screens"))

from driver import Driver, set_environment, why_no_window
from side_by_side import report, say

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


@lru_cache
def found_dives(grouping: str) -> Any:
    """Return as many dives as a logbook finds, each with a picture."""
    from logbook_app.analysis.dive_catalogue import DiveCatalogue
    from logbook_app.analysis.dive_filter import DiveFilter, DiveOrder, Grouping
    from logbook_app.analysis.dive_row import dive_row
    from logbook_app.dive.record import Dive, Site

    outline = bytes([0, 90, 255, 250, 235, 240, 190, 150, 120, 60, 50, 50, 0])
    dives = [
        Dive(
            id=f"{number:032x}",
            began_at=datetime(2000, 1, 1, tzinfo=UTC) + timedelta(hours=20 * number),
            duration_min=30.0 + number % 40,
            max_depth_m=10.4 + number % 30,
            number=number,
            site=Site.named(f"Ledge {number % 37}"),
            buddies=("Imke R.",),
        )
        for number in range(ROWS)
    ]
    catalogue = DiveCatalogue(dives, [dive_row(dive, outline) for dive in dives])
    return catalogue.find(DiveFilter(), DiveOrder.NEWEST, Grouping(grouping))


def dive_list(grouping: str = "none", chosen: frozenset[str] | None = None) -> Any:
    """Return the list of dives with as many rows, each with four texts and a picture."""
    from logbook_app.analysis.spoken_units import SpokenUnits
    from logbook_app.screens.logbook_lines import FoundLines
    from logbook_app.screens.widgets.dive_list import DiveList

    return DiveList(data=FoundLines(found_dives(grouping), SpokenUnits(), narrow=False, chosen=chosen))


@pytest.mark.parametrize(
    ("name", "build"),
    [
        ("flinging 10,000 dives", dive_list),
        ("flinging 10,000 dives in years while some are chosen", lambda: dive_list("year", frozenset({"a"}))),
    ],
    ids=["plain", "grouped and chosen"],
)
def test_flinging_ten_thousand_dives(window: Driver, name: str, build: Callable[[], Any]) -> None:
    """At most 1.6 times a one-label list while flinging, twice for the slow frames, a fifth to open."""
    found_dives("none"), found_dives("year")
    case, baseline = Case(window, build, fling), Case(window, one_label_list, fling)
    usual, slow = take_turns(case, baseline, name)
    assert usual <= 1.6
    assert slow <= 2.0
    assert statistics.median(case.open_ms) <= statistics.median(baseline.open_ms) / 5


SAMPLES = 14_400  # of an hour's dive; as many as four hours have at one a second
SHOWN_S = 900.0
PAN_PX = 12  # a frame: a finger that crosses the chart in under two seconds


def long_dive() -> Any:
    """Return an hour's dive with a recorder's noise, a ceiling's worth of words, and this many samples."""
    from test_chart_section import noisy_dive

    return noisy_dive(SAMPLES, 0.25)


def bare_line() -> Any:
    """Return a widget with nothing but the line: least and greatest depth of every column, one strip.

    What it shows in each frame was worked out beforehand, so that the baseline is the graphics alone.
    """
    from kivy.graphics import Mesh
    from kivy.uix.widget import Widget

    section, widget = long_dive(), Widget()
    span_s = SHOWN_S / SIZE[0]
    column = np.floor(section.time_s / span_s).astype(int)
    starts = np.flatnonzero(np.diff(column, prepend=-1))
    low, high = np.minimum.reduceat(section.depth_m, starts), np.maximum.reduceat(section.depth_m, starts)
    points = np.column_stack((low, high)).ravel()
    widget.frames = []
    for frame in range(FRAMES):
        first = 2 * PAN_PX * (frame % 120)
        vertices = np.zeros((2 * SIZE[0], 4), dtype=np.float32)
        vertices[:, 0] = np.repeat(np.arange(SIZE[0]), 2)
        vertices[:, 1] = 700 - 18 * points[first : first + 2 * SIZE[0]]
        widget.frames.append(vertices.ravel())
    with widget.canvas:
        widget.mesh = Mesh(mode="line_strip", indices=np.arange(2 * SIZE[0], dtype=np.uint16))
    return widget


def move_line(widget: Any, frame: int) -> None:
    """Give the bare line the points of this frame."""
    widget.mesh.vertices = widget.frames[frame]


def chart() -> Any:
    """Return the chart of the long dive with all that it can show: lanes, map, a compartment, photos."""
    from logbook_app.screens.widgets.chart_section import ChartSection

    return ChartSection(
        section=long_dive(),
        chosen=["pressure", "ppo2", "load"],
        compartment=4,
        photos=[(600.0, "a", "perch"), (1200.0, "b", "anchor")],
        section_height=420,
        size_hint_y=None,
    )


def pan(chart: Any, frame: int) -> None:
    """Show a quarter of an hour, a little later each frame: sheets are painted when they run out.

    The scrub line stands in it with its card, as it does once a finger has been there.
    """
    if chart.scrub_s is None:
        chart.scrub_s = 700.0
    later_s = PAN_PX * SHOWN_S / (chart.frame.width if chart.frame else SIZE[0])
    chart.show_span(later_s * frame, later_s * frame + SHOWN_S)


def scrub(chart: Any, frame: int) -> None:
    """Move the scrub line as a finger does; every figure on its card changes."""
    chart.scrub_s = 300 + 30.0 * frame


def zoom(chart: Any, frame: int) -> None:
    """Stretch the time by a little each frame, as two fingers do."""
    length_s = 3600 * 0.97**frame
    chart.show_span(1000 - length_s / 4, 1000 + 3 * length_s / 4)


def test_panning_the_chart(window: Driver) -> None:
    """A finger's drag along 14,400 samples with all that is drawn, against the bare line of each frame."""
    name = f"panning {SAMPLES:,} samples"
    usual, _slow = take_turns(Case(window, chart, pan), Case(window, bare_line, move_line), name)
    report(name, usual, 1.6)


def test_scrubbing_the_chart(window: Driver) -> None:
    """A finger's scrub along 14,400 samples: line, ring and a card with every value."""
    name = f"scrubbing {SAMPLES:,} samples"
    usual, _slow = take_turns(Case(window, chart, scrub), Case(window, bare_line, move_line), name)
    report(name, usual, 1.6)


def test_stretching_the_chart(window: Driver) -> None:
    """Two fingers: each frame is another scale, so line, water and words are all drawn anew."""
    name = f"stretching {SAMPLES:,} samples"
    usual, _slow = take_turns(Case(window, chart, zoom), Case(window, bare_line, move_line), name)
    report(name, usual, 32.0)


VISITS, WARM, DIVES_VISITED = 200, 40, 20
FLAT_MB = 4.0  # what the allocator of a C library moves by; 25 kB a page would reach it


def test_opening_dive_pages_keeps_memory_flat(window: Driver) -> None:
    """Two hundred pages, twenty dives in turn, each scrubbed and zoomed: nothing of them stays.

    The first visits fill what is kept on purpose: the page's own widgets, the sheet's texture. Words that
    were set for a chart are kept as well, four hundred at most, and are not counted.
    """
    from logbook_app.demo_logbook import demo_clock, throw_away_demo
    from logbook_app.logbook import Logbook
    from logbook_app.screens.app import LeadlineApp

    now = demo_clock()
    with throw_away_demo() as path:
        app = LeadlineApp(lambda: Logbook.open(path, now=now), now, builds_ahead=False)
        window.start(app, SIZE).idle()
        rows: list[Any] = []
        app.ask(lambda logbook: logbook.rows(), then=rows.extend)
        window.idle()
        ids = [row.id for row in rows if not row.estimate][:DIVES_VISITED]
        counts = [visit(window, app, ids, range(WARM)), visit(window, app, ids, range(WARM, VISITS))]
        window.stop()
    (widgets, textures, megabytes), after = counts
    say(f"{VISITS} dive pages: {widgets} widgets then {after[0]}, {textures} textures then {after[1]}")
    report(f"{VISITS} dive pages: memory grew by", after[2] - megabytes, FLAT_MB, "MB")
    assert after[0] <= widgets + 20
    assert after[1] <= textures * 1.1 + 20


def visit(window: Driver, app: Any, ids: list[str], visits: range) -> tuple[int, int, float]:
    """Open these dives one after the other; return the widgets, textures and megabytes there are then."""
    import gc

    from kivy.graphics.texture import Texture
    from kivy.uix.widget import Widget

    for number in visits:
        app.open_dive(ids[number % len(ids)])
        window.idle()
        card = window.find(role="ChartCard")
        card.ids.chips.chosen = ["temperature", "pressure", "ppo2", "load"]
        card.chart.scrub_s = 300.0
        card.chart.show_span(100.0, 700.0)
        window.frames(2)
        app.back()
        window.frames(2)
    gc.collect()
    alive = gc.get_objects()
    widgets = sum(issubclass(type(each), Widget) for each in alive)
    textures = sum(issubclass(type(each), Texture) for each in alive) - len(card.chart._texts)
    give_back_free_memory()
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return widgets, textures, pages * 4096 / 1e6


def give_back_free_memory() -> None:
    """Let the C library return what is free: what it only holds for later is nobody's any more."""
    import ctypes

    with contextlib.suppress(OSError, AttributeError):  # another C library than glibc
        ctypes.CDLL("libc.so.6").malloc_trim(0)

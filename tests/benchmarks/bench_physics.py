"""How fast the physics is, as ratios to a plain loop in C and to a textbook's loop in Python, in one run.

Every way returns its figures in new arrays. One line for each figure; more than 30 % past its target fails.

    pytest tests/benchmarks -o python_files='bench_*.py' -s -q
"""

from __future__ import annotations

import math
import os
import subprocess
import sys
import tempfile
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
from numpy._core._multiarray_umath import __cpu_dispatch__ as dispatched
from plain_loop import PlainLoop, compiler
from side_by_side import many, median_ratio, report, say
from textbook_loop import analysed, as_columns

from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.consecutive_dives import chained, figures_along, intervals_before
from logbook_app.physics.constants import AIR_INERT
from logbook_app.physics.dive_uptake import ends_along_chain, followed_by
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.physics.live_load import live_load
from logbook_app.physics.many_dives import ManyDives

FACTORS = GradientFactors()
FIGURES = ("ceiling_m", "load", "no_stop_min", "ppo2_bar", "cns_fraction", "otu")
needs_a_compiler = pytest.mark.skipif(compiler() is None, reason="no C compiler here to build the plain loop")


def logbook(dives: int, samples: int = 300, step_s: float = 10.0) -> ManyDives:
    """Return trips of eight dives at two elevations, on air and nitrox, a few with a switch of gas."""
    random = np.random.default_rng(2026)
    along, count = np.linspace(0.0, 1.0, samples), np.full(dives, samples)
    deepest_m = random.uniform(8.0, 40.0, dives)
    shape = np.interp(along, [0, 0.05, 0.4, 0.7, 0.9, 0.98, 1], [0, 1, 0.9, 0.5, 0.15, 0.12, 0])
    swell_m = random.normal(0.0, 0.15, (dives, samples)) * ((along > 0.03) & (along < 0.97))
    depth_m = np.round(np.maximum(deepest_m[:, None] * shape + swell_m, 0.0), 2)
    surface_bar = np.where(random.random(dives) < 0.1, 0.92, 1.01325)
    n2 = np.where((random.random(dives) < 0.5) | (deepest_m > 33.0), 0.79, 0.68)[:, None] * np.ones(samples)
    n2[random.random(dives) < 0.03, int(samples * 0.7) :] = 0.5
    interval_min = random.uniform(60.0, 1200.0, dives)
    interval_min[::8] = np.inf
    return ManyDives(
        count=count,
        time_min=np.tile(np.arange(samples) * step_s / 60.0, dives),
        ambient_bar=(surface_bar[:, None] + depth_m * 0.1).ravel(),
        n2_fraction=n2.ravel(),
        he_fraction=np.zeros(dives * samples),
        surface_bar=surface_bar,
        density_kg_m3=np.full(dives, 10_000 / 9.80665),
        interval_min=interval_min,
    )


def analyse(dives: ManyDives):
    """Return all figures of a logbook; what belongs to the record, its steps and switches, is known."""
    return figures_along(chained(dives), FACTORS)


def read_before(dives: ManyDives) -> ManyDives:
    _ = dives.first, dives.step_min, dives.switches, dives.breathes_helium, dives.duration_min
    return dives


@pytest.fixture(scope="module")
def five_thousand() -> ManyDives:
    return read_before(logbook(5000))


@pytest.fixture(scope="module")
def plain_loop(tmp_path_factory) -> PlainLoop:
    if compiler() is None:
        pytest.skip("no C compiler here to build the plain loop")
    return PlainLoop(tmp_path_factory.mktemp("plain_loop"))


@needs_a_compiler
def test_all_three_ways_give_the_same_figures(plain_loop):
    dives = read_before(logbook(40))
    dives.interval_min[:] = np.inf
    figures, found = analyse(dives), plain_loop.analysed(dives, FACTORS)
    tolerances = (1e-4, 1e-5, 0.02, 1e-6, 2e-3, 0.02)  # the loops take oxygen in the middle of the step
    for dive in range(40):
        columns = as_columns(analysed(dives, dive, FACTORS))
        for name, column, tolerance in zip(FIGURES, columns, tolerances, strict=True):
            ours, in_c = getattr(figures, name)[figures.of(dive)], found[name][dives.samples(dive)]
            assert np.allclose(ours, column, rtol=1e-5, atol=tolerance, equal_nan=True), name
            assert np.allclose(in_c, column, rtol=1e-7, atol=1e-7, equal_nan=True), name


def test_whole_logbook_beside_the_plain_loop(plain_loop, five_thousand):
    ratio, seconds = median_ratio(
        lambda: analyse(five_thousand), lambda: plain_loop.analysed(five_thousand, FACTORS), rounds=11
    )
    say(f"5,000 dives of 300 samples: {seconds * 1e3:.0f} ms, {seconds / 1.5e6 * 1e9:.0f} ns a sample")
    report("whole logbook, of the plain C loop", ratio, 1.0)


def test_whole_logbook_beside_the_textbook(five_thousand):
    few = 4
    ratio, _ = median_ratio(
        lambda: [analysed(five_thousand, dive, FACTORS) for dive in range(few)],
        lambda: analyse(five_thousand),
        rounds=7,
    )
    report("whole logbook, faster than the textbook's loop", ratio * 5000 / few, 40.0, least=True)


def test_whole_logbook_in_memory(five_thousand):
    analyse(five_thousand)
    tracemalloc.start()
    kept = analyse(five_thousand)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert kept.load.size >= five_thousand.time_min.size
    report("whole logbook, memory at the peak", peak / five_thousand.time_min.size, 80.0, "bytes a sample")


def test_first_of_twelve_dives_edited(plain_loop):
    trip = logbook(12)
    trip.interval_min[1:] = 90.0

    def edited() -> ManyDives:
        trip.ambient_bar[trip.samples(0)][1:-1] += 1e-6
        return trip

    read_before(trip)
    ratio, seconds = median_ratio(
        many(50, lambda: analyse(edited())), many(50, lambda: plain_loop.analysed(trip, FACTORS)), rounds=15
    )
    say(f"the first of twelve dives edited, all curves again: {seconds / 50 * 1e3:.2f} ms")
    report("first of twelve dives edited, of the plain C loop", ratio, 3.0)


def test_carried_state_from_the_maps_that_are_kept():
    trip = logbook(12)
    trip.interval_min[1:] = 90.0
    intervals = intervals_before(trip, AIR_INERT, ZHL16C.n2_rate_per_min)
    stretches = followed_by(intervals, chained(trip).n2)

    def carried_again() -> None:
        stretches.gained_bar[0] += 1e-9  # the first dive's map is new
        ends_along_chain(stretches)

    _, seconds = median_ratio(many(1000, carried_again), many(1000, lambda: None), rounds=9)
    report("carried state of twelve dives from their maps", seconds / 1000 * 1e6, 50.0, "us")


def test_live_state_beside_sixteen_exponentials():
    live = live_load(np.full(16, 1.5), 1.01325, FACTORS.high)
    rates = ZHL16C.n2_rate_per_min.tolist()

    def sixteen_exponentials(minutes: float) -> list[float]:
        found = []
        for rate in rates:
            found.append(math.exp(-rate * minutes))
        return found

    ratio, seconds = median_ratio(
        many(20_000, lambda: live.after(30.0)), many(20_000, lambda: sixteen_exponentials(30.0)), rounds=9
    )
    say(f"live state: {seconds / 20_000 * 1e6:.1f} us")
    report("live state, of sixteen bare exponentials", ratio, 3.0)


@needs_a_compiler
def test_whole_logbook_without_wide_registers():
    """The nearest to a phone that a desk can be: the same run, numpy kept from its widest instructions."""
    wide = [name for name in dispatched if name.startswith(("AVX", "FMA", "X86_V3", "X86_V4"))]
    narrow = {
        "NPY_DISABLE_CPU_FEATURES": " ".join(wide),
        "OPENBLAS_CORETYPE": "Nehalem",
        "OPENBLAS_NUM_THREADS": "1",
    }
    ran = subprocess.run(
        [sys.executable, __file__], env=os.environ | narrow, capture_output=True, text=True, check=True
    )
    report("whole logbook without AVX2 and AVX-512, of the plain C loop", float(ran.stdout.split()[-1]), 1.8)


def _narrow_run() -> float:
    """Return the ratio of the whole logbook to the plain loop in this process."""
    with tempfile.TemporaryDirectory() as folder:
        loop, dives = PlainLoop(Path(folder)), read_before(logbook(5000))
        return median_ratio(lambda: analyse(dives), lambda: loop.analysed(dives, FACTORS), rounds=7)[0]


if __name__ == "__main__":
    sys.stdout.write(f"{_narrow_run()}\n")

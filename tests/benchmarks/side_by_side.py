"""Timing two ways of doing one thing in one run, so that the ratio means something on any machine."""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable

SLACK = 1.3


def median_ratio(
    ours: Callable[[], object], theirs: Callable[[], object], rounds: int
) -> tuple[float, float]:
    """Return the median of ours over theirs, turn about, and the median seconds of ours.

    Processor time, so that a neighbour who takes the core away does not count.
    """
    ratios, seconds = [], []
    for _ in range(rounds):
        taken, their_taken = _seconds(ours), _seconds(theirs)
        ratios.append(taken / their_taken)
        seconds.append(taken)
    return statistics.median(ratios), statistics.median(seconds)


def many(times: int, call: Callable[[], object]) -> Callable[[], None]:
    """Return a call that makes so many calls, for what is too short for the clock."""

    def repeated() -> None:
        for _ in range(times):
            call()

    return repeated


def report(what: str, figure: float, target: float, unit: str = "x", least: bool = False) -> None:
    """Say one line, and fail where the figure is past the target by more than a busy machine explains."""
    word = "at least" if least else "at most"
    say(f"{what}: {figure:.3g} {unit}, target {word} {target:g} {unit}")
    within = figure * SLACK >= target if least else figure <= target * SLACK
    assert within, f"{what}: {figure:.3g} {unit} is past {word} {target:g} {unit} by more than 30 %"


def say(line: str) -> None:
    """Put one line of the bench on the terminal."""
    sys.stdout.write(f"\n  {line}\n")


def _seconds(call: Callable[[], object]) -> float:
    began = time.process_time()
    call()
    return time.process_time() - began

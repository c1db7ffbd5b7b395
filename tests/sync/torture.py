"""Worlds in a long row, on every core: what they went through, and what was lost.

python -m tests.sync.torture 4711                          one world again
python -m tests.sync.torture 100000 50000                  a long row of them (make torture)
python -m tests.sync.torture 100000 50000 --at-once 1      on one core
"""

from __future__ import annotations

import argparse
import os
import sys
import time
import traceback
from collections import Counter
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from itertools import repeat
from typing import Any

from tests.sync.checks import Amiss, check
from tests.sync.world import World

STEPS = 120
AT_A_TIME = 50

# What goes on in a world without being a fault of anything.
ORDINARY = {
    "a conflict was resolved", "a file was passed on", "a device was paired again", "the club tidied up",
    "a member was erased", "the club asked for a newer app",
    "a refused change was let go",
}  # fmt: skip

LOST, BACK, APART, OTHER = (
    "acknowledged changes lost",
    "resurrected",
    "diverged",
    "other promises broken",
)
CRASHED = "tracebacks"
MEANT = {"lost edit": LOST, "lost record": LOST, "resurrection": BACK, "erasure": BACK, "convergence": APART}


def world_of(seed: int, steps: int = STEPS, **how: Any) -> World:
    """Return the world of a seed, gone through and checked. Raises Amiss with its seed."""
    world = World(seed, **how)
    world.run(steps)
    world.quiet()
    try:
        check(world)
    except Amiss as amiss:
        again = f"python -m tests.sync.torture {seed}" + f" --steps {steps}" * (steps != STEPS)
        raise Amiss(f"{amiss}\n  again: {again}") from amiss
    return world


@dataclass
class Tally:
    """What worlds came to.

    happened       how often each thing went wrong, or was done
    acknowledged   changes that a device was told are accepted
    amiss          worlds in which a promise was broken, by what broke
    told           a few lines on each of these
    """

    worlds: int = 0
    happened: Counter[str] = field(default_factory=Counter)
    acknowledged: int = 0
    amiss: Counter[str] = field(default_factory=Counter)
    told: list[str] = field(default_factory=list)

    def add(self, other: Tally) -> None:
        """Count what others came to as well."""
        self.worlds += other.worlds
        self.happened += other.happened
        self.acknowledged += other.acknowledged
        self.amiss += other.amiss
        self.told += other.told


def tally_of(seeds: Iterable[int], steps: int) -> Tally:
    """Go through the worlds of these seeds, whatever becomes of each."""
    tally = Tally()
    for seed in seeds:
        tally.worlds += 1
        try:
            world = world_of(seed, steps)
        except Amiss as amiss:
            tally.amiss[MEANT.get(str(amiss).partition(":")[0], OTHER)] += 1
            tally.told.append(f"seed {seed}: {amiss}")
        except Exception:
            tally.amiss[CRASHED] += 1
            tally.told.append(f"seed {seed}: {traceback.format_exc()}")
        else:
            tally.happened += world.happened
            tally.acknowledged += len(world.acknowledged)
    return tally


def tallies(first: int, count: int, at_once: int, steps: int = STEPS) -> Iterator[Tally]:
    """Yield the tallies of so many worlds, part by part."""
    ends = range(first, first + count, AT_A_TIME)
    parts = [range(at, min(at + AT_A_TIME, first + count)) for at in ends]
    if at_once == 1:
        yield from map(tally_of, parts, repeat(steps))
    else:
        with ProcessPoolExecutor(at_once) as processes:
            yield from processes.map(tally_of, parts, repeat(steps))


def lines_of(tally: Tally) -> Iterator[str]:
    """Yield the table: faults by their kind, then what must not have happened."""
    faults = {what: times for what, times in tally.happened.most_common() if what not in ORDINARY}
    yield _row("faults injected", sum(faults.values()))
    yield from (_row(f"  {what}", times) for what, times in faults.items())
    yield _row("done besides", sum(tally.happened.values()) - sum(faults.values()))
    yield from (_row(f"  {what}", n) for what, n in tally.happened.most_common() if what in ORDINARY)
    yield _row("changes acknowledged", tally.acknowledged)
    yield from (_row(what, tally.amiss[what]) for what in (LOST, BACK, APART, OTHER, CRASHED))


def _row(what: str, times: int) -> str:
    return f"{what:36}{times:12,}"


def main(arguments: list[str] | None = None) -> int:
    """Go through one world, or through many, and say what became of them."""
    parser = argparse.ArgumentParser(prog="python -m tests.sync.torture", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("first", type=int, help="seed of the first world")
    parser.add_argument("count", type=int, nargs="?", default=1, help="how many worlds")
    parser.add_argument("--at-once", type=int, default=os.cpu_count() or 1, help="processes")
    parser.add_argument("--steps", type=int, default=STEPS, help="of each world, before all is quiet")
    asked = parser.parse_args(arguments)
    began, whole = time.monotonic(), Tally()
    at_once = 1 if asked.count <= AT_A_TIME else asked.at_once
    for part in tallies(asked.first, asked.count, at_once, asked.steps):
        whole.add(part)
        for told in part.told:
            print(told, flush=True)  # noqa: T201
    rate = whole.worlds / (time.monotonic() - began)
    print(f"{whole.worlds:,} worlds from seed {asked.first} on, {rate:.0f} a second")  # noqa: T201
    print("\n".join(lines_of(whole)))  # noqa: T201
    return bool(whole.amiss)


if __name__ == "__main__":
    sys.exit(main())

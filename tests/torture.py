"""Everything that may go wrong, for half an hour on two cores, and one table of what came of it.

    python -m tests.torture 4711            with this seed (make torture takes the time of day)
    python -m tests.torture 4711 0.1        a tenth of it

Each part is a program of its own, which says at its head how a single case is run again.
"""

from __future__ import annotations

import re
import subprocess
import sys
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

AT_ONCE = 2
_ROW = re.compile(r"^(\S.{35})\s*([\d,]+)$")


@dataclass(frozen=True, slots=True)
class Part:
    """One program, and how many cases it goes through in a whole run."""

    what: str
    module: str
    cases: int
    more: tuple[str, ...] = ()


PARTS = (
    Part("devices, a club and a bad network", "tests.sync.torture", 50_000, ("--at-once", "1")),
    Part("programs killed", "tests.store.killing", 2_000),
    Part("recordings mutated", "tests.files.mutating", 200_000),
    Part("logbook files spoilt", "tests.store.spoiling", 2_000),
)


def run(part: Part, seed: int, share: float) -> tuple[Part, int, str, float]:
    """Run one part; return it with its exit status, what it said, and its seconds."""
    count = max(1, round(part.cases * share))
    began = time.monotonic()
    command = [sys.executable, "-m", part.module, str(seed), str(count), *part.more]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return part, done.returncode, done.stdout + done.stderr, time.monotonic() - began


def main() -> int:
    """Run every part, two at a time, and say what each came to and what must not have happened in any."""
    seed, share = int(sys.argv[1]), float(sys.argv[2]) if len(sys.argv) > 2 else 1.0
    failed, sums, began = 0, Counter[str](), time.monotonic()
    with ThreadPoolExecutor(AT_ONCE) as threads:
        for part, status, said, seconds in threads.map(lambda part: run(part, seed, share), PARTS):
            failed += status != 0
            head = f"{part.what}: {part.module}, {seconds:.0f} s, exit status {status}"
            print(f"\n{head}\n{said.rstrip()}", flush=True)  # noqa: T201
            for line in said.splitlines():
                if row := _ROW.match(line):
                    sums[row[1].strip()] += int(row[2].replace(",", ""))
    print(f"\nin all, seed {seed}, {time.monotonic() - began:.0f} s")  # noqa: T201
    for what, times in sums.items():
        print(f"{what:36}{times:12,}")  # noqa: T201
    return failed


if __name__ == "__main__":
    sys.exit(main())

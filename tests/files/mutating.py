"""Recordings with the accidents that happen to files, read by the hundred thousand.

    python -m tests.files.mutating 1 200000

Each must give dives, or one sentence that names it; anything else is told and counted.
"""

from __future__ import annotations

import random
import sys
import tempfile
import traceback
from collections import Counter
from pathlib import Path

from tests.files.accidents import SAMPLES, garbled, is_told, outcome

TOLD = ("recordings mutated", "  read", "  refused in a sentence", "unreadable and not said", "tracebacks")


def tally(seed: int, count: int, folder: Path) -> Counter[str]:
    """Read so many mutated files and return what became of them."""
    chance, came = random.Random(seed), Counter[str]()
    samples = sorted(SAMPLES.iterdir())
    for number in range(count):
        sample = samples[number % len(samples)]
        path = folder / sample.name
        path.write_bytes(garbled(sample.read_bytes(), chance) or b" ")
        came["recordings mutated"] += 1
        try:
            dives, refusal = outcome(path)
        except Exception:
            came["tracebacks"] += 1
            print(f"file {number} of seed {seed}: {traceback.format_exc(limit=-3)}")  # noqa: T201
            continue
        came["  read"] += bool(dives)
        came["  refused in a sentence"] += bool(refusal)
        came["unreadable and not said"] += not is_told(path.name, dives, refusal)
    return came


def main() -> int:
    """Mutate so many files and say what became of them."""
    seed, count = int(sys.argv[1]), int(sys.argv[2])
    with tempfile.TemporaryDirectory() as folder:
        came = tally(seed, count, Path(folder))
    for what in TOLD:
        print(f"{what:36}{came[what]:12,}")  # noqa: T201
    return bool(came["tracebacks"] or came["unreadable and not said"])


if __name__ == "__main__":
    sys.exit(main())

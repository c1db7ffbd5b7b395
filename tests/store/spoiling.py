"""Logbook files spoilt as a dying card spoils them, opened and salvaged by the thousand.

    python -m tests.store.spoiling 1 1000

A spoilt file is opened, looked through and salvaged: all of that ends in sentences, and the file stays as it
is.
"""

from __future__ import annotations

import random
import sys
import tempfile
import traceback
from collections import Counter
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import numpy as np

from logbook_app.dive.problems import LeadlineError
from logbook_app.dive.profile import Profile, profile_digest, profile_to_bytes
from logbook_app.dive.record import Dive, Recording, Site
from logbook_app.store.logbook_store import LogbookStore
from logbook_app.store.salvage import salvage
from tests.dive.strategies import plain_dive

DIVES = 120
PAGE = 4096
TOLD = (
    "logbook files spoilt", "  shown", "  not opened, in a sentence", "  salvaged",
    "  nothing left to salvage", "damaged files written to", "tracebacks",
)  # fmt: skip


def numbered(number: int) -> tuple[Dive, list[Profile]]:
    """Return the dive of this number, the same in every process, with samples of its own."""
    depth_m = np.random.default_rng(number).integers(10, 400, 120) / 10
    profile = Profile(time_s=np.arange(120) * 10.0, depth_m=depth_m)
    dive = plain_dive(
        id=f"{number:08d}",
        began_at=plain_dive().began_at + timedelta(hours=3 * number),
        buddies=("Ada", "Bo"),
        notes="word " * (number % 40),
        site=Site.named(f"Place {number % 7}"),
        recordings=(Recording(f"print {number}", profile_digest(profile_to_bytes(profile))),),
    )
    return dive, [profile]


def sound_logbook(path: Path) -> Path:
    """Write the logbook that is spoilt."""
    with closing(LogbookStore(path)) as store:
        store.save(map(numbered, range(DIVES)))
        store.set_settings({"units": "metric"})
        store._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


def spoil(data: bytearray, chance: random.Random) -> None:
    """Do to a file what a dying card does: bits turned, a page of zeros, an end that is missing."""
    match chance.randrange(4):
        case 0:
            at = chance.randrange(len(data) // PAGE) * PAGE
            data[at : at + PAGE] = bytes(PAGE)
        case 1:
            del data[chance.randrange(len(data)) :]
        case _:
            for _ in range(chance.choice((1, 8, 64, 400))):
                data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)


def tally(seed: int, count: int, folder: Path) -> Counter[str]:
    """Spoil so many files and return what became of them."""
    chance, came = random.Random(seed), Counter[str]()
    whole = sound_logbook(folder / "sound.leadline").read_bytes()
    for number in range(count):
        data, path = bytearray(whole), folder / "spoilt.leadline"
        spoil(data, chance)
        path.write_bytes(data)
        came["logbook files spoilt"] += 1
        try:
            _look(path, folder / "new.leadline", came)
        except Exception:
            came["tracebacks"] += 1
            print(f"file {number} of seed {seed}: {traceback.format_exc(limit=-3)}")  # noqa: T201
        for left in folder.glob("spoilt.leadline?*"):
            left.unlink()
    return came


def _look(path: Path, new: Path, came: Counter[str]) -> None:
    before = path.read_bytes()
    try:
        salvage(path, new)
        came["  salvaged"] += 1
        new.unlink()
    except LeadlineError:
        came["  nothing left to salvage"] += 1
    try:
        with closing(LogbookStore(path)) as store:
            if not store.closed_because:
                before = path.read_bytes()  # nothing was found: what is looked at may be written to
            store.damage()
            store.oddities()
            store.dives()
            came["  shown"] += 1
    except LeadlineError:
        came["  not opened, in a sentence"] += 1
    came["damaged files written to"] += path.read_bytes() != before


def main() -> int:
    """Spoil so many files and say what became of them."""
    seed, count = int(sys.argv[1]), int(sys.argv[2])
    with tempfile.TemporaryDirectory() as folder:
        came = tally(seed, count, Path(folder))
    for what in TOLD:
        print(f"{what:36}{came[what]:12,}")  # noqa: T201
    return bool(came["tracebacks"] or came["damaged files written to"])


if __name__ == "__main__":
    sys.exit(main())

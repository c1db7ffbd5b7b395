"""A logbook whose program is killed again and again: at any moment, and at every statement of a change.

    python -m tests.store.killing 4711              one life of a logbook again
    python -m tests.store.killing 1 2000            a long row of kills (part of make torture)

The child process reads recordings in, writes dives by hand, edits, deletes, restores, shares and puts backups
back, and says what was acknowledged. Half of the kills come by the clock, half come before the n-th statement
that SQLite is given, so that every place between two statements of a change is met; the first ones of each
life come upon the migration of an earlier file. After each kill the file is opened as the next start would:
what was acknowledged is there, nothing is there by half, and the file is sound.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.problems import LogbookError
from logbook_app.logbook import Logbook
from logbook_app.store import migrations
from logbook_app.store.logbook_store import LogbookStore

NOW = datetime(2026, 11, 14, 12, tzinfo=UTC)
KILLS_A_LIFE = 25
KILLS_WHILE_OPENING = 4
LONGEST_S = 0.12
MOST_STATEMENTS = 500
RECORDING = "# began: {began}\ntime_s,depth_m\n0,0\n60,{depth}\n1500,{depth}\n1800,0\n"

Say = Callable[[dict[str, Any]], None]


@dataclass
class Known:
    """What was acknowledged so far.

    notes     of each dive that was written, by its id
    binned    dives that were deleted and not restored
    read      recordings that were read in, by the instant they began
    """

    notes: dict[str, str] = field(default_factory=dict)
    binned: set[str] = field(default_factory=set)
    read: set[str] = field(default_factory=set)

    def hear(self, told: dict[str, Any]) -> None:
        """Take in one acknowledgement."""
        self.notes |= told.get("notes", {})
        self.binned |= set(told.get("binned", ()))
        self.binned -= set(told.get("restored", ()))
        self.read |= set(told.get("read", ()))


@dataclass
class Tally:
    """What a row of kills came to.

    kills, statements   all of them, and those that came before a statement
    doing               what was being done, as far as it was told
    acknowledged        changes
    amiss               sentences; none is as it should be
    """

    kills: int = 0
    statements: int = 0
    doing: Counter[str] = field(default_factory=Counter)
    acknowledged: int = 0
    amiss: list[str] = field(default_factory=list)


def life(seed: int, folder: Path, kills: int = KILLS_A_LIFE) -> Tally:
    """Kill the program of one logbook so many times, and look at the file after each."""
    chance, tally, known = random.Random(seed), Tally(), Known()
    path = folder / "logbook.leadline"
    _made_by_an_earlier_program(path)
    for number in range(kills):
        by_statement = chance.random() < 0.5
        at = chance.randrange(1, MOST_STATEMENTS) if by_statement else 0
        opening = number < KILLS_WHILE_OPENING
        told = _killed(path, chance.randrange(2**32), at, chance.uniform(0.0, LONGEST_S), opening=opening)
        tally.kills += 1
        tally.statements += by_statement
        for each in told:
            if "doing" in each:
                doing = each["doing"]
            else:
                tally.acknowledged += 1
                known.hear(each)
        tally.doing[doing if told else "opening"] += 1
        amiss = [f"seed {seed}, kill {number}: {words}" for words in _amiss(path, known, told)]
        tally.amiss += amiss
        if amiss:
            break
    return tally


def _made_by_an_earlier_program(path: Path) -> None:
    """Make the file as a program some versions ago did, so that the first kills come upon its migration."""
    later = migrations.MIGRATIONS
    migrations.MIGRATIONS = later[:4]
    try:
        with suppress(LogbookError):  # today's code reads more than there is yet
            LogbookStore(path).close()
    finally:
        migrations.MIGRATIONS = later


def _killed(path: Path, seed: int, statement: int, after_s: float, *, opening: bool) -> list[dict[str, Any]]:
    """Work in a child process until it is killed; return what it told.

    opening   the clock and the statements count from the opening of the file on, else from the first work
    """
    heard, told = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(heard)
        try:
            say = lambda words: os.write(told, json.dumps(words).encode() + b"\n")  # noqa: E731
            _work(path, seed, statement, say, opening=opening)
        finally:
            os._exit(0)
    os.close(told)
    with os.fdopen(heard, "rb") as pipe:
        first = b"" if opening else pipe.readline()
        if not statement:
            time.sleep(after_s)
        _reaped(child, patience_s=20.0 if statement else 0.0)
        lines = (first + pipe.read()).splitlines(keepends=True)
    return [json.loads(line) for line in lines if line.endswith(b"\n")]


def _reaped(child: int, patience_s: float) -> None:
    until = time.monotonic() + patience_s
    while time.monotonic() < until:
        if os.waitpid(child, os.WNOHANG)[0]:
            return
        time.sleep(0.002)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)


# The child


def _work(path: Path, seed: int, statement: int, say: Any, *, opening: bool) -> None:
    chance, count = random.Random(seed), _count_statements()
    if statement and opening:
        count[0] = statement
    logbook = Logbook.open(path, now=lambda: NOW)
    logbook._store.begin_sharing()
    doings = [_by_hand, _edit, _delete, _restore, _read_in, _back_up_and_put_back]
    if statement and not opening:
        count[0] = statement
    while True:
        doing = chance.choices(doings, weights=(3, 4, 2, 2, 3, 1))[0]
        say({"doing": doing.__name__.strip("_").replace("_", " ")})
        say(doing(logbook, chance, path.parent))


def _count_statements() -> list[int]:
    """Return a number that falls with each statement a logbook runs; this process is killed at naught."""
    from logbook_app.store import logbook_file

    left = [10**9]

    def count(_sql: str) -> None:
        left[0] -= 1
        if left[0] <= 0:
            os.kill(os.getpid(), signal.SIGKILL)

    plain = logbook_file.open_logbook_file

    def counted(path: Path, **how: Any) -> Any:
        connection = plain(path, **how)
        connection.set_trace_callback(count)
        return connection

    from logbook_app.store import logbook_store

    logbook_store.open_logbook_file = counted  # type: ignore[attr-defined]
    return left


def _by_hand(logbook: Logbook, chance: random.Random, _folder: Path) -> dict[str, Any]:
    began = NOW - timedelta(days=chance.randrange(1, 9000), minutes=chance.randrange(1000))
    dive, _changes = logbook.add_by_hand(HandEntry(began_local=began, duration_min=30, max_depth_m=18))
    return {"notes": {dive.id: dive.notes}}


def _edit(logbook: Logbook, chance: random.Random, folder: Path) -> dict[str, Any]:
    dives = logbook.dives()
    if not dives:
        return _by_hand(logbook, chance, folder)
    dive, notes = chance.choice(dives), f"note {chance.randrange(10**9)}"
    logbook.change_dive(dive.id, notes=notes)
    return {"notes": {dive.id: notes}}


def _delete(logbook: Logbook, chance: random.Random, folder: Path) -> dict[str, Any]:
    dives = logbook.dives()
    if not dives:
        return _by_hand(logbook, chance, folder)
    dive = chance.choice(dives)
    logbook.delete_dive(dive.id)
    return {"binned": [dive.id]}


def _restore(logbook: Logbook, chance: random.Random, folder: Path) -> dict[str, Any]:
    binned = logbook.binned()
    if not binned:
        return _by_hand(logbook, chance, folder)
    dive, _at = chance.choice(binned)
    logbook.restore_dive(dive.id)
    return {"restored": [dive.id]}


def _read_in(logbook: Logbook, chance: random.Random, folder: Path) -> dict[str, Any]:
    paths, began = [], []
    for place in range(3):
        at = NOW - timedelta(days=chance.randrange(9000, 20000), minutes=chance.randrange(1000))
        path = folder / f"recording {place}.csv"
        path.write_text(RECORDING.format(began=at.isoformat(), depth=chance.randrange(6, 40)))
        paths.append(path)
        began.append(at.isoformat())
    report = logbook.import_files(paths)
    return {"read": began if len(report.added) == len(paths) else []}


def _back_up_and_put_back(logbook: Logbook, _chance: random.Random, folder: Path) -> dict[str, Any]:
    made = logbook.back_up(folder / "backup.leadline")
    for aside in folder.glob("logbook before *"):
        aside.unlink()
    logbook.restore(made.path)
    return {}


# What must hold


def _amiss(path: Path, known: Known, told: list[dict[str, Any]]) -> list[str]:
    """Return what is wrong with a file whose program was killed.

    The change that the kill came upon may have been finished without being acknowledged: so one dive may say
    something that nobody was told, and three recordings may be there.
    """
    with closing(Logbook.open(path, now=lambda: NOW)) as logbook:
        wrong = [problem.sentence() for problem in logbook._store.damage()]
        dives = {dive.id: dive for dive in logbook.dives()}
        binned = {dive.id: dive for dive, _at in logbook.binned()}
        everything = dives | binned
        wrong += [f"lost: dive {dive_id}" for dive_id in known.notes.keys() - everything.keys()]
        there = {key: notes for key, notes in known.notes.items() if key in everything}
        other = [key for key, notes in there.items() if everything[key].notes != notes]
        moved = [key for key in known.binned if key in dives]
        moved += [key for key in known.notes.keys() - known.binned if key in binned]
        if len(other) + len(moved) > 1:
            wrong.append(f"lost: {len(other)} edits and {len(moved)} moves")
        began = {dive.began_at.isoformat() for dive in everything.values() if dive.recordings}
        wrong += [f"lost: the recording of {at}" for at in known.read - began]
        if len(began - known.read) > 3:
            wrong.append(f"{len(began - known.read)} recordings that nobody acknowledged")
        for dive in everything.values():
            if dive.recordings and logbook.profile_of(dive) is None:
                wrong.append(f"half: dive {dive.id} without its samples")
        known.read |= began
        known.notes |= {key: dive.notes for key, dive in everything.items()}
        known.binned = set(binned)
    del told
    return wrong


def main() -> int:
    """Go through one life, or through many, and say what became of them."""
    first, count = int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else KILLS_A_LIFE
    whole = Tally()
    seed = first
    while whole.kills < count:
        with tempfile.TemporaryDirectory() as folder:
            done = life(seed, Path(folder), min(KILLS_A_LIFE, count - whole.kills))
        whole.kills += done.kills
        whole.statements += done.statements
        whole.doing += done.doing
        whole.acknowledged += done.acknowledged
        whole.amiss += done.amiss
        seed += 1
    for line in lines_of(whole):
        print(line)  # noqa: T201
    return bool(whole.amiss)


def lines_of(tally: Tally) -> list[str]:
    """Return the table: kills by what they came upon, then what must not have happened."""
    lost = sum("lost:" in words for words in tally.amiss)
    half = sum("half:" in words for words in tally.amiss)
    rows = [
        ("programs killed", tally.kills),
        ("  before a statement of the file", tally.statements),
        *((f"  while: {what}", times) for what, times in tally.doing.most_common()),
        ("changes acknowledged", tally.acknowledged),
        ("acknowledged changes lost", lost),
        ("changes kept by half", half),
        ("logbooks amiss otherwise", len(tally.amiss) - lost - half),
    ]
    return [*tally.amiss, *(f"{what:36}{times:12,}" for what, times in rows)]


if __name__ == "__main__":
    sys.exit(main())

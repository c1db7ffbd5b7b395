"""Make the demo dives: from the invented plan in scenario.toml to the files beside it.

    python demo_data/make_demo.py [FOLDER]

A plan says how deep and how long (dive_plan.py). The dive is then made up second by second, with
what a make-believe recorder would have written of it (pretend_recording.py), and put into files
(demo_files.py). Nothing was recorded by anybody.

The same plan gives the same bytes everywhere: only the standard library is used, whose `Random`
keeps its promise from one Python to the next, and every number is rounded as it is written.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from pathlib import Path

from demo_files import depth_table, depth_table_feet, hand_entries, held_json, kit_json, uddf
from dive_plan import PlannedDive, Table, owner_of, planned_dives
from pretend_recording import RecordedDive, buddy_recording, dive_it

HERE = Path(__file__).resolve().parent


def make(folder: Path) -> list[Path]:
    """Write every demo file into a folder and return their paths."""
    scenario = tomllib.loads((HERE / "scenario.toml").read_text(encoding="utf-8"))
    owner = owner_of(scenario)
    plans = planned_dives(scenario)
    numbers = dive_numbers(plans, scenario)
    minute_volume_l = scenario["people"][owner]["minute_volume_l"]
    dives = [replace(dive_it(plan, minute_volume_l), number=numbers[plan.key]) for plan in plans]
    texts = {
        "certificates.json": held_json(scenario),
        "hand_entries.json": hand_entries(scenario, numbers),
        "kit.json": kit_json(scenario),
    }
    for name, group in groupby(sorted(dives, key=lambda dive: dive.plan.file), lambda dive: dive.plan.file):
        texts[name] = own_file(name, list(group), owner, scenario)
    by_key = {dive.plan.key: dive for dive in dives}
    for file in scenario["buddy_files"]:
        theirs = [buddy_recording(by_key[entry["of"]], entry, file, scenario) for entry in file["dives"]]
        texts[file["file"]] = uddf(theirs, file["person"], scenario)
    return [written(folder / name, text) for name, text in sorted(texts.items())]


def dive_numbers(plans: Sequence[PlannedDive], scenario: Table) -> dict[str, int]:
    """Return the number of each dive by its start; the last dive has the number that the scenario says."""
    starts = sorted([plan.key for plan in plans] + [entry["began"] for entry in scenario["by_hand"]])
    first = scenario["last_number"] - len(starts) + 1
    return {start: first + nth for nth, start in enumerate(starts)}


def own_file(name: str, dives: Sequence[RecordedDive], owner: str, scenario: Table) -> str:
    if name.endswith("_feet.csv"):
        return depth_table_feet(dives[0], scenario)
    return depth_table(dives[0], scenario) if name.endswith(".csv") else uddf(dives, owner, scenario)


def written(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="\n")
    return path


if __name__ == "__main__":
    for made in make(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE):
        print(f"{made.name}: {made.stat().st_size / 1000:.0f} kB")

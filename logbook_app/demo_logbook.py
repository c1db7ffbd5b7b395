"""The demo logbook: made anew each time from the shipped recordings, and thrown away afterwards.

It goes the way of any logbook: the files in `demo_data` are imported, the hand entries written down.
Its clock starts on the day of its last dives, so that there is something to see at the surface.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from logbook_app.dive.credentials import facts_from_plain
from logbook_app.dive.hand_entry import HandEntry, dive_by_hand
from logbook_app.dive.record import Dive, Environment, Role, Site, Water
from logbook_app.files.kit_json import kit_from_json
from logbook_app.logbook import Logbook, ReadOptions
from logbook_app.physics.breathing_gas import AIR, parse_gas
from logbook_app.shipped_files import shipped_folder

BEGINS_AT = datetime.fromisoformat("2026-11-14T14:07:00+01:00")


def demo_clock() -> Callable[[], datetime]:
    """Return a clock that stands at the demo's own day now, and goes on from there."""
    started_s = time.monotonic()
    return lambda: BEGINS_AT + timedelta(seconds=time.monotonic() - started_s)


@contextmanager
def throw_away_demo() -> Iterator[Path]:
    """Make the demo logbook in a folder that is gone afterwards; give its path."""
    with TemporaryDirectory(prefix="leadline-demo-") as folder:
        path = Path(folder) / "demo.leadline"
        make_demo_logbook(path)
        yield path


def make_demo_logbook(path: Path) -> None:
    """Make the demo logbook at `path` from the shipped files."""
    folder = shipped_folder("demo_data")
    logbook = Logbook.open(path, now=lambda: BEGINS_AT)
    try:
        logbook.import_files(sorted(folder.glob("*.uddf")) + sorted(folder.glob("*.csv")))
        for recording in sorted((folder / "buddies").glob("*.uddf")):
            logbook.import_files([recording], ReadOptions(diver=_name_from(recording)))
        logbook.keep_dives(_hand_entries(folder / "hand_entries.json"))
        _write_down_kit(logbook, folder / "kit.json")
        _write_down_certificates(logbook, folder / "certificates.json")
    finally:
        logbook.close()


def _write_down_kit(logbook: Logbook, path: Path) -> None:
    kit = kit_from_json(json.loads(path.read_text(encoding="utf-8")))
    for item in kit.items:
        logbook.kit.keep(item)
    for care in kit.care:
        logbook.kit.note_care(care)
    for kit_set in kit.sets:
        logbook.kit.keep_set(kit_set)


def _write_down_certificates(logbook: Logbook, path: Path) -> None:
    logbook.experience.keep_facts(facts_from_plain(json.loads(path.read_text(encoding="utf-8"))))


def _name_from(recording: Path) -> str:
    return recording.stem.replace("_", " ").title()


def _hand_entries(path: Path) -> list[Dive]:
    return [_hand_entry(entry) for entry in json.loads(path.read_text(encoding="utf-8"))["dives"]]


def _hand_entry(entry: dict[str, Any]) -> Dive:
    site = entry.get("site")
    dive = dive_by_hand(
        HandEntry(
            began_local=datetime.fromisoformat(entry["began_local"]),
            duration_min=entry["duration_min"],
            max_depth_m=entry["max_depth_m"],
            gas=parse_gas(entry["gas"]) if "gas" in entry else AIR,
            site=Site.named(**(site | {"water": Water(site["water"])})) if site else None,
            buddies=tuple(entry.get("buddies", ())),
            volume_l=entry.get("volume_l"),
            start_bar=entry.get("start_bar"),
            end_bar=entry.get("end_bar"),
            weights_kg=entry.get("weights_kg"),
            water_temperature_c=entry.get("water_temperature_c"),
            notes=entry.get("notes", ""),
        )
    )
    return replace(
        dive,
        number=entry.get("number"),
        tags=tuple(entry.get("tags", ())),
        rating=entry.get("rating"),
        conditions=entry.get("conditions", ""),
        role=Role(entry["role"]) if "role" in entry else None,
        environments=tuple(map(Environment, entry.get("environments", ()))),
    )

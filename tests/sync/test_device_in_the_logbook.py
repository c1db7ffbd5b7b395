"""The device's store in the logbook file says what the dictionaries of the simulated worlds say."""

from __future__ import annotations

import os
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from tests.sync.mirrored_device import MirroredDevice
from tests.sync.torture import world_of

pytestmark = pytest.mark.law

WORLDS = 60 if os.environ.get("CI") else 300


@pytest.mark.parametrize("first", range(0, WORLDS, 20))
def test_worlds_whose_devices_lie_in_logbook_files(first, tmp_path):
    for seed in range(first, first + 20):
        names = count()

        def device(tables: Any, power: Any, seed: int = seed, names: Any = names) -> MirroredDevice:
            return MirroredDevice(Path(tmp_path, f"{seed} {next(names)}.leadline"), tables, power)

        world = world_of(seed, device=device)
        for phone in world.phones:
            phone.store.logbook.close()

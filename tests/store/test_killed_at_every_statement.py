"""A seeded part of `tests.store.killing`: the program killed at any moment and before any statement."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.store.killing import life

pytestmark = [
    pytest.mark.law,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork"),
]


@pytest.mark.parametrize("seed", range(4))
def test_what_was_acknowledged_is_there(seed: int, tmp_path: Path) -> None:
    tally = life(seed, tmp_path)
    assert tally.amiss == []
    assert tally.kills == 25
    assert tally.acknowledged > tally.kills

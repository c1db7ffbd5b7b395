"""A real recording of two days, hundreds of dives in one series: an Antarctic fur seal's.

Source: the file ag_mk7_2002_022.nc in the tests of scikit-diveMove 1.0.0 (S. P. Luque; AGPL-3, so it
is read from the installed package and never copied): Crozet, from 2002-01-05 11:32, depth every 5 s for
47.5 h, missing in the dry. It is no human dive: it says nothing about limits, but much about robustness,
with missing rows, a gauge beside zero, whole metres, and 144 m/min upwards.

The package itself needs R; it is enough to install it without what it needs:
`pip install --no-deps scikit-diveMove==1.0.0`.
"""

from __future__ import annotations

import hashlib
import os
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path

import numpy as np
import pytest

BEGAN = datetime(2002, 1, 5, 11, 32, tzinfo=UTC)
SHA256 = "cb8658b39d86b1124b2f6307692f0031dfc159a466aad5e85c870897517e2db8"
STEP_S = 5.0
OFFSET_M = 3.0


def seal_depth_m() -> np.ndarray:
    """Return the depth of every row, NaN where it is missing; skip where it is not installed on a desk."""
    h5py = pytest.importorskip("h5py", reason="the real recording needs h5py: pip install h5py")
    path = _recording()
    if isinstance(path, str):
        pytest.fail(path, pytrace=False) if os.environ.get("CI") else pytest.skip(path)
    assert hashlib.sha256(path.read_bytes()).hexdigest() == SHA256
    with h5py.File(path) as file:
        return file["depth"][:]


def _recording() -> Path | str:
    """Return where the recording lies, or why it cannot be read here."""
    try:
        files = metadata.files("scikit-diveMove") or []
    except metadata.PackageNotFoundError:
        return "the real recording is not installed: pip install --no-deps scikit-diveMove==1.0.0"
    found = [Path(str(file.locate())) for file in files if file.name == "ag_mk7_2002_022.nc"]
    return found[0] if found and found[0].exists() else "scikit-diveMove is installed without its recording"

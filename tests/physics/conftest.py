"""Lets the tests of this folder import their helpers, however pytest was started; and their one fixture."""

import dataclasses
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))

from printed import table

from logbook_app.physics import gradient_factors, no_stop_limit, tissue_loading
from logbook_app.physics.compartments import ZHL16C


@pytest.fixture
def with_other_constants(monkeypatch):
    """Run the product on another set or first compartment, which some worked cases were written for."""

    def swap(nitrogen_set="c", first="1b"):
        printed = table("buehlmann_2002_table_25")["rows"]
        rows = [row for row in printed if row["id"] == first or row["id"] not in {"1", "1b"}]
        keys = ["n2_min", f"n2_a_set_{nitrogen_set}", "n2_b", "he_min", "he_a", "he_b"]
        fields = [field.name for field in dataclasses.fields(ZHL16C)]
        columns = {
            field: np.array([row[key] for row in rows]) for field, key in zip(fields, keys, strict=True)
        }
        for module in (gradient_factors, no_stop_limit, tissue_loading):
            monkeypatch.setattr(module, "ZHL16C", dataclasses.replace(ZHL16C, **columns))

    return swap

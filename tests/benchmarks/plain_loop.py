"""The same analysis as a plain loop, in C built on the spot and in Python as a textbook writes it."""

from __future__ import annotations

import ctypes
import shutil
import subprocess
from functools import cache
from pathlib import Path

import numpy as np

from logbook_app.physics.ambient_pressure import bar_per_metre
from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.dive_lanes import step_weights
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.physics.many_dives import ManyDives

_ROW = ctypes.c_double * 16


class _Model(ctypes.Structure):
    _fields_ = [
        *((name, _ROW) for name in ("kept", "at_start", "at_end", "half_time_min", "a_bar", "b")),
        *((name, ctypes.c_double) for name in ("step_min", "gf_low", "gf_high")),
    ]


def compiler() -> str | None:
    """Return the C compiler of this machine, None where there is none."""
    return shutil.which("cc") or shutil.which("gcc") or shutil.which("clang")


class PlainLoop:
    """`plain_loop.c`, built with -O3 and nothing else that would make it less plain."""

    def __init__(self, folder: Path) -> None:
        library = folder / "plain_loop.so"
        source = Path(__file__).with_name("plain_loop.c")
        subprocess.run(
            [str(compiler()), "-O3", "-shared", "-fPIC", "-o", str(library), str(source), "-lm"], check=True
        )
        self._run = ctypes.CDLL(str(library)).whole_logbook
        self._run.restype = None

    def analysed(self, dives: ManyDives, factors: GradientFactors) -> dict[str, np.ndarray]:
        """Return the figures at every sample and the tensions at the end of each dive, in new arrays."""
        samples = dives.time_min.size
        found = {
            name: np.empty(samples)
            for name in ("ceiling_m", "load", "no_stop_min", "ppo2_bar", "cns_fraction", "otu")
        }
        found["end_bar"] = np.empty((len(dives), 16))
        given = (
            dives.count,
            dives.ambient_bar,
            dives.n2_fraction,
            dives.surface_bar,
            bar_per_metre(1.0) * dives.density_kg_m3,
            dives.interval_min,
        )
        pointers = [ctypes.c_void_p(array.ctypes.data) for array in (*given, *found.values())]
        model = _model(float(dives.step_min[0]), factors)
        self._run(ctypes.byref(model), ctypes.c_long(len(dives)), *pointers)
        return found


@cache
def _model(step_min: float, factors: GradientFactors) -> _Model:
    weights = [_ROW(*weight) for weight in step_weights(step_min)]
    constants = [_ROW(*c) for c in (ZHL16C.n2_half_time_min, ZHL16C.n2_a_bar, ZHL16C.n2_b)]
    return _Model(*weights, *constants, step_min, factors.low, factors.high)

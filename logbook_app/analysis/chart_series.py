"""Series ready to be drawn: the tide curve of the load, and the small outline of a profile."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook_app.analysis.dive_analysis import Rules
from logbook_app.analysis.surface_state import SurfaceState
from logbook_app.dive.profile import Profile
from logbook_app.physics.residual_load import load_by_compartment
from logbook_app.physics.surface_interval import tensions_at
from logbook_app.physics.units import FloatArray

OUTLINE_POINTS = 48
_CURVE_POINTS = 241


@dataclass(frozen=True, eq=False)
class TideCurve:
    """Load of whichever compartment leads, from the last surfacing on.

    minutes   since the last surfacing, (m,), closer together at the start where the load falls fast
    load      share of the surfacing limit [fraction], (m,)
    """

    minutes: FloatArray
    load: FloatArray


def tide_curve(state: SurfaceState, rules: Rules) -> TideCurve | None:
    """Return the load from the last surfacing until a while after the last mark on it.

    The curve runs to a tenth beyond the latest of now, the fly time and the clear time.
    None where there is no dive to fall from.
    """
    last = state.after
    if last is None or state.clear_at is None or state.fly is None:
        return None
    final = max(state.at, state.clear_at, state.fly.at or state.clear_at)
    length_min = max(60.0, (final - last.ended_at).total_seconds() / 60 * 1.1)
    minutes = length_min * np.linspace(0, 1, _CURVE_POINTS) ** 2
    n2_bar, he_bar = tensions_at(last.tensions, last.surface_bar, minutes)
    load = load_by_compartment(n2_bar, he_bar, last.surface_bar, rules.factors.high)
    return TideCurve(minutes, load.max(axis=-1))


def outline(profile: Profile | None) -> bytes:
    """Return the shape of a dive for its small picture in a list: one byte a column.

    Each column holds the deepest sample in its share of the time, as 0 to 255 of the dive's own
    greatest depth, so that no short excursion is lost. A dive without samples is a square.
    """
    if profile is None or len(profile) < 2 or profile.depth_m.max() <= 0:
        return bytes([0] + [255] * (OUTLINE_POINTS - 2) + [0])
    time_s, depth_m = profile.time_s, np.maximum(profile.depth_m, 0)
    edges_s = np.linspace(time_s[0], time_s[-1], OUTLINE_POINTS + 1)
    at_edges = np.interp(edges_s, time_s, depth_m)
    deepest = np.maximum(at_edges[:-1], at_edges[1:])
    column = np.clip(np.searchsorted(edges_s, time_s, side="right") - 1, 0, OUTLINE_POINTS - 1)
    np.maximum.at(deepest, column, depth_m)
    return bytes(np.rint(deepest / depth_m.max() * 255).astype(np.uint8))

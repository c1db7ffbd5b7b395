"""Small dives written out for the tests: invented, never an expected value."""

from __future__ import annotations

from datetime import UTC, datetime

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.profile import GasSwitch, Profile
from logbook_app.dive.record import Dive, Recording
from logbook_app.physics.breathing_gas import AIR, BreathingGas

NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)


def profile(
    *points: tuple[float, float], switches: tuple[tuple[float, int], ...] = (), **channels
) -> Profile:
    """Return a profile from (minutes, metres)."""
    time_s = [minutes * 60 for minutes, _ in points]
    changes = tuple(GasSwitch(minutes * 60, cylinder) for minutes, cylinder in switches)
    return Profile(time_s, [depth_m for _, depth_m in points], channels, changes)


def dive_of(samples: Profile | None, began_at: datetime = NOON, gases=(AIR,), **fields) -> Dive:
    """Return a record that belongs to these samples."""
    minutes = samples.time_s[-1] / 60 if samples else fields.pop("duration_min")
    depth_m = samples.depth_m.max() if samples else fields.pop("max_depth_m")
    cylinders = fields.pop("cylinders", tuple(Cylinder(gas) for gas in gases))
    return Dive(
        began_at=began_at,
        duration_min=float(minutes),
        max_depth_m=float(depth_m),
        cylinders=cylinders,
        estimate=samples is None,
        recordings=() if samples is None else (Recording(fingerprint=f"{began_at}"),),
        **fields,
    )


NITROX_50 = BreathingGas(0.5)
EASY = profile((0, 0), (2, 18), (30, 18), (33, 5), (37, 5), (38, 0))

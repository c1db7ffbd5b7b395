"""A dive written down by hand: greatest depth, time, gas and start are enough.

There are no samples, so the loading takes the whole time at the greatest depth, and the dive is
marked an estimate wherever it shows. That is the cautious reading of what little is known.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.kit import UsedKit
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Dive, Site, Water
from logbook_app.language import _
from logbook_app.physics.breathing_gas import AIR, BreathingGas


@dataclass(frozen=True, slots=True, kw_only=True)
class HandEntry:
    """What a diver types at the dock. Only the first four are asked for.

    began_local   start by the clock on the dock, aware of its offset
    duration_min  from leaving the surface to returning to it [min]
    """

    began_local: datetime
    duration_min: float
    max_depth_m: float
    gas: BreathingGas = AIR
    site: Site | None = None
    buddies: tuple[str, ...] = ()
    volume_l: float | None = None
    start_bar: float | None = None
    end_bar: float | None = None
    weights_kg: float | None = None
    water_temperature_c: float | None = None
    notes: str = ""
    kit: tuple[UsedKit, ...] = ()


def dive_by_hand(entry: HandEntry) -> Dive:
    """Return the record of a hand entry, marked as an estimate.

    Raises RefusedRecord where the start has no offset or a value cannot be.
    """
    offset = entry.began_local.utcoffset()
    if offset is None:
        raise RefusedRecord(_("The start of a dive needs its offset from UTC."))
    return Dive(
        began_at=entry.began_local,
        utc_offset_min=round(offset.total_seconds() / 60),
        duration_min=entry.duration_min,
        max_depth_m=entry.max_depth_m,
        site=entry.site,
        water=(entry.site.water if entry.site else None) or Water.RECORDER,
        cylinders=(Cylinder(entry.gas, entry.volume_l, entry.start_bar, entry.end_bar),),
        buddies=entry.buddies,
        weights_kg=entry.weights_kg,
        lowest_temperature_c=entry.water_temperature_c,
        notes=entry.notes,
        kit=entry.kit,
        estimate=True,
    )

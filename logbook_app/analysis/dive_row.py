"""A dive as a list shows it, with its small picture."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from logbook_app.analysis.physics_sentences import gases_of
from logbook_app.dive.record import Dive


@dataclass(frozen=True, slots=True)
class DiveRow:
    """A dive as the list shows it; `outline` is the small picture, see `chart_series.outline`."""

    id: str
    number: int | None
    diver: str
    began_local: datetime
    duration_min: float
    max_depth_m: float
    site: str
    buddies: tuple[str, ...]
    gas: str
    estimate: bool
    outline: bytes


def dive_row(dive: Dive, shape: bytes) -> DiveRow:
    """Return a dive's row; `shape` is its outline."""
    return DiveRow(
        id=dive.id,
        number=dive.number,
        diver=dive.diver,
        began_local=dive.began_local,
        duration_min=dive.duration_min,
        max_depth_m=dive.max_depth_m,
        site=dive.site.name if dive.site else "",
        buddies=dive.buddies,
        gas=gases_of(dive),
        estimate=dive.estimate,
        outline=shape,
    )

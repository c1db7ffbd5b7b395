"""What a dive cost in oxygen: the clock, the share of a day's limit, and the lungs."""

from __future__ import annotations

from dataclasses import dataclass

from logbook_app.analysis.breathed_samples import Breathed, oxygen_breathed_bar
from logbook_app.physics.oxygen_allowance import day_fraction_along
from logbook_app.physics.oxygen_exposure import cns_fraction_along, otu_along
from logbook_app.physics.units import FloatArray


@dataclass(frozen=True, eq=False)
class OxygenDoses:
    """The doses of one dive; those of a day and of the lungs are its own alone.

    at_bar        oxygen pressure breathed from each sample on, (n,) [bar]
    cns_fraction  oxygen clock up to each sample, with what was carried into the dive, (n,) [fraction]
    day_fraction  share of NOAA's 24-hour limit at the end [fraction]
    otu           pulmonary units at the end
    """

    at_bar: FloatArray
    cns_fraction: FloatArray
    day_fraction: float
    otu: float


def oxygen_doses(breathed: Breathed, cns_carried: float) -> OxygenDoses:
    """Return what the oxygen of a dive added up to.

    cns_carried   oxygen clock when the dive began [fraction]
    """
    at_bar, start_bar, end_bar = oxygen_breathed_bar(breathed)
    steps = breathed.time_s / 60, start_bar, end_bar
    return OxygenDoses(
        at_bar=at_bar,
        cns_fraction=cns_carried + cns_fraction_along(*steps),
        day_fraction=float(day_fraction_along(*steps)[-1]),
        otu=float(otu_along(*steps)[-1]),
    )

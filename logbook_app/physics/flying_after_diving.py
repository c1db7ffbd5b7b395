"""How long to stay down here before going up: in an aircraft, or over a pass.

Two answers, never mixed. The consensus guideline is a published rule about kinds of diving. The model says
when every compartment would tolerate the lower pressure; by itself it is far too permissive (an ordinary
no-stop dive would be let into an aircraft within the hour), so it may only ever lengthen what the guideline
says.

Guideline: P. J. Sheffield, R. D. Vann (eds.), DAN Flying After Recreational Diving Workshop Proceedings,
2004, consensus of May 2002: air dives, no symptoms, cabin altitudes of 2,000 to 8,000 ft. It lowers the
risk and does not remove it. Read in quotations of the consensus, not in the proceedings themselves.

Above 8,000 ft the consensus does not speak. There the advice of the Federal Aviation Administration to pilots
holds, Aeronautical Information Manual 8-1-2 d: 24 h after any dive. Read in quotations as well.
"""

import math
from enum import Enum
from typing import Final

import numpy as np

from logbook_app.physics.gradient_factors import limit_bar
from logbook_app.physics.surface_interval import waits_min
from logbook_app.physics.tissue_loading import Tensions
from logbook_app.physics.units import FloatArray, metres_from_feet

# The highest cabin altitude in normal operation: 14 CFR 25.841(a). Read in quotation.
CABIN_ALTITUDE_M: Final = metres_from_feet(8000.0)
_GUIDELINE_LOWEST_M: Final = metres_from_feet(2000.0)
_GUIDELINE_HIGHEST_M: Final = CABIN_ALTITUDE_M


class FlyingRule(Enum):
    """Which published sentence a series of dives falls under; the last is the FAA's."""

    SINGLE_DIVE = "one dive without required stops"
    SEVERAL_DIVES = "several dives in a day, or dives on several days, without required stops"
    REQUIRED_STOPS = "a dive with required stops"
    ABOVE_8000_FT = "any dive, to go above 8,000 ft"

    @property
    def hours(self) -> float:
        """The least interval before flying under this rule, from surfacing. [h]"""
        return _HOURS[self]


# "Substantially longer than 18 hours" is printed without a number; 24 h is this logbook's reading of it.
_HOURS: Final = {
    FlyingRule.SINGLE_DIVE: 12.0,
    FlyingRule.SEVERAL_DIVES: 18.0,
    FlyingRule.REQUIRED_STOPS: 24.0,
    FlyingRule.ABOVE_8000_FT: 24.0,
}


def flying_rule(dives: int, required_stops: bool) -> FlyingRule:
    """Return the sentence of the guideline that a series of dives falls under.

    dives           dives in the series, over one day or several, 1 or more [count]
    required_stops  whether any of them needed decompression stops

    Raises ValueError without a dive. Source: at the head of this module.

    >>> flying_rule(2, required_stops=False).name
    'SEVERAL_DIVES'
    """
    if dives < 1:
        raise ValueError("The guideline speaks of at least one dive; there is none to wait for.")
    if required_stops:
        return FlyingRule.REQUIRED_STOPS
    return FlyingRule.SINGLE_DIVE if dives == 1 else FlyingRule.SEVERAL_DIVES


def above_guideline(elevation_m: float) -> bool:
    """Return whether an elevation is above what the consensus speaks of, where the FAA's advice holds.

    elevation_m  cabin altitude or elevation of the road [m]

    Source: at the head of this module, 8,000 ft.

    >>> above_guideline(2438.0), above_guideline(3000.0)
    (False, True)
    """
    return elevation_m > _GUIDELINE_HIGHEST_M


def guideline_covers(elevation_m: float) -> bool:
    """Return whether the guideline speaks of going up to an elevation; above it nothing may be read from it.

    elevation_m  cabin altitude or elevation of the road, 610 to 2438 is covered [m]

    Source: at the head of this module, 2,000 to 8,000 ft.

    >>> guideline_covers(2438.0), guideline_covers(3000.0)
    (True, False)
    """
    return _GUIDELINE_LOWEST_M <= elevation_m <= _GUIDELINE_HIGHEST_M


def model_minutes_until(
    tensions: Tensions, surface_bar: float, cabin_bar: float, gf_low: float
) -> float | None:
    """Return how long on air here until every compartment tolerates a lower pressure. [min]

    The end of the last interval in which a compartment is over `P + g (a + P/b - P)`, P the cabin pressure.

    tensions     what is dissolved now [bar]
    surface_bar  pressure of the air while waiting [bar]
    cabin_bar    pressure to go up to, of a cabin or a pass [bar]
    gf_low       gradient factor, the low one [fraction]

    Returns 0 when it is tolerated already, None when it never will be from here.
    Source: `gradient_factors` at the cabin pressure. Not a recommendation; see the head of this module.

    >>> from logbook_app.physics.tissue_loading import saturated_on_air
    >>> model_minutes_until(saturated_on_air(1.01325), 1.01325, 0.7526, 0.40)
    0.0
    """
    minutes = float(np.max(model_waits_min(tensions, surface_bar, cabin_bar, gf_low)))
    return minutes if math.isfinite(minutes) else None


def model_waits_min(tensions: Tensions, surface_bar: float, cabin_bar: float, gf_low: float) -> FloatArray:
    """Return how long on air each compartment takes to tolerate a lower pressure; the largest governs. [min]

    tensions     what is dissolved now [bar]
    surface_bar  pressure of the air while waiting [bar]
    cabin_bar    pressure to go up to, of a cabin or a pass [bar]
    gf_low       gradient factor, the low one [fraction]

    Returns shape (16,): 0 where it is tolerated already, inf where it never will be from here.
    Source: `gradient_factors` at the cabin pressure. Not a recommendation; see the head of this module.

    >>> from logbook_app.physics.tissue_loading import saturated_on_air
    >>> float(np.max(model_waits_min(saturated_on_air(1.01325), 1.01325, 0.7526, 0.40)))
    0.0
    """

    def allowed_bar(n2_bar: FloatArray, he_bar: FloatArray) -> FloatArray:
        return limit_bar(n2_bar, he_bar, cabin_bar, gf_low)

    return waits_min(tensions, surface_bar, allowed_bar)

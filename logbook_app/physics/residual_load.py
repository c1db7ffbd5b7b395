"""What is still dissolved after a dive, as a share of what the diver may surface with.

    load = (tension - surface equilibrium) / (surfacing limit - surface equilibrium)

0 is somebody who has not dived, 1 is at the surfacing limit with the high gradient factor. The largest over
the compartments leads. The scale is a convention of this logbook; the limits in it are those of
`gradient_factors`.
"""

from typing import Final

import numpy as np

from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.gradient_factors import surfacing_limit_bar
from logbook_app.physics.inspired_pressure import inspired_inert_bar
from logbook_app.physics.surface_interval import waits_min
from logbook_app.physics.tissue_loading import Tensions
from logbook_app.physics.units import FloatArray

# At or under this load a diver is called clear. A convention of this logbook.
CLEAR_LOAD: Final = 0.05


def load_by_compartment(
    n2_bar: FloatArray, he_bar: FloatArray, surface_bar: float, gf_high: float
) -> FloatArray:
    """Return the load of every compartment. [fraction]

        load = (p - q) / (limit - q), q the inspired nitrogen at the surface on air

    n2_bar       nitrogen tension, shape (..., 16) [bar]
    he_bar       helium tension, shape (..., 16) [bar]
    surface_bar  pressure of the air at the surface [bar]
    gf_high      gradient factor at the surface [fraction]

    Returns shape (..., 16); below 0 for a tension under equilibrium. Source: a convention of this logbook.

    >>> import numpy as np
    >>> load_by_compartment(np.full(16, 1.5), np.zeros(16), 1.01325, 0.85)[[0, 15]].round(2).tolist()
    [0.39, 1.53]
    """
    equilibrium_bar = inspired_inert_bar(surface_bar, AIR.nitrogen)
    allowed_bar = surfacing_limit_bar(n2_bar, he_bar, surface_bar, gf_high)
    return (n2_bar + he_bar - equilibrium_bar) / (allowed_bar - equilibrium_bar)


def minutes_until_load(
    tensions: Tensions, surface_bar: float, gf_high: float, threshold: float = CLEAR_LOAD
) -> float:
    """Return how long on air at the surface until every load is at or under a threshold, for good. [min]

    tensions     what is dissolved now [bar]
    surface_bar  pressure of the air [bar]
    gf_high      gradient factor at the surface [fraction]
    threshold    load to come down to, above 0 [fraction]

    Returns 0 when it already is. Source: Haldane's equation turned round for the time.

    >>> from logbook_app.physics.tissue_loading import saturated_on_air
    >>> rested = saturated_on_air(1.01325)
    >>> minutes_until_load(rested, 1.01325, 0.85)
    0.0
    """
    return float(np.max(load_waits_min(tensions, surface_bar, gf_high, threshold)))


def load_waits_min(
    tensions: Tensions, surface_bar: float, gf_high: float, threshold: float = CLEAR_LOAD
) -> FloatArray:
    """Return how long on air each compartment takes to come down to a load; the largest governs. [min]

    tensions     what is dissolved now [bar]
    surface_bar  pressure of the air [bar]
    gf_high      gradient factor at the surface [fraction]
    threshold    load to come down to, above 0 [fraction]

    Returns shape (16,), 0 where it is that low already. Source: Haldane's equation turned round for the time.

    >>> from logbook_app.physics.tissue_loading import saturated_on_air
    >>> float(np.max(load_waits_min(saturated_on_air(1.01325), 1.01325, 0.85)))
    0.0
    """

    def allowed_bar(n2_bar: FloatArray, he_bar: FloatArray) -> FloatArray:
        limit_bar = surfacing_limit_bar(n2_bar, he_bar, surface_bar, gf_high)
        return equilibrium_bar + threshold * (limit_bar - equilibrium_bar)

    equilibrium_bar = inspired_inert_bar(surface_bar, AIR.nitrogen)
    return waits_min(tensions, surface_bar, allowed_bar)

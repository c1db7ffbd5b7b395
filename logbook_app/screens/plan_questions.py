"""What a plan asks for, in the diver's own units."""

from __future__ import annotations

from logbook_app.analysis.dive_plan import LONGEST_LEG_MIN
from logbook_app.dive.unit_choice import unit_choice
from logbook_app.language import later
from logbook_app.physics import units as convert
from logbook_app.screens.asked_number import NumberAsked
from logbook_app.screens.entry_units import Question, questions

_FEET = (convert.metres_from_feet, convert.feet_from_metres)
_CUBIC_FEET = (convert.litres_from_cubic_feet, convert.cubic_feet_from_litres)
_DEPTHS = {
    "m": Question(NumberAsked(later("Depth of the leg"), "m", least=1, most=350, decimals=1, first=18)),
    "ft": Question(
        NumberAsked(later("Depth of the leg"), "ft", least=3, most=1148, step=5, first=60), *_FEET
    ),
}
_MINUTES = Question(
    NumberAsked(later("Minutes, way there included"), "min", least=1, most=LONGEST_LEG_MIN, first=20)
)
_VOLUMES = {
    "L": Question(
        NumberAsked(later("Minute volume"), "L/min", least=5, most=90, decimals=1, step=1, first=20)
    ),
    "cu ft": Question(
        NumberAsked(later("Minute volume"), "cu ft/min", least=0.2, most=3, decimals=2, step=0.05, first=0.7),
        *_CUBIC_FEET,
    ),
}


def plan_questions(units: str) -> dict[str, Question]:
    """Return the numbers that a plan asks for.

    units   the diver's: `metric`, `imperial` or a unit for each quantity

    >>> plan_questions("imperial")["depth_m"].recorded("60")
    18.288
    """
    chosen, asked = unit_choice(units), questions(units)
    return {
        "depth_m": _DEPTHS["m" if chosen.depth == "m" else "ft"],
        "minutes": _MINUTES,
        "minute_volume": _VOLUMES["L" if chosen.volume == "L" else "cu ft"],
        "volume_l": asked["volume_l"],
        "start_bar": asked["start_bar"],
    }

"""The numbers of a record beyond those of a hand entry, as a number pad asks for them."""

from __future__ import annotations

from logbook_app.dive.unit_choice import unit_choice
from logbook_app.language import later
from logbook_app.physics import units as convert
from logbook_app.screens.asked_number import NumberAsked
from logbook_app.screens.entry_units import Question, questions

_FEET = (convert.metres_from_feet, convert.feet_from_metres)
_FAHRENHEIT = (convert.celsius_from_fahrenheit, convert.fahrenheit_from_celsius)
_MINUTES = (lambda hours: hours * 60, lambda minutes: minutes / 60)

_ALIKE = {
    "number": Question(NumberAsked(later("Number"), "", least=0, most=99_999, first=1)),
    "surface_bar": Question(NumberAsked(later("Surface pressure"), "bar", least=0.2, most=1.2, decimals=3)),
    "latitude_deg": Question(
        NumberAsked(later("Latitude, north positive"), "°", least=-90, most=90, decimals=5)
    ),
    "longitude_deg": Question(
        NumberAsked(later("Longitude, east positive"), "°", least=-180, most=180, decimals=5)
    ),
    "utc_offset_min": Question(
        NumberAsked(later("Clock ahead of UTC"), "h", least=-14, most=14, decimals=2, step=0.5, first=0),
        *_MINUTES,
    ),
}
_METRES = {
    "mean_depth_m": Question(NumberAsked(later("Mean depth"), "m", least=0, most=350, decimals=1)),
    "visibility_m": Question(NumberAsked(later("Visibility"), "m", least=0, most=100, decimals=1, first=5)),
    "elevation_m": Question(NumberAsked(later("Elevation"), "m", least=-450, most=5500, step=10, first=0)),
}
_IN_FEET = {
    "mean_depth_m": Question(NumberAsked(later("Mean depth"), "ft", least=0, most=1148), *_FEET),
    "visibility_m": Question(NumberAsked(later("Visibility"), "ft", least=0, most=330, first=15), *_FEET),
    "elevation_m": Question(
        NumberAsked(later("Elevation"), "ft", least=-1475, most=18000, step=50, first=0), *_FEET
    ),
}
_AIR = {
    "°C": Question(NumberAsked(later("Air"), "°C", least=-50, most=60, decimals=1, first=15)),
    "°F": Question(NumberAsked(later("Air"), "°F", least=-58, most=140, first=59), *_FAHRENHEIT),
}


def record_questions(units: str) -> dict[str, Question]:
    """Return every number of a record, by its field; see `questions`.

    >>> record_questions("metric")["utc_offset_min"].recorded("5.75")
    345.0
    """
    chosen = unit_choice(units)
    asked = questions(units)
    return (
        asked
        | _ALIKE
        | (_METRES if chosen.depth == "m" else _IN_FEET)
        | {
            "air_temperature_c": _AIR[chosen.temperature],
            "lowest_temperature_c": asked["water_temperature_c"],
        }
    )

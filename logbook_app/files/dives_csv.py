"""The dives as a table for a spreadsheet, one a row; samples go another way (samples_csv.py).

UTF-8, parted by commas, decimal points, one header:

    id                     the name that Leadline gave the dive, so that reading the table back into
                           the same logbook adds nothing
    number, diver          diver is empty for the owner of the logbook
    began                  ISO 8601 with the offset of the clock on the dock
    duration (min), depth (m), mean depth (m)
    site, region, latitude (degrees), longitude (degrees), elevation (m)
                           elevation is that of the dive, else of its site
    surface pressure (bar), water
    gas, cylinder (L), start pressure (bar), end pressure (bar)
                           one for each cylinder, parted by semicolons; gas is air, 32, 18/45, oxygen
    buddies, tags          parted by semicolons
    weights (kg), suit, air temperature (C), water temperature (C), visibility (m)
    current, conditions, purpose, rating, trip, supervised by, role, notes
    surroundings           parted by semicolons
    estimate               yes where there are no samples

An empty cell is not written down. A text that a spreadsheet would take for a formula (it begins
with = + - @) has an apostrophe before it, which reading takes away again.

dive_list_csv.py reads the table; samples, names of cylinders and what files held besides are not in it.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Final

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Dive
from logbook_app.files.whole_file import written_whole
from logbook_app.files.written_gas import gas_text

_COLUMNS: Final[dict[str, Callable[[Dive], object]]] = {
    "id": lambda dive: dive.id,
    "number": lambda dive: dive.number,
    "diver": lambda dive: dive.diver,
    "began": lambda dive: dive.began_local.isoformat(),
    "duration (min)": lambda dive: dive.duration_min,
    "depth (m)": lambda dive: dive.max_depth_m,
    "mean depth (m)": lambda dive: dive.mean_depth_m,
    "site": lambda dive: dive.site.name if dive.site else None,
    "region": lambda dive: dive.site.region if dive.site else None,
    "latitude (degrees)": lambda dive: dive.site.latitude_deg if dive.site else None,
    "longitude (degrees)": lambda dive: dive.site.longitude_deg if dive.site else None,
    "elevation (m)": lambda dive: dive.surface_elevation_m,
    "surface pressure (bar)": lambda dive: dive.surface_bar,
    "water": lambda dive: dive.water.value,
    "gas": lambda dive: _each(dive, lambda cylinder: gas_text(cylinder.gas) if cylinder.gas else ""),
    "cylinder (L)": lambda dive: _each(dive, lambda cylinder: _number(cylinder.volume_l)),
    "start pressure (bar)": lambda dive: _each(dive, lambda cylinder: _number(cylinder.start_bar)),
    "end pressure (bar)": lambda dive: _each(dive, lambda cylinder: _number(cylinder.end_bar)),
    "buddies": lambda dive: "; ".join(dive.buddies),
    "weights (kg)": lambda dive: dive.weights_kg,
    "suit": lambda dive: dive.suit,
    "air temperature (C)": lambda dive: dive.air_temperature_c,
    "water temperature (C)": lambda dive: dive.lowest_temperature_c,
    "visibility (m)": lambda dive: dive.visibility_m,
    "current": lambda dive: dive.current,
    "conditions": lambda dive: dive.conditions,
    "purpose": lambda dive: dive.purpose,
    "rating": lambda dive: dive.rating,
    "tags": lambda dive: "; ".join(dive.tags),
    "trip": lambda dive: dive.trip,
    "supervised by": lambda dive: dive.supervised_by,
    "role": lambda dive: dive.role.value if dive.role else "",
    "surroundings": lambda dive: "; ".join(each.value for each in dive.environments),
    "notes": lambda dive: dive.notes,
    "estimate": lambda dive: "yes" if dive.estimate else "",
}


def write_dives_csv(path: Path, dives: Iterable[Dive]) -> None:
    """Write dives as a table, whole or not at all. Raises LogbookError where it cannot be written."""
    with written_whole(path) as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(_COLUMNS)
        for dive in dives:
            table.writerow([_cell(value(dive)) for value in _COLUMNS.values()])


def _cell(value: object) -> str:
    if isinstance(value, str):
        return f"'{value}" if value.startswith(("=", "+", "-", "@", "\t", "\r")) else value
    return "" if value is None else repr(value)


def _each(dive: Dive, told: Callable[[Cylinder], str]) -> str:
    """Return what is told of each cylinder, empty where nothing is told of any."""
    texts = [told(cylinder) for cylinder in dive.cylinders]
    return "; ".join(texts) if any(texts) else ""


def _number(value: float | None) -> str:
    return "" if value is None else repr(value)

"""The samples of each dive as a table of its own, in the form that depth_csv.py documents and reads.

A dive that has samples becomes one file, named by its start: `2026-06-14 1005 #41.csv`. The lines
before the table tell its start, number, place, gases, cylinders, buddies, weights and notes, and
`id`, which keeps it from being added again to the logbook that it came from. The table holds time,
depth, temperature, the pressure of each cylinder and the gas from the row of each change on.

Reading such a file gives the same times, depths, temperatures, pressures and changes of gas to the
last digit, as far as a recorder writes them: six decimals, temperatures of -10 to 60 degrees, a
change at a sample and to another gas. Further channels, remarks and the rest of the record are not in
it; UDDF and JSON have them.
"""

from __future__ import annotations

import csv
import math
import re
from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Final

from logbook_app.dive.problems import LogbookError
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.files.whole_file import written_whole
from logbook_app.files.written_gas import gas_text
from logbook_app.language import _

_TEMPERATURE: Final = "temperature_c"
_PRESSURE: Final = re.compile(r"pressure_bar_(\d{1,2})")


def write_samples_csv(
    folder: Path, dives: Iterable[Dive], profile_of: Callable[[Dive], Profile | None]
) -> int:
    """Write a file for each dive that has samples; return how many. The folder is made where it is not.

    Raises LogbookError where it cannot be written; each file is then whole or not there.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LogbookError(
            _("{folder} is no folder that can be written to: {strerror}.").format(
                folder=folder, strerror=error.strerror
            )
        ) from error
    names: dict[str, int] = {}
    for dive in dives:
        profile = profile_of(dive)
        if profile is not None:
            _write(folder / _name(dive, names), dive, profile)
    return sum(names.values())


def write_samples_of(path: Path, dive: Dive, profile: Profile) -> None:
    """Write the samples of one dive to a file, whole or not at all. Raises LogbookError."""
    _write(path, dive, profile)


def _name(dive: Dive, taken: dict[str, int]) -> str:
    """Return a name that no other dive of this export has."""
    name = f"{dive.began_local:%Y-%m-%d %H%M}" + (f" #{dive.number}" if dive.number is not None else "")
    taken[name] = taken.get(name, 0) + 1
    return f"{name}.csv" if taken[name] == 1 else f"{name} ({taken[name]}).csv"


def _write(path: Path, dive: Dive, profile: Profile) -> None:
    with written_whole(path) as file:
        file.writelines(f"# {name}: {told}\n" for name, told in _heading(dive))
        table = csv.writer(file, lineterminator="\n")
        table.writerows(_table(dive, profile))


def _heading(dive: Dive) -> Iterator[tuple[str, str]]:
    gases = [gas_text(cylinder.gas) if cylinder.gas else "" for cylinder in dive.cylinders]
    volumes = ["" if c.volume_l is None else f"{c.volume_l!r} L" for c in dive.cylinders]
    told: dict[str, object] = {
        "id": dive.id,
        "began": dive.began_local.isoformat(),
        "number": dive.number,
        "site": dive.site.name if dive.site else None,
        "elevation": None if dive.surface_elevation_m is None else f"{dive.surface_elevation_m!r} m",
        "surface pressure": None if dive.surface_bar is None else f"{dive.surface_bar!r} bar",
        "gas": ", ".join(gases) if any(gases) else None,
        "cylinder": ", ".join(volumes) if any(volumes) else None,
        "buddies": ", ".join(dive.buddies) or None,
        "weights": None if dive.weights_kg is None else f"{dive.weights_kg!r} kg",
    }
    for name, value in told.items():
        if value is not None:
            yield name, " ".join(str(value).split())
    for line in filter(str.strip, dive.notes.splitlines()):
        yield "notes", line.strip()


def _table(dive: Dive, profile: Profile) -> Iterator[list[str]]:
    """Yield the header, then a row for each sample."""
    pressures = sorted(int(match[1]) for name in profile.channels if (match := _PRESSURE.fullmatch(name)))
    header = ["time (s)", "depth (m)"]
    columns = [profile.time_s.tolist(), profile.depth_m.tolist()]
    if _TEMPERATURE in profile.channels:
        header.append("temperature (C)")
        columns.append(profile.channels[_TEMPERATURE].tolist())
    for place in pressures:
        header.append(f"pressure {place + 1} (bar)")
        columns.append(profile.channels[f"pressure_bar_{place}"].tolist())
    gases = _gases(dive, profile)
    yield [*header, "gas"] if gases else header
    for place, values in enumerate(zip(*columns, strict=True)):
        cells = ["" if math.isnan(value) else repr(value) for value in values]
        yield [*cells, gases.get(place, "")] if gases else cells


def _gases(dive: Dive, profile: Profile) -> dict[int, str]:
    """Return the gas that each change brings, by the sample from which on it is breathed."""
    times_s = profile.time_s.tolist()
    found: dict[int, str] = {}
    for switch in profile.switches:
        gas = dive.cylinders[switch.cylinder].gas if switch.cylinder < len(dive.cylinders) else None
        place = bisect_left(times_s, switch.time_s)
        if gas is not None and place < len(times_s):
            found[place] = gas_text(gas)
    return found

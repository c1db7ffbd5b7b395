"""A large file needs no more memory than a small one.

Measured by hand on 100 MB (186 dives of an hour, a sample a second; two cores, Python 3.11): 10 s,
peak 34 MB of which 32 MB were there before the file was opened. The test takes 20 MB, with the gases after
the dives so that both passes go through the whole file, and runs in a process of its own, because
the peak of a process does not fall again.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from logbook_app.files.uddf import waypoints as waypoints_module

resource = pytest.importorskip("resource", reason="no peak of memory on this system")

HEAD = '<uddf version="3.2.3"><profiledata><repetitiongroup id="rg">\n'
GASES = '<gasdefinitions><mix id="ean"><o2>0.32</o2></mix></gasdefinitions>'
TAIL = f"</repetitiongroup></profiledata>{GASES}</uddf>"
READING = """
import resource, sys
from logbook_app.files.read_dive import ReadDive
from logbook_app.files.recording_file import read_recording
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
dives = (item.dive for item in read_recording(sys.argv[1]) if isinstance(item, ReadDive))
on_nitrox = sum(dive.cylinders[0].gas.oxygen == 0.32 for dive in dives)
print(on_nitrox, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)
"""


def waypoint(time_s: int) -> str:
    depth_m = min(time_s, 3600 - time_s, 600) / 20
    return (
        f"<waypoint>\n <depth>{depth_m:.2f}</depth>\n <divetime>{time_s}</divetime>\n"
        f" <temperature>288.15</temperature>\n <tankpressure>{20_000_000 - time_s * 3000}</tankpressure>\n"
        "</waypoint>\n"
    )


SAMPLES = f"<samples>{''.join(waypoint(time_s) for time_s in range(3601))}</samples>"


def dive(number: int) -> str:
    day = f"20{number // 336:02d}-{number // 28 % 12 + 1:02d}-{number % 28 + 1:02d}"
    return (
        f'<dive id="d{number}"><informationbeforedive><datetime>{day}T10:00:00Z</datetime>'
        f'</informationbeforedive><tankdata><link ref="ean"/></tankdata>{SAMPLES}<informationafterdive>'
        "<greatestdepth>30.0</greatestdepth><diveduration>3600</diveduration></informationafterdive></dive>\n"
    )


def test_twenty_megabytes_are_read_in_flat_memory(tmp_path: Path):
    path = tmp_path / "many.uddf"
    count = 0
    with path.open("w") as stream:
        stream.write(HEAD)
        while stream.tell() < 20_000_000:
            stream.write(dive(count))
            count += 1
        stream.write(TAIL)
    command = [sys.executable, "-c", READING, str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    dives, growth_kb = map(int, done.stdout.split())
    assert dives == count
    assert growth_kb < 30_000  # a tree of the whole file would take some 200 MB


def test_one_dive_of_countless_tanks_and_marks_stays_small(one_dive, read, written):
    """Each tank would be a column as long as the dive; ten thousand of them would fill the memory."""
    waypoints = "".join(
        f"<waypoint><depth>5</depth><divetime>{n}</divetime><alarm>{n}</alarm>"
        f'<tankpressure ref="t{n}">2e7</tankpressure></waypoint>'
        for n in range(waypoints_module.MOST_MARKS + 10)
    )
    outcome = read(written(one_dive(waypoints=waypoints)))
    profile = outcome.read[0].profile
    assert len(profile.remarks) == waypoints_module.MOST_MARKS
    assert len(profile.channels) == waypoints_module.MOST_COLUMNS
    assert "10 marks beyond 20,000 were left out" in outcome.words
    assert "19960 sampled values were left out" in outcome.words

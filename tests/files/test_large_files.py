"""A large file needs no more memory than a small one.

Measured by hand on 100 MB (191 dives of an hour, a sample a second; Python 3.11): 1.9 s, and 1.3 MB
at the peak. The test takes 10 MB, with the gases after the dives so that both passes go through
the whole file.
What is counted is what Python hands out, the parser's and numpy's own included: the peak that the
system tells of a process is no measure here, it begins at that of the process that started it.
"""

from __future__ import annotations

import tracemalloc
from pathlib import Path

from logbook_app.files.read_dive import ReadDive
from logbook_app.files.recording_file import read_recording
from logbook_app.files.uddf import waypoints as waypoints_module

HEAD = '<uddf version="3.2.3"><profiledata><repetitiongroup id="rg">\n'
GASES = '<gasdefinitions><mix id="ean"><o2>0.32</o2></mix></gasdefinitions>'
TAIL = f"</repetitiongroup></profiledata>{GASES}</uddf>"


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


def write_many_dives(path: Path, size: int) -> int:
    """Write a file of at least so many bytes; return how many dives are in it."""
    count = 0
    with path.open("w") as stream:
        stream.write(HEAD)
        while stream.tell() < size:
            stream.write(dive(count))
            count += 1
        stream.write(TAIL)
    return count


def read_on_nitrox(path: Path) -> int:
    """Read a file to its end, dive by dive; return how many of them were on its nitrox."""
    dives = (item.dive for item in read_recording(path) if isinstance(item, ReadDive))
    return sum(dive.cylinders[0].gas.oxygen == 0.32 for dive in dives)


def peak_bytes(path: Path) -> int:
    """Return how much memory reading a file takes at its peak."""
    tracemalloc.start()
    try:
        read_on_nitrox(path)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_ten_megabytes_are_read_in_flat_memory(tmp_path: Path):
    count = write_many_dives(tmp_path / "many.uddf", 10_000_000)
    assert read_on_nitrox(tmp_path / "many.uddf") == count
    assert peak_bytes(tmp_path / "many.uddf") < 5_000_000  # a tree of the whole file takes some 100 MB


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

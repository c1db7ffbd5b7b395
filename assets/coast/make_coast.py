"""Make coast.json from land-50m.json of the npm package world-atlas 2.0.2.

    python assets/coast/make_coast.py land-50m.json

The shores of the world at 1:50 million, as lines in hundredths of a degree: [east, north] of the first
point, then the steps from each point to the next. What bends less than `COARSE_DEG` is made straight, which
is about five kilometres: enough to see which coast a site lies at, and nothing to navigate by.
"""

from __future__ import annotations

import json
import sys
from itertools import pairwise
from pathlib import Path

COARSE_DEG = 0.045
SCALE = 100
Point = tuple[float, float]


def decoded(topology: dict[str, object]) -> list[list[Point]]:
    """Return the arcs of a TopoJSON in degrees."""
    transform = topology["transform"]
    (scale_x, scale_y), (east, north) = transform["scale"], transform["translate"]  # type: ignore[index]
    lines = []
    for arc in topology["arcs"]:  # type: ignore[attr-defined]
        x = y = 0
        line = []
        for dx, dy in arc:
            x, y = x + dx, y + dy
            line.append((x * scale_x + east, y * scale_y + north))
        lines.append(line)
    return lines


def simplified(line: list[Point]) -> list[Point]:
    """Return a line without the points that lie nearly on the straight between their neighbours."""
    keep, waiting = {0, len(line) - 1}, [(0, len(line) - 1)]
    while waiting:
        first, last = waiting.pop()
        far, at = max(
            ((_off(line[i], line[first], line[last]), i) for i in range(first + 1, last)), default=(0.0, 0)
        )
        if far > COARSE_DEG:
            keep.add(at)
            waiting += [(first, at), (at, last)]
    return [line[at] for at in sorted(keep)]


def _off(point: Point, start: Point, end: Point) -> float:
    (x, y), (ax, ay), (bx, by) = point, start, end
    length2 = (bx - ax) ** 2 + (by - ay) ** 2
    t = max(0.0, min(1.0, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length2)) if length2 else 0.0
    return float(((x - ax - t * (bx - ax)) ** 2 + (y - ay - t * (by - ay)) ** 2) ** 0.5)


def steps(line: list[Point]) -> list[int]:
    """Return a line as its first point and the steps from each to the next."""
    whole = [(round(x * SCALE), round(y * SCALE)) for x, y in line]
    whole = [point for at, point in enumerate(whole) if at == 0 or point != whole[at - 1]]
    told = list(whole[0])
    for (ax, ay), (bx, by) in pairwise(whole):
        told += [bx - ax, by - ay]
    return told


def main(source: Path) -> None:
    lines = [steps(simplified(line)) for line in decoded(json.loads(source.read_text(encoding="utf-8")))]
    shore = {"scale": SCALE, "lines": [line for line in lines if len(line) > 2]}
    target = Path(__file__).with_name("coast.json")
    target.write_text(json.dumps(shore, separators=(",", ":")) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))

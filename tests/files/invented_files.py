"""Where the samples lie, and the text of a small UDDF file to put odd things into."""

from __future__ import annotations

from pathlib import Path

SAMPLES = Path(__file__).parent / "samples"

UDDF = """<?xml version="1.0" encoding="UTF-8"?>
<uddf xmlns="http://www.streit.cc/uddf/3.2/" version="3.2.3">
<generator><name>typed by hand</name></generator>
<gasdefinitions>
<mix id="air"><name>air</name><o2>0.21</o2></mix><mix id="ean"><name>nitrox 32</name><o2>0.32</o2></mix>
</gasdefinitions>
<profiledata><repetitiongroup id="rg">{dives}</repetitiongroup></profiledata>
</uddf>
"""

DIVE = """<dive id="{id}"><informationbeforedive>{before}
<datetime>2025-06-01T10:00:00Z</datetime></informationbeforedive>
{tankdata}<samples>{waypoints}</samples>
<informationafterdive>{after}
<greatestdepth>12.0</greatestdepth><diveduration>1200</diveduration></informationafterdive></dive>
"""

PLAIN = (
    "<waypoint><depth>0</depth><divetime>0</divetime></waypoint>"
    "<waypoint><depth>12</depth><divetime>600</divetime></waypoint>"
    "<waypoint><depth>0</depth><divetime>1200</divetime></waypoint>"
)

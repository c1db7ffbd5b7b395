"""What the fixed words of the UDDF standard say to a diver.

A file writes `very-mild-current` where the standard takes no other text. The record keeps what was
written, so that it goes back into a file as it came; whoever shows it says it in words.

Source: the enumerations of the schema of UDDF 3.2.3, `files/uddf/word_lists.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from logbook_app.language import _, later

_IN_WORDS: Final[Mapping[str, str]] = {
    # current
    "no-current": later("no current"),
    "very-mild-current": later("very mild current"),
    "mild-current": later("mild current"),
    "moderate-current": later("moderate current"),
    "hard-current": later("hard current"),
    "very-hard-current": later("very hard current"),
    # kind of water
    "ocean-sea": later("sea"),
    "lake-quarry": later("lake or quarry"),
    "river-spring": later("river or spring"),
    "cave-cavern": later("cave or cavern"),
    "pool": later("pool"),
    "hyperbaric-chamber": later("pressure chamber"),
    "under-ice": later("under ice"),
    # apparatus
    "open-scuba": later("open circuit"),
    "rebreather": later("rebreather"),
    "surface-supplied": later("gas from the surface"),
    "chamber": later("pressure chamber"),
    "experimental": later("experimental"),
    # dived from
    "beach-shore": later("the shore"),
    "pier": later("a pier"),
    "small-boat": later("a small boat"),
    "charter-boat": later("a charter boat"),
    "live-aboard": later("a boat that one lives on"),
    "barge": later("a barge"),
    "landside": later("land"),
    "hyperbaric-facility": later("a pressure facility"),
    # purpose
    "sightseeing": later("sightseeing"),
    "learning": later("learning"),
    "teaching": later("teaching"),
    "research": later("research"),
    "photography-videography": later("photos and film"),
    "spearfishing": later("spearfishing"),
    "proficiency": later("practice"),
    "work": later("work"),
    # rest, comfort and work
    "not-specified": later("not told"),
    "not-indicated": later("not told"),
    "rested": later("rested"),
    "tired": later("tired"),
    "exhausted": later("exhausted"),
    "comfortable": later("comfortable"),
    "cold": later("cold"),
    "very-cold": later("very cold"),
    "hot": later("too warm"),
    "resting": later("at rest"),
    "light": later("light work"),
    "moderate": later("moderate work"),
    "severe": later("hard work"),
    "exhausting": later("exhausting work"),
    # kind of diving, planned with
    "recreation": later("recreation"),
    "training": later("training"),
    "scientific": later("science"),
    "medical": later("medicine"),
    "commercial": later("for hire"),
    "military": later("military"),
    "competitive": later("competition"),
    "table": later("a table"),
    "dive-computer": later("dive computer"),
    "another-diver": later("another diver"),
    # trouble
    "face-mask": later("face mask"),
    "fins": later("fins"),
    "weight-belt": later("weight belt"),
    "buoyancy-control-device": later("buoyancy jacket"),
    "thermal-protection": later("suit"),
    "depth-gauge": later("depth gauge"),
    "pressure-gauge": later("pressure gauge"),
    "breathing-apparatus": later("breathing apparatus"),
    "deco-reel": later("decompression reel"),
    "equalisation": later("equalising"),
    "vertigo": later("vertigo"),
    "out-of-air": later("out of gas"),
    "buoyancy": later("buoyancy"),
    "shared-air": later("shared gas"),
    "rapid-ascent": later("fast ascent"),
    "sea-sickness": later("sea-sickness"),
    "ascent-warning-too-long": later("ascent warning for too long"),
    "sos-mode": later("recorder locked"),
    "work-too-hard": later("work too hard"),
    # suit
    "dive-skin": later("thin suit"),
    "wet-suit": later("wet suit"),
    "dry-suit": later("dry suit"),
    "hot-water-suit": later("hot-water suit"),
    "none": later("none"),
    "other": later("other"),
    "unknown": later("not known"),
}


def in_words(text: str) -> str:
    """Return what a file wrote as a diver reads it; several are told apart by commas, any other text stays.

    >>> in_words("very-mild-current"), in_words("fins, face-mask"), in_words("Drift along the wall")
    ('very mild current', 'fins, face mask', 'Drift along the wall')
    """
    parts = [part.strip() for part in text.split(",")]
    if not all(part in _IN_WORDS for part in parts):
        return text
    return ", ".join(_(_IN_WORDS[part]) for part in parts)

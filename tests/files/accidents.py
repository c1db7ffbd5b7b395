"""What happens to files on their way, done to sample files, and what reading them may end in."""

from __future__ import annotations

import random
import re
from pathlib import Path

from logbook_app.dive.problems import RefusedFile
from logbook_app.files.read_dive import ReadDive
from logbook_app.files.recording_file import read_recording

SAMPLES = Path(__file__).parent / "samples"

TAGS = (
    b"< > & </dive> <dive> <waypoint> </waypoint> ]]> <!-- <![CDATA[ \0 <switchmix/> <notes>words</notes> "
    b"&#0; &#x110000; # ,,, ; <link/> <tankdata><link/></tankdata> <cns>3</cns> <o2>1</o2> \xff\xfe"
)
LINES = (b'"', b"\r", b"\n\n", b"# began: 9999-99-99\n", b"# gas: 0\n", b"# cylinder: -3\n")
SPLINTERS = (*TAGS.split(b" "), *LINES)
ODD_NUMBERS = (
    b"0 -1 1e308 -1e308 1e-320 NaN Infinity 99999999999999999999 1,5 0x1 \xc2\xb2 -0.0 1e5 350 24:00 "
    b"0001 2.5.1 -"
)
NUMBERS = (*ODD_NUMBERS.split(), b"", b" ")


def outcome(path: Path) -> tuple[int, str]:
    """Return how many dives a file gives, and the sentence of its refusal."""
    dives = 0
    try:
        for item in read_recording(path):
            dives += isinstance(item, ReadDive)
    except RefusedFile as refused:
        return dives, str(refused)
    return dives, ""


def is_told(name: str, dives: int, refusal: str) -> bool:
    """Tell whether a file gave either dives or one sentence that names it, not both and not neither."""
    return (dives == 0) == refusal.startswith(name)


def garbled(content: bytes, chance: random.Random) -> bytes:
    """Return a text with a few of the accidents that happen to files."""
    data = bytearray(content)
    for _ in range(chance.randint(1, 6)):
        at, length = chance.randrange(len(data) + 1), chance.randint(1, 40)
        match chance.randrange(7):
            case 0:
                data[at : at + 1] = bytes([chance.randrange(256)])
            case 1:
                del data[at : at + length]
            case 2:
                data[at:at] = data[at : at + length]
            case 3:
                data[at:at] = chance.choice(SPLINTERS)
            case 4:
                numbers = list(re.finditer(rb"-?\d+\.?\d*", bytes(data)))
                if numbers:
                    number = chance.choice(numbers)
                    data[number.start() : number.end()] = chance.choice(NUMBERS)
            case 5:
                tags = list(re.finditer(rb"<[a-z]\w*[^<>]*>[^<>]*</\w+>|[^,;\t\n]+[,;\t]", bytes(data)))
                if tags:
                    tag = chance.choice(tags)
                    data[tag.start() : tag.end()] = chance.choice((b"", tag[0] * 2))
            case _:
                del data[max(0, len(data) - length) :]
        if not data:
            break
    return bytes(data)

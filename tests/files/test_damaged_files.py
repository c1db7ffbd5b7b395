"""A file that breaks off or is garbled gives what was whole before that, and says where.

No damage may end in anything but dives, problems and one refusal in a sentence.
"""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest
from invented_files import DIVE, PLAIN, SAMPLES, UDDF

from logbook_app.dive.problems import Problem, RefusedFile
from logbook_app.files.read_dive import ReadDive, ReadKit, ReadOptions
from logbook_app.files.recording_file import read_recording
from logbook_app.files.uddf.reader import parse_uddf

NEW_LINE = b"\n"
TWO_DIVES = UDDF.format(
    dives="".join(
        DIVE.format(
            id=f"d{number}",
            before=f"<divenumber>{number}</divenumber>",
            after="",
            tankdata="",
            waypoints=PLAIN,
        )
        for number in (1, 2)
    )
).encode()


def parsed(content: bytes) -> tuple[list[ReadDive], list[Problem]]:
    """Return what a text gives; a refusal is a sentence, so it comes back as a problem."""
    read, problems = [], []
    try:
        for item in parse_uddf(lambda: [content], "cut.uddf", ReadOptions()):
            if not isinstance(item, ReadKit):
                (read if isinstance(item, ReadDive) else problems).append(item)
    except RefusedFile as refused:
        problems.append(Problem("cut.uddf", "refused", str(refused)))
    return read, problems


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


def test_cut_at_any_byte_keeps_the_dives_that_were_whole():
    ends = [match.end() for match in re.finditer(rb"</dive>", TWO_DIVES)]
    whole_from = TWO_DIVES.index(b"</uddf>") + len(b"</uddf>")
    for length in range(len(TWO_DIVES)):
        read, problems = parsed(TWO_DIVES[:length])
        assert [item.dive.number for item in read] == [n for n, end in enumerate(ends, 1) if end <= length]
        damage = [problem for problem in problems if "damaged" in problem.what]
        assert len(damage) == (length < whole_from), length


def test_the_problem_names_the_line_what_was_kept_and_what_was_not():
    cut = TWO_DIVES[: TWO_DIVES.rindex(b"<informationafterdive>")]
    read, problems = parsed(cut)
    assert len(read) == 1
    (problem,) = problems
    assert problem.where == f"line {cut.count(NEW_LINE) + 1}"
    assert "1 dive before it was read" in problem.what
    assert "dive 2, which breaks off there, was not" in problem.what


def test_a_file_whose_only_dive_breaks_off_is_refused_with_its_line():
    _, problems = parsed(TWO_DIVES[: TWO_DIVES.index(b"</samples>")])
    assert re.search(r"damaged at line \d+ .* no dive before it is complete", problems[0].what)


def test_a_stray_ampersand_costs_only_the_dives_from_there_on():
    at = TWO_DIVES.rindex(b"<depth>12")
    read, problems = parsed(TWO_DIVES[:at] + b"& " + TWO_DIVES[at:])
    assert [item.dive.number for item in read] == [1]
    assert "not well-formed" in problems[-1].what


@pytest.mark.parametrize("name", sorted(path.name for path in SAMPLES.glob("*.uddf")))
def test_cutting_a_sample_anywhere_ends_in_sentences(name):
    content = (SAMPLES / name).read_bytes()
    for length in range(0, len(content), 23):
        read, problems = parsed(content[:length])
        assert bool(read) != any(problem.where == "refused" for problem in problems)


@pytest.mark.parametrize("name", sorted(path.name for path in SAMPLES.glob("*.?sv")))
def test_cutting_a_table_anywhere_ends_in_sentences(name, tmp_path):
    content = (SAMPLES / name).read_bytes()
    path = tmp_path / name
    for length in range(len(content)):
        path.write_bytes(content[:length])
        assert is_told(name, *outcome(path))


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


@pytest.mark.parametrize("name", sorted(path.name for path in SAMPLES.iterdir()))
def test_a_garbled_file_gives_dives_and_sentences_and_nothing_worse(name, tmp_path):
    content = (SAMPLES / name).read_bytes()
    chance = random.Random(f"garbled {name}")
    path = tmp_path / name
    for _ in range(190):  # with as many samples as there are, some 2,000 files
        path.write_bytes(garbled(content, chance) or b" ")
        assert is_told(name, *outcome(path))

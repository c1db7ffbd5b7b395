"""A file that breaks off or is garbled gives what was whole before that, and says where.

No damage may end in anything but dives, problems and one refusal in a sentence.
"""

from __future__ import annotations

import random
import re

import pytest
from accidents import garbled, is_told, outcome
from invented_files import DIVE, PLAIN, SAMPLES, UDDF

from logbook_app.dive.problems import Problem, RefusedFile
from logbook_app.files.read_dive import ReadDive, ReadKit, ReadOptions
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


@pytest.mark.parametrize("name", sorted(path.name for path in SAMPLES.iterdir()))
def test_a_garbled_file_gives_dives_and_sentences_and_nothing_worse(name, tmp_path):
    content = (SAMPLES / name).read_bytes()
    chance = random.Random(f"garbled {name}")
    path = tmp_path / name
    for _ in range(190):  # with as many samples as there are, some 2,000 files
        path.write_bytes(garbled(content, chance) or b" ")
        assert is_told(name, *outcome(path))

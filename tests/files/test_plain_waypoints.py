"""Plain waypoints come by a short way; it must give what the long way gives, on any text."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest
from invented_files import DIVE, SAMPLES, UDDF
from test_damaged_files import garbled

from logbook_app.dive.problems import RefusedFile
from logbook_app.files.read_dive import ReadOptions
from logbook_app.files.uddf import document
from logbook_app.files.uddf.plain_waypoints import PlainWaypoints
from logbook_app.files.uddf.reader import parse_uddf

SAMPLED = "<waypoint><depth>3</depth><divetime>{at}</divetime>{more}</waypoint>"
ODD = {
    "a foreign element": "<x:tide xmlns:x='urn:example:tides' x:kind='ebb'>2 <x:hour>9</x:hour></x:tide>",
    "an unknown element": "<sonar>14</sonar>",
    "a value in a value": "<temperature>28<heading>9</heading>0</temperature>",
    "a waypoint in a waypoint": "<waypoint><depth>4</depth><divetime>6</divetime></waypoint>",
    "a waypoint in a value": "<alarm><waypoint><depth>4</depth><divetime>6</divetime></waypoint></alarm>",
    "a dive in a value": "<alarm>deep<dive id='inner'/></alarm>",
    "another namespace of UDDF": "<heading xmlns='http://www.streit.cc/uddf/3.3/'>90</heading>",
    "a comment and a section of plain text": "<alarm>a<!-- b -->c<![CDATA[<d>]]></alarm>",
    "references to characters": "<alarm>a &amp; &#98;</alarm>",
    "one value twice": "<depth>4</depth><divetime>1</divetime><heading>1</heading><heading>2</heading>",
    "text of its own": "words <heading>1</heading> and more",
    "every kind of mark": "<switchmix ref='ean'/><decostop kind='safety' decodepth='5' duration='60'/>"
    "<setmarker/><divemode type='closedcircuit'/><tankpressure ref='t1'>2e7</tankpressure>",
    "the end of a line that breaks off": "<alarm>a",
    "an element beside the waypoints": "</waypoint><tide>ebb</tide><waypoint><depth>1</depth>",
}


def uddf(more: str) -> bytes:
    waypoints = " ".join(
        SAMPLED.format(at=at, more=more if at in {20, 30} else "") for at in range(0, 50, 10)
    )
    dives = (
        DIVE.format(id=f"d{number}", before="", after="", tankdata="", waypoints=waypoints)
        for number in (1, 2)
    )
    return UDDF.format(dives="".join(dives)).encode()


def all_read(content: bytes, size: int) -> list[str]:
    """Return all that a text gives when it comes in pieces of a size."""
    pieces = [content[at : at + size] for at in range(0, len(content), size)]
    told = []
    try:
        for item in parse_uddf(lambda: pieces, "file.uddf", ReadOptions()):
            told.append(repr(item))
    except RefusedFile as refused:
        told.append(str(refused))
    return told


@pytest.fixture
def the_long_way(monkeypatch: pytest.MonkeyPatch) -> Callable[[bytes], list[str]]:
    def reading(content: bytes) -> list[str]:
        with monkeypatch.context() as held:
            held.setattr(PlainWaypoints, "lend", lambda _self: None)
            return all_read(content, len(content))

    return reading


@pytest.mark.parametrize("kind", ODD)
def test_both_ways_read_what_is_odd_in_a_waypoint_alike(kind, the_long_way):
    content = uddf(ODD[kind])
    expected = the_long_way(content)
    for size in (1, 7, len(content)):
        assert all_read(content, size) == expected


@pytest.mark.parametrize("name", sorted(path.name for path in SAMPLES.glob("*.uddf")))
def test_both_ways_read_a_garbled_file_alike(name, the_long_way):
    content = (SAMPLES / name).read_bytes()
    chance = random.Random(f"two ways {name}")
    for _ in range(60):
        text = garbled(content, chance) or b" "
        assert all_read(text, 4096) == the_long_way(text)


@pytest.mark.parametrize(
    ("limit", "inside", "words"),
    [
        ("MOST_ELEMENTS_KEPT", "<heading>1</heading>" * 2000, "more than 1,000 elements"),
        ("MOST_TEXT_KEPT", f"<heading>{'1' * 20_000}</heading>", "more than 1,000 characters"),
        ("MOST_TEXT_KEPT", "<heading>1111111111</heading>" * 2000, "more than 1,000 characters"),
    ],
)
def test_a_waypoint_without_an_end_is_stopped(monkeypatch, limit, inside, words):
    monkeypatch.setattr(document, limit, 1000)
    assert words in all_read(uddf(inside), 512)[-1]

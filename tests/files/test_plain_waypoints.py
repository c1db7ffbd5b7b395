"""Plain waypoints go past the parser; that must give what the parser gives, on any text.

The parser itself (expat, with every waypoint built as elements) is what the short way is held to.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from invented_files import DIVE, SAMPLES, UDDF
from test_damaged_files import garbled

from logbook_app.dive.problems import RefusedFile
from logbook_app.files.many_numbers import rounded
from logbook_app.files.read_dive import ReadOptions
from logbook_app.files.uddf import document
from logbook_app.files.uddf import waypoints as waypoints_module
from logbook_app.files.uddf.channels import CHANNELS
from logbook_app.files.uddf.fields import MEASURED
from logbook_app.files.uddf.plain_waypoints import PlainWaypoints
from logbook_app.files.uddf.reader import parse_uddf
from logbook_app.files.uddf.waypoints import Waypoints

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


@contextmanager
def the_long_way() -> Iterator[None]:
    """Let nothing go past the parser."""
    with pytest.MonkeyPatch.context() as held:
        held.setattr(PlainWaypoints, "runs", lambda _self, _text: ())
        yield


def both_ways(content: bytes, size: int) -> list[str]:
    """Return all that a text gives, after both ways have given the same."""
    with the_long_way():
        expected = all_read(content, size)
    assert all_read(content, size) == expected
    return expected


@pytest.mark.parametrize("kind", ODD)
@pytest.mark.parametrize("size", [1, 7, 100_000])
def test_both_ways_read_what_is_odd_in_a_waypoint_alike(kind, size):
    both_ways(uddf(ODD[kind]), size)


@pytest.mark.parametrize("name", sorted(path.name for path in SAMPLES.glob("*.uddf")))
def test_both_ways_read_a_garbled_file_alike(name):
    content = (SAMPLES / name).read_bytes()
    chance = random.Random(f"two ways {name}")
    for _ in range(60):
        both_ways(garbled(content, chance) or b" ", 4096)


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


def plain_stretch(begin: int, count: int, step: int, more: str) -> str:
    return "\n".join(
        f"<waypoint>\n <depth>{number % 40}.25</depth> <divetime>{(begin + number) * step}</divetime>{more}"
        "</waypoint>"
        for number in range(count)
    )


NUMBERS = st.one_of(
    st.sampled_from(["-0", "-0.0", "288.15", "1e999", "1e5", "2e7", "20000000", "-20", "351", "300"]),
    st.sampled_from(["1.2.3", "-", "+4", ".5", "5.", "1_0", "nan", "٣", "0x10"]),
    st.sampled_from(["", " 5 ", "21234567.123456789", "99999"]),
    st.integers(-30, 400).map(str),
    st.floats(-1e8, 1e8).map(repr),
)
ATTRIBUTES = ["", "", ' ref="t1"', " ref='t1'", ' tankref="t2"', ' ref="a&amp;b"', ' setby="user"', " "]
VALUES = st.builds(
    "<{0}{1}>{2}</{0}>".format, st.sampled_from(sorted(MEASURED)), st.sampled_from(ATTRIBUTES), NUMBERS
)
MARKS = (
    "<alarm>ascent</alarm>",
    "<alarm>3</alarm>",
    "<alarm>ü</alarm>",
    "<alarm>a</setmarker>",
    "<setmarker/>",
    '<switchmix ref="ean" />',
    '<divemode type="closedcircuit"/>',
    '<decostop kind="mandatory" decodepth="6.0" duration="120"/>',
    '<decostop kind="safety" kind="x"/>',
)
NOT_PLAIN = (
    "<!-- 5 -->",
    "<![CDATA[<heading>5</heading>]]>",
    "&amp;",
    "<?x 5?>",
    "\r",
    "\r\n",
    "</samples><samples>",
    "</waypoint><waypoint>",
    "</waypoint> words <waypoint>",
    "<waypoint>",
)
INSIDE = st.one_of(st.sampled_from([*ODD.values(), *MARKS, *NOT_PLAIN]), VALUES)


ODD_NUMBERS = (
    "<otu>1.2.3</otu>",
    "<otu>1</otu><otu>2</otu>",
    "<temperature>15</temperature>",
    "<ppo2>70000</ppo2><measuredpo2>80000</measuredpo2>",
    "<depth>5</depth>",
)


def one_dive(waypoints: str) -> bytes:
    dive = DIVE.format(id="d", before="", after="", tankdata="", waypoints=waypoints)
    return UDDF.format(dives=dive).encode()


@pytest.mark.parametrize("inside", [*ODD.values(), *MARKS, *NOT_PLAIN, *ODD_NUMBERS, *ATTRIBUTES])
def test_both_ways_read_what_is_odd_between_plain_waypoints_alike(inside):
    """Twice the same, so that a mark that ended is seen to begin again."""
    more = f"<tankpressure{inside}>2e7</tankpressure>" if inside in ATTRIBUTES else inside
    odd = [plain_stretch(begin, 1, 10, more) for begin in (20, 41)]
    stretches = [plain_stretch(begin, 20, 10, "") for begin in (0, 21, 42)]
    waypoints = "\n".join([stretches[0], odd[0], stretches[1], odd[1], stretches[2]])
    for size in (500, 100_000):
        both_ways(one_dive(waypoints), size)


@pytest.mark.parametrize(("begin", "end"), [("<!--", "-->"), ("<![CDATA[", "]]>"), ("<tide>", "</tide>")])
def test_waypoints_that_stand_in_something_else_are_none(begin, end):
    waypoints = [plain_stretch(number, 20, 10, "") for number in (0, 20, 40)]
    told = both_ways(one_dive(f"{waypoints[0]}{begin}{waypoints[1]}{end}{waypoints[2]}"), 100_000)
    assert "390." not in told[0]
    assert "400." in told[0]


def test_tanks_come_in_the_order_in_which_their_pressures_stand():
    one, two = (
        '<tankpressure ref="t1">1.01e7</tankpressure>',
        '<tankpressure ref="t2">2.01e7</tankpressure>',
    )
    stretches = [
        plain_stretch(0, 20, 10, "") + plain_stretch(20, 9, 10, more) for more in (one + two, two + one)
    ]
    dives = (DIVE.format(id="d", before="", after="", tankdata="", waypoints=each) for each in stretches)
    told = both_ways(UDDF.format(dives="".join(dives)).encode(), 100_000)
    first, second = (words for words in told if words.startswith("ReadDive"))
    assert first.index(" 101.") < first.index(" 201.")
    assert second.index(" 101.") > second.index(" 201.")


@pytest.mark.parametrize(("begin", "end"), [("", ""), ("<tide>", "</tide>")])
@pytest.mark.parametrize("place", ["<repetitiongroup", "<profiledata"])
def test_waypoints_outside_of_a_dive_are_passed_over(begin, end, place):
    stray = f"{begin}{plain_stretch(0, 30, 10, '')}{end}{place}"
    content = one_dive(plain_stretch(0, 3, 10, "")).replace(place.encode(), stray.encode())
    first, *problems = both_ways(content, 100_000)
    assert "time_s=array([ 0., 10., 20.])" in first
    assert "not read: " in problems[-1]


def test_what_dives_refer_to_is_found_after_them():
    """Waypoints go past the parser where it only looks for something else, too."""
    before, gases, after = re.split("(<gasdefinitions>.*</gasdefinitions>)\n", UDDF, flags=re.DOTALL)
    text = f"{before}{after}".replace("</uddf>", f"{gases}</uddf>")
    plain = plain_stretch(0, 500, 10, '<switchmix ref="ean"/>')
    dive = DIVE.format(id="d", before="", after="", tankdata="", waypoints=plain)
    assert "oxygen=0.32" in both_ways(text.format(dives=dive).encode(), 10_000)[0]


def test_time_that_goes_back_is_left_out():
    waypoints = plain_stretch(0, 20, 10, "") + "<waypoint/>" + plain_stretch(9, 20, 10, "")
    assert "11 not later than the one before" in "".join(both_ways(one_dive(waypoints), 100_000))


def test_a_dive_with_too_many_samples_keeps_the_first(monkeypatch):
    monkeypatch.setattr(waypoints_module, "MOST_SAMPLES", 30)
    assert "10 beyond 30 samples" in "".join(both_ways(one_dive(plain_stretch(0, 40, 10, "")), 100_000))


STRETCH = st.one_of(
    st.builds(plain_stretch, st.integers(0, 60), st.integers(1, 30), st.integers(1, 20), st.just("")),
    st.builds(plain_stretch, st.integers(0, 60), st.integers(1, 30), st.just(10), INSIDE),
)
BETWEEN = st.sampled_from(
    ["", " ", "\n", "\r\n", "\r", "<!-- ", " -->", "<![CDATA[", "]]>", "words", "<tide>5</tide>"]
)
ATTRIBUTE_TYPE = '<!DOCTYPE uddf [<!ATTLIST tankpressure ref CDATA "t9">]>'
HEADS = {
    "as it is": ("", ""),
    "another encoding": ("UTF-8", "windows-1252"),
    "no encoding": (' encoding="UTF-8"', ""),
    "a document type that gives attributes": ("<uddf", ATTRIBUTE_TYPE + "<uddf"),
    "a namespace of its own": ("<samples>", '<samples xmlns="urn:example:tides">'),
    "a namespace of each waypoint": ("<waypoint>", '<waypoint xmlns="http://www.streit.cc/uddf/3.2/">'),
    "foreign samples": ("samples>", "tides>"),
    "no namespace": (' xmlns="http://www.streit.cc/uddf/3.2/"', ""),
}


@st.composite
def files(draw: st.DrawFn) -> bytes:
    """Draw a file of two dives whose waypoints are plain for a stretch and odd for another."""
    stretches = draw(st.lists(st.tuples(STRETCH, BETWEEN), max_size=6))
    first, later = "".join(f"{stretch}{between}" for stretch, between in stretches), draw(STRETCH)
    dives = (
        DIVE.format(id=f"d{number}", before="", after="", tankdata="", waypoints=waypoints)
        for number, waypoints in enumerate((first, later))
    )
    was, put = HEADS[draw(st.sampled_from(sorted(HEADS)))]
    text = UDDF.format(dives="".join(dives)).replace(was, put)
    content = text.encode("cp1252", "replace") if put == "windows-1252" else text.encode()
    if draw(st.booleans()):
        return content
    begin = draw(st.integers(0, len(content)))
    return content[:begin] + content[begin + draw(st.integers(1, 30)) :]


def test_a_document_type_can_give_a_value_its_attributes():
    pressures = '<tankpressure ref="t1">1e7</tankpressure><tankpressure>2e7</tankpressure>'
    content = one_dive(plain_stretch(0, 20, 10, pressures))
    told = both_ways(content.replace(b"<uddf", f"{ATTRIBUTE_TYPE}<uddf".encode()), 100_000)
    assert "pressure_bar_1" in told[0]


def test_a_name_without_prefix_can_be_foreign_after_one_that_is_not():
    first = plain_stretch(0, 1, 10, "")
    declared = first.replace("<waypoint", '<waypoint xmlns="http://www.streit.cc/uddf/3.2/"')
    text = one_dive(declared + plain_stretch(1, 20, 10, ""))
    prefixed = re.sub(rb"<(/?)(?![/?]|waypoint|depth|divetime)", rb"<\1u:", text)
    foreign = prefixed.replace(b" xmlns=", b' xmlns="urn:example:tides" xmlns:u=', 1)
    assert "1 usable samples are no profile" in "".join(both_ways(foreign, 100_000))


@given(files(), st.integers(40, 4000))
def test_both_ways_read_any_file_alike(content, size):
    both_ways(content, size)


def test_most_of_a_usual_file_goes_past_the_parser(monkeypatch):
    """Or the tests above would compare the long way with itself."""
    at_once, one_by_one = [], []
    monkeypatch.setattr(Waypoints, "_add_block", lambda _self, block: at_once.append(block.count))
    monkeypatch.setattr(Waypoints, "_add_waypoint", lambda _self, waypoint: one_by_one.append(waypoint))
    marked = plain_stretch(50, 50, 10, '<switchmix ref="ean"/><tankpressure ref="t1">2e7</tankpressure>')
    waypoints = "\r\n".join([plain_stretch(0, 50, 10, "<heading>5</heading>"), marked])
    all_read(one_dive(waypoints), 100_000)
    assert (at_once, len(one_by_one)) == ([49], 51)


@pytest.mark.parametrize("ends", [b"\n", b"\r\n", b"\r", b"\r \n", b"\n\r", b"\r\r\n"])
def test_the_line_of_what_follows_a_run_is_still_told(ends):
    content = one_dive(plain_stretch(0, 20, 10, "")).replace(b"\n", ends)
    damaged = content.replace(b"</samples>", b"<&")
    line = len(re.split(rb"\r\n|\r|\n", damaged.partition(b"<&")[0]))
    assert f"line {line} " in both_ways(damaged, 100_000)[-1]


def test_every_measured_value_has_a_channel_or_is_time_depth_or_pressure():
    assert CHANNELS.keys() | {"divetime", "depth", "tankpressure"} == MEASURED


@given(st.lists(st.floats(-1e300, 1e300) | st.decimals(-999, 999, places=10).map(float)), st.integers(0, 9))
@example([0.5, 1.5, 2.5, 2.675, -0.0, -1e-12, 0.0000000005, 1e300], 9)
def test_many_numbers_are_rounded_as_each_by_itself(values, places):
    """Against `round` of Python's own, whose result is correctly rounded."""
    assert repr(rounded(np.array(values), places).tolist()) == repr(
        [round(value, places) for value in values]
    )

"""What nobody here reads is kept with the dive, goes out where it stood, and harms nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from defusedxml.ElementTree import parse
from invented_files import SAMPLES
from written_logbook import assert_same, read_again, written_uddf

from logbook_app.dive.profile import Profile
from logbook_app.files.recording_file import read_recording
from logbook_app.files.uddf.unread import MOST_UNREAD
from tests.dive.strategies import plain_dive

UDDF_SAMPLES = sorted(SAMPLES.glob("*.uddf"))
FOREIGN = (
    '<x:tide xmlns:x="urn:example:tides" x:kind="ebb" unit="m">2 <x:hour>9</x:hour> later</x:tide>'
    "<moonphase>0.5</moonphase><price>9.5</price>"
)


def logbook_of(path: Path) -> list[tuple[object, list[Profile]]]:
    return [(item.dive, item.profiles) for item in read_recording(path) if hasattr(item, "dive")]


def elements_below(path: Path, parent: str) -> list[str]:
    return [
        child.tag.replace("{http://www.streit.cc/uddf/3.2/}", "")
        for element in parse(path).iter(f"{{http://www.streit.cc/uddf/3.2/}}{parent}")
        for child in element
    ]


@pytest.mark.parametrize("sample", UDDF_SAMPLES, ids=lambda path: path.stem)
def test_what_came_in_goes_out_and_comes_in_equal(sample, tmp_path):
    """Check U-13 of our own list: export then import loses no field; ids may change, references hold."""
    logbook = logbook_of(sample)
    first = written_uddf(tmp_path / "first.uddf", logbook)
    assert_same(logbook, read_again(first)[0])
    again = [(item.dive, item.profiles) for item in read_again(first)[0].values()]
    second = written_uddf(tmp_path / "second.uddf", again)
    assert second.read_bytes() == first.read_bytes()


def test_elements_that_nobody_reads_go_back_where_they_stood(one_dive, written, tmp_path):
    waypoint = "<waypoint><depth>1</depth><divetime>0</divetime><sonar>14</sonar></waypoint>"
    text = one_dive(
        before=FOREIGN, after="<boat>gig</boat>", waypoints=waypoint + waypoint.replace(">0<", ">9<")
    )
    text = text.replace("<dive id", "<dive  id").replace("</dive>", "<cloud>few</cloud></dive>")
    out = written_uddf(tmp_path / "out.uddf", logbook_of(written(text)))
    before = elements_below(out, "informationbeforedive")
    assert before[:2] == ["datetime", "surfaceintervalbeforedive"]
    assert before[-3:] == ["price", "{urn:example:tides}tide", "moonphase"]  # the standard's own first
    assert elements_below(out, "informationafterdive")[-1] == "boat"
    assert elements_below(out, "dive")[-1] == "cloud"
    assert elements_below(out, "waypoint").count("sonar") == 2
    tide = next(parse(out).iter("{urn:example:tides}tide"))
    assert (tide.attrib, tide.text, tide[0].tail) == (
        {"{urn:example:tides}kind": "ebb", "unit": "m"}, "2 ", " later"
    )  # fmt: skip


def test_they_are_named_in_the_report_and_kept_in_the_record(one_dive, read, written):
    outcome = read(written(one_dive(before=FOREIGN)))
    assert outcome.words.endswith("not read: tide, moonphase, price")
    kept = outcome.dives[0].extra["uddf:unread"]
    assert '<in path="informationbeforedive"><x:tide' in kept
    assert "<moonphase>0.5</moonphase>" in kept


def test_what_refers_to_an_id_is_kept_but_does_not_go_out(one_dive, written, tmp_path):
    text = one_dive(before='<tidetable ref="tides_1"/>')
    logbook = logbook_of(written(text))
    assert "tidetable" in logbook[0][0].extra["uddf:unread"]
    out = written_uddf(tmp_path / "out.uddf", logbook)
    assert "tidetable" not in elements_below(out, "informationbeforedive")
    assert_same(logbook, read_again(out)[0])


@pytest.mark.parametrize(
    "inside",
    ["<big>" + "x" * (MOST_UNREAD + 1) + "</big>", "<many>" + "<a/>" * MOST_UNREAD + "</many>",
     "".join(f"<n{i}>{'x' * 1000}</n{i}>" for i in range(100))],
    ids=["one long text", "many elements", "many texts"],
)  # fmt: skip
def test_what_is_kept_of_one_dive_is_bounded(one_dive, read, written, inside):
    dive = read(written(one_dive(before=inside))).dives[0]
    assert len(dive.extra.get("uddf:unread", "")) <= MOST_UNREAD + 200


@pytest.mark.parametrize(
    "kept",
    [
        '<unread><in path="informationafterdive"><greatestdepth>99</greatestdepth></in></unread>',
        '<unread><at time_s="0.0"><depth>99</depth><switchmix ref="mix-1"/></at></unread>',
        '<unread><in path="."><tankdata/><x id="dive-1"/></in></unread>',
        '<unread><in path="//*"><x/></in><in path="a b"><x/></in><in><x/></in><at><x/></at></unread>',
        '<!DOCTYPE a [<!ENTITY b "c">]><unread><in path="."><x>&b;</x></in></unread>',
        "</dive><dive>",
    ],
)
def test_a_record_cannot_smuggle_in_what_is_read(tmp_path, kept):
    dive = plain_dive(extra={"uddf:unread": kept})
    out = written_uddf(tmp_path / "out.uddf", [(dive, [])])
    assert [child.text for child in parse(out).iter("{http://www.streit.cc/uddf/3.2/}greatestdepth")] == [
        "18.3"
    ]
    assert elements_below(out, "dive") == ["applicationdata", "informationbeforedive", "informationafterdive"]
    assert_same([(dive, [])], read_again(out)[0])

"""What leaves as UDDF comes back as it was, and has the shape that the standard gives it."""

from __future__ import annotations

import json
import tracemalloc
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree
from written_logbook import (
    Entry,
    assert_same,
    digest,
    logbooks,
    plain_site,
    read_again,
    recorder_profiles,
    written_uddf,
)

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.photo import Photo
from logbook_app.dive.problems import LogbookError
from logbook_app.dive.profile import GasSwitch, Profile, Remark
from logbook_app.dive.record import Dive, Recording
from logbook_app.files.read_dive import ReadDive
from logbook_app.files.recording_file import read_recording
from logbook_app.files.uddf.fields import tidy
from logbook_app.files.uddf.writer import write_uddf
from logbook_app.files.uddf.written_values import CUBIC_METRES, DIVE_SECONDS, KELVINS, PASCALS, SECONDS
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from tests.dive.strategies import plain_dive

SCHEMA = etree.XMLSchema(etree.parse(Path(__file__).with_name("uddf_3_2_3_as_written.xsd")))
DEMO = Path(__file__).parents[2] / "demo_data"
NS = {"u": "http://www.streit.cc/uddf/3.2/"}

_many = settings(deadline=None, max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])


def recorded(dive: Dive, profile: Profile | None, recorder: str = "") -> Entry:
    """Return a dive with one recording of these samples."""
    recording = Recording("f" * 64, digest(profile) if profile else None, recorder, "a.uddf")
    return replace(dive, recordings=(recording,)), [profile] if profile else []


def without_unread(dive: Dive) -> Dive:
    """Return the dive without what no reader knew; it goes back as it was and may fit no schema."""
    return replace(dive, extra={name: text for name, text in dive.extra.items() if name != "uddf:unread"})


def tree_of(path: Path) -> etree._ElementTree:
    tree = etree.parse(path)
    SCHEMA.assertValid(tree)
    return tree


def texts(tree: etree._ElementTree, path: str) -> list[str | None]:
    """Return the texts at a path of plain names, such as "notes/para", wherever it begins."""
    qualified = "/".join(f"u:{part}" for part in path.split("/"))
    return [element.text for element in tree.iterfind(f".//{qualified}", NS)]


@pytest.mark.law
@_many
@given(logbook=logbooks().filter(bool))
def test_any_logbook_comes_back_equal_dive_by_dive_and_sample_by_sample(tmp_path, logbook):
    read, _ = read_again(written_uddf(tmp_path / "out.uddf", logbook))
    assert_same(logbook, read)


@pytest.mark.published
@_many
@given(logbook=logbooks())
def test_whatever_the_logbook_holds_the_file_has_the_shape_of_the_standard(tmp_path, logbook):
    """Source: element tables of the UDDF 3.2.3 schema, as uddf_3_2_3_as_written.xsd has them."""
    plain = [
        (replace(d, extra={k: v for k, v in d.extra.items() if "unread" not in k}), p) for d, p in logbook
    ]
    tree = tree_of(written_uddf(tmp_path / "out.uddf", plain))
    written = [element.get("id") for element in tree.iter("{*}dive")]
    assert len(written) == len(logbook)


@pytest.mark.law
@_many
@given(profile=recorder_profiles(), gases=st.lists(st.sampled_from([AIR, BreathingGas(0.5)]), max_size=3))
def test_what_a_recorder_gives_stands_in_the_standards_own_elements(tmp_path, profile, gases):
    """The channels that UDDF has an element for are not repeated in Leadline's own part."""
    cylinders = tuple(Cylinder(gas, 12.0, 200.0) for gas in gases)
    plain = Profile(
        profile.time_s,
        profile.depth_m,
        {
            name: values
            for name, values in profile.channels.items()
            if name in {"temperature_c", "heading_deg", "recorded_otu", "recorded_no_stop_min"}
            and not np.isnan(values).all()
        },
    )
    entry = recorded(plain_dive(cylinders=cylinders), plain, "wrist recorder")
    tree = tree_of(written_uddf(tmp_path / "out.uddf", [entry]))
    assert tree.find(".//{urn:leadline:logbook:1}samples") is None
    assert len(tree.findall(".//u:waypoint", NS)) == len(profile)


def test_each_field_stands_where_the_standard_wants_it(tmp_path):
    dive = plain_dive(
        site=plain_site(),
        buddies=("Odile Marsh", "Rune"),
        number=41,
        mean_depth_m=11.25,
        surface_bar=1.0105,
        elevation_m=13.0,
        weights_kg=8.5,
        suit="semi-dry",
        air_temperature_c=20.0,
        lowest_temperature_c=12.5,
        visibility_m=9.0,
        current="mild-current",
        purpose="research",
        notes="First.\n\nSecond.",
        rating=7,
        cylinders=(Cylinder(BreathingGas(0.32), 12.0, 205.3, 60.0, "steel 12"),),
        extra={"uddf:platform": "pier", "uddf:highestpo2": "140000", "uddf:owner": "Perrin Vale"},
    )
    tree = tree_of(written_uddf(tmp_path / "out.uddf", [recorded(dive, None, "wrist recorder")]))
    before, after = "informationbeforedive", "informationafterdive"
    expected = {
        "owner/personal/lastname": ["Vale"],
        "buddy/personal/firstname": ["Odile", "Rune"],
        "site/name": ["Gull Steps"],
        "site/geography/location": ["Sound"],
        "site/geography/altitude": ["12.5"],
        "mix/o2": ["0.32"],
        "mix/n2": ["0.68"],
        "equipment/suit/name": ["semi-dry"],
        "equipment/divecomputer/name": ["wrist recorder"],
        "equipment/tank/name": ["steel 12"],
        f"{before}/divenumber": ["41"],
        f"{before}/datetime": ["2031-05-04T09:30:00+00:00"],
        f"{before}/airtemperature": ["293.15"],
        f"{before}/altitude": ["13"],
        f"{before}/equipmentused/leadquantity": ["8.5"],
        f"{before}/platform": ["pier"],
        f"{before}/purpose": ["research"],
        f"{before}/surfacepressure": ["101050"],
        "tankdata/tankvolume": ["0.012"],
        "tankdata/tankpressurebegin": ["20530000"],
        "tankdata/tankpressureend": ["6000000"],
        f"{after}/lowesttemperature": ["285.65"],
        f"{after}/greatestdepth": ["18.3"],
        f"{after}/visibility": ["9"],
        f"{after}/current": ["mild-current"],
        f"{after}/notes/para": ["First.", "Second."],
        f"{after}/rating/ratingvalue": ["7"],
        f"{after}/diveduration": ["2520"],
        f"{after}/highestpo2": ["140000"],
        f"{after}/averagedepth": ["11.25"],
    }
    assert {path: texts(tree, path) for path in expected} == expected


def test_each_sampled_value_stands_in_its_waypoint(tmp_path):
    profile = Profile(
        [0.0, 10.0, 20.0],
        [0.0, 6.5, 5.0],
        {
            "temperature_c": [14.0, float("nan"), 13.5],
            "pressure_bar_0": [200.0, 199.0, 198.5],
            "pressure_bar_1": [180.0, float("nan"), 179.0],
            "ppo2_bar": [0.21, 0.35, 1.25],
            "set_ppo2_bar": [1.3, 1.3, 1.3],
            "recorded_no_stop_min": [99.0, 60.5, 60.0],
            "recorded_cns_fraction": [0.0, 0.095, 0.12],
            "recorded_otu": [0.0, 1.0, 2.0],
            "heading_deg": [350.0, 0.0, 10.0],
            "recorded_stop_depth_m": [float("nan"), float("nan"), 5.0],
            "recorded_stop_min": [float("nan"), float("nan"), 3.0],
        },
        (GasSwitch(0.0, 0), GasSwitch(10.0, 1)),
        (
            Remark(10.0, "alarm: ascent"),
            Remark(10.0, "bookmark wreck"),
            Remark(20.0, "safety stop 5 m, 3 min"),
        ),
    )
    cylinders = (Cylinder(AIR, 12.0, 200.0), Cylinder(AIR, 12.0, 180.0))
    entry = recorded(plain_dive(cylinders=cylinders), profile, "wrist recorder")
    tree = tree_of(written_uddf(tmp_path / "out.uddf", [entry]))
    last_but_one = tree.findall(".//u:waypoint", NS)[1]
    assert [(child.tag.rpartition("}")[2], child.text) for child in last_but_one] == [
        ("alarm", "ascent"),
        ("cns", "9.5"),
        ("calculatedpo2", "35000"),
        ("depth", "6.5"),
        ("divetime", "10"),
        ("heading", "0"),
        ("otu", "1"),
        ("setmarker", "wreck"),
        ("setpo2", "130000"),
        ("switchmix", None),
        ("tankpressure", "19900000"),
        ("nodecotime", "3630"),
    ]
    stop = tree.find(".//u:decostop", NS)
    assert dict(stop.attrib) == {"kind": "safety", "decodepth": "5", "duration": "180"}
    # Two cylinders of one gas are told apart by the ids of two mixes and two tanks.
    switched = {element.get("ref") for element in tree.iterfind(".//u:switchmix", NS)}
    assert len(switched) == 2
    assert tree.find(".//{urn:leadline:logbook:1}samples") is None


@pytest.mark.published
def test_a_waypoint_at_the_start_names_the_gas_because_air_is_assumed_where_none_is_named(tmp_path):
    """Source: UDDF 3.2 documentation, "samples": without a switchmix at the first waypoint, air."""
    profile = Profile([0.0, 10.0], [0.0, 5.0])
    entry = recorded(plain_dive(cylinders=(Cylinder(BreathingGas(0.32)),)), profile)
    path = written_uddf(tmp_path / "out.uddf", [entry])
    first = tree_of(path).find(".//u:waypoint", NS)
    assert first.find("u:switchmix", NS) is not None
    assert_same([entry], read_again(path)[0])


def test_dives_are_grouped_by_diver_and_interval(tmp_path):
    first = plain_dive()
    dives = [
        first,
        plain_dive(began_at=first.began_at + timedelta(hours=2)),
        plain_dive(began_at=first.began_at + timedelta(hours=2), diver="Bo"),
        plain_dive(began_at=first.began_at + timedelta(days=5)),
        plain_dive(began_at=first.began_at + timedelta(days=5, minutes=10)),
    ]
    tree = tree_of(written_uddf(tmp_path / "out.uddf", [(dive, []) for dive in dives]))
    groups = tree.findall(".//u:repetitiongroup", NS)
    assert [len(group) for group in groups] == [2, 1, 1, 1]
    intervals = [element[0] for element in tree.iterfind(".//u:surfaceintervalbeforedive", NS)]
    told = [(each.tag.rpartition("}")[2], each.text) for each in intervals]
    assert told == [("infinity", None), ("passedtime", "4680"), *[("infinity", None)] * 3]  # 120 - 42 min


# The units of the file and back: every value with as many decimals as any dial shows.


@pytest.mark.law
@pytest.mark.parametrize(
    ("unit", "most"),
    [(PASCALS, 450), (KELVINS, 100), (CUBIC_METRES, 100), (SECONDS, 2880)],
    ids=["bar", "degrees", "litres", "minutes"],
)
@settings(max_examples=500)
@given(data=st.data())
def test_a_decimal_comes_back_from_the_files_unit_to_the_last_digit(unit, most, data):
    decimals = data.draw(st.integers(0, 9))
    value = tidy(data.draw(st.integers(0, most * 10**decimals)) / 10**decimals)
    assert unit.from_file(unit.written(value)) == value


@pytest.mark.law
@given(seconds=st.integers(1, 48 * 3600))
def test_a_duration_of_whole_seconds_comes_back_to_the_last_digit(seconds):
    assert DIVE_SECONDS.written(seconds / 60.0) == seconds


def test_text_that_xml_cannot_hold_is_marked_in_the_element_and_whole_in_the_record(tmp_path):
    dive = plain_dive(notes="bell \a and half \ud800 and\r\nreturn", buddies=("\0",), suit="a\tb")
    path = written_uddf(tmp_path / "out.uddf", [(dive, [])])
    assert "bell \ufffd and half \ufffd" in texts(tree_of(path), "notes/para")[0]
    assert "\\ud800" in path.read_text(encoding="utf-8")


def test_a_text_of_whole_characters_comes_back_whatever_xml_can_hold(tmp_path):
    dive = plain_dive(notes='bell \a and\r\nreturn ]]> <&>" ', buddies=("\0", " x "), suit="a\tb\x85")
    assert_same([(dive, [])], read_again(written_uddf(tmp_path / "out.uddf", [(dive, [])]))[0])


# What another program does to the file is believed.


def test_a_note_corrected_by_another_program_is_kept_and_told(tmp_path):
    dive = plain_dive(notes="Wrong word. ", tags=("wreck",))
    path = written_uddf(tmp_path / "out.uddf", [(dive, [])])
    path.write_text(
        path.read_text(encoding="utf-8").replace("<para>Wrong word. ", "<para>Right word."), "utf-8"
    )
    read, problems = read_again(path)
    assert read[dive.id].dive == replace(dive, notes="Right word.")
    assert [problem.what for problem in problems] == [
        "was changed after Leadline had written it (notes); the change was kept"
    ]


def test_a_sample_taken_out_by_another_program_stays_out(tmp_path):
    profile = Profile([0.0, 10.0, 20.0], [0.0, 5.0, 0.0], {"Größe": [1.0, 2.0, 3.0]})
    entry = recorded(plain_dive(), profile)
    path = written_uddf(tmp_path / "out.uddf", [entry])
    text = path.read_text(encoding="utf-8")
    cut = text.replace("<waypoint><depth>5</depth><divetime>10</divetime></waypoint>\n", "")
    assert cut != text
    path.write_text(cut, encoding="utf-8")
    read, problems = read_again(path)
    assert read[entry[0].id].profile == Profile([0.0, 20.0], [0.0, 0.0])
    assert "samples" in problems[0].what


def own_record(**changed: object) -> str:
    return json.dumps({"id": "0" * 32, "diver": "", "recordings": [], "instead": {}, "samples": []} | changed)


DAMAGED = [
    "{",
    "[]",
    "3",
    '{"id": 4}',
    own_record(id="../x"),
    own_record(instead=[]),
    own_record(instead={"notes": ["kept", 7]}),
    own_record(instead={"cylinders": [[], [{"gas": {"oxygen_fraction": 7}}]]}),
    own_record(recordings=[{}], samples=[{"of": "", "channels": ["a"], "switches": [], "remarks": []}]),
    "[" * 100_000,
]


@pytest.mark.parametrize("record", DAMAGED, ids=range(len(DAMAGED)))
def test_an_own_part_that_is_damaged_is_told_and_the_standards_elements_are_read(tmp_path, record):
    path = written_uddf(tmp_path / "out.uddf", [(plain_dive(notes="kept"), [])])
    text = path.read_text(encoding="utf-8")
    start, end = text.index("<leadline:record"), text.index("</leadline:record>")
    start = text.index(">", start) + 1
    path.write_text(text[:start] + record + text[end:], encoding="utf-8")
    read, problems = read_again(path)
    assert [item.dive.notes for item in read.values()] == ["kept"]
    assert "cannot be used" in problems[0].what


def test_told_to_be_another_divers_it_is_another_dive(tmp_path):
    entry = recorded(plain_dive(tags=("night",)), Profile([0.0, 10.0], [0.0, 5.0]))
    path = written_uddf(tmp_path / "out.uddf", [entry])
    (own,) = read_again(path)[0].values()
    (others,) = read_again(path, diver="Bo")[0].values()
    assert (others.dive.diver, others.dive.tags) == ("Bo", ("night",))
    assert others.dive.id != own.dive.id
    assert others.dive.recordings[0].fingerprint != own.dive.recordings[0].fingerprint


def test_a_file_that_cannot_be_written_leaves_what_was_there(tmp_path):
    path = tmp_path / "out.uddf"
    path.write_text("before", encoding="utf-8")
    profile = Profile([0.0], [0.0])

    def broken(_dive: Dive) -> list[Profile | None]:
        raise LogbookError("The samples are damaged.")

    with pytest.raises(LogbookError, match="damaged"):
        write_uddf(path, [recorded(plain_dive(), profile)[0]], broken, plain_dive().began_at)
    assert path.read_text(encoding="utf-8") == "before"
    assert [each.name for each in tmp_path.iterdir()] == ["out.uddf"]
    with pytest.raises(LogbookError, match="cannot be written"):
        written_uddf(tmp_path / "no folder" / "out.uddf", [])


@pytest.mark.published
@pytest.mark.parametrize("recording", [*DEMO.glob("*.uddf"), *DEMO.glob("*.csv")], ids=lambda path: path.name)
def test_what_recorders_wrote_fits_the_standards_elements_wholly(recording, tmp_path):
    """Nothing of the demo's recordings, in metres or in feet, needs Leadline's own part for its samples."""
    logbook = [(item.dive, item.profiles) for item in read_recording(recording) if isinstance(item, ReadDive)]
    path = written_uddf(tmp_path / "out.uddf", logbook)
    assert b"<leadline:samples" not in path.read_bytes()
    assert len(tree_of(path).findall(".//u:dive", NS)) == len(logbook)
    read, problems = read_again(path)
    assert_same(logbook, read)
    assert problems == []


def test_only_one_dive_is_held_at_a_time(tmp_path):
    times_s = [10.0 * place for place in range(400)]
    dives = [plain_dive(recordings=(Recording(f"{place}", "0" * 64),)) for place in range(40)]
    profiles = ([Profile(times_s, [10.0 + place / 10] * 400)] for place in range(40))
    tracemalloc.start()
    write_uddf(tmp_path / "out.uddf", dives, lambda _dive: next(profiles), dives[0].began_at)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert (tmp_path / "out.uddf").stat().st_size > 900_000
    assert peak < 1_500_000


@pytest.mark.parametrize(
    ("name", "kind"),
    [("kelp_wall.jpg", "image"), ("song.mp3", "audio"), ("drift.mp4", "video"), ("x", "image")],
)
def test_what_the_notes_refer_to_stands_among_the_media(tmp_path, name, kind):
    dive = plain_dive(notes="Slack at ten.", extra={"uddf:notes.link": name})
    path = written_uddf(tmp_path / "out.uddf", [(dive, [])])
    tree = tree_of(path)
    assert texts(tree, f"mediadata/{kind}/objectname") == [name]
    (link,) = tree.iterfind(".//u:informationafterdive/u:notes/u:link", NS)
    assert link.get("ref") == tree.find(f".//u:{kind}", NS).get("id")
    assert read_again(path)[0][dive.id].dive.extra == dive.extra


def test_the_first_photo_of_a_dive_is_named_among_the_media(tmp_path):
    """The standard has room for one; all of them are named in our own part."""
    photos = (Photo("ab" * 32, "one.jpg"), Photo("cd" * 32, "two.jpg"))
    dive = plain_dive(photos=photos)
    path = written_uddf(tmp_path / "out.uddf", [(dive, [])])
    assert texts(tree_of(path), "mediadata/image/objectname") == ["one.jpg"]
    assert read_again(path)[0][dive.id].dive.photos == photos

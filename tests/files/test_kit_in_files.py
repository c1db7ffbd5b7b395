"""Kit leaves with the dives and comes back: whole in JSON, as equipment in UDDF."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_uddf_writer import SCHEMA, tree_of
from written_logbook import read_again

from logbook_app.dive.kit import CareRecord, Check, KitItem, KitSet, UsedKit, usual_care
from logbook_app.dive.problems import RefusedRecord
from logbook_app.files.kit_json import kit_from_json, kit_to_json
from logbook_app.files.read_dive import ReadKit, ReadOptions
from logbook_app.files.recording_file import read_recording
from logbook_app.logbook import Logbook
from tests.dive.strategies import care_records, kit_items, kit_sets, plain_dive

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
REGULATOR = KitItem(
    id="1" * 32,
    name="Cold regulator",
    kind="regulator",
    maker="Varrowby",
    model="V 2",
    serial="77-1",
    bought_on=date(2030, 2, 3),
    price=310.5,
    currency="EUR",
    notes="First.\n\nSecond.",
    dives_before=12,
    intervals=usual_care("regulator"),
)
REEL = KitItem(id="2" * 32, name="Long reel", kind="reel")
CYLINDER = KitItem(id="3" * 32, name="Grey 12", kind="cylinder", serial="C-9")
CARE = CareRecord(
    id="4" * 32, item_id=REGULATOR.id, check=Check.SERVICE, done_on=date(2031, 1, 2), note="seats"
)
SET = KitSet(id="5" * 32, name="Cold", item_ids=(REGULATOR.id, REEL.id))

OTHER_PROGRAM = """<?xml version="1.0"?>
<uddf xmlns="http://www.streit.cc/uddf/3.2/" version="3.2.3">
<generator><name>a log by somebody</name></generator>
<diver><owner id="o"><personal><firstname>A</firstname><lastname>B</lastname></personal><equipment>
<fins id="f"><name>Blue fins</name></fins>
<regulator id="r"><name>Reg</name><manufacturer id="m"><name>Maker</name></manufacturer>
<model>M1</model><serialnumber>S1</serialnumber></regulator>
<suit id="s"><name>semi-dry</name></suit>
<tank id="t1"><name>12 L</name><tankvolume>0.012</tankvolume></tank>
<tank id="t2"><name>own 10</name><serialnumber>T-5</serialnumber></tank>
<knife id="k"><name>left at home</name></knife>
</equipment></owner></diver>
<profiledata><repetitiongroup id="g"><dive id="d"><informationbeforedive>
<datetime>2031-05-04T09:30:00Z</datetime>
<equipmentused><link ref="f"/><link ref="r"/><link ref="s"/><link ref="t1"/><link ref="t2"/></equipmentused>
</informationbeforedive><informationafterdive><greatestdepth>18.3</greatestdepth>
<diveduration>2520</diveduration></informationafterdive></dive></repetitiongroup></profiledata></uddf>
"""


def kit_of(path: Path, **options: str) -> ReadKit:
    items = read_recording(path, ReadOptions(**options))  # type: ignore[arg-type]
    return next((item for item in items if isinstance(item, ReadKit)), ReadKit())


@pytest.fixture
def logbook(tmp_path: Path) -> Logbook:
    logbook = Logbook.open(tmp_path / "a.leadline", now=lambda: NOW)
    for item in (REGULATOR, REEL, CYLINDER):
        logbook.kit.keep(item)
    logbook.kit.note_care(CARE)
    logbook.kit.keep_set(SET)
    logbook.keep_dives([plain_dive(number=1, kit=(REGULATOR.used, CYLINDER.used))])
    return logbook


def brought_in(path: Path, tmp_path: Path) -> Logbook:
    other = Logbook.open(tmp_path / "other.leadline", now=lambda: NOW)
    other.import_files([path])
    return other


@pytest.mark.law
@settings(deadline=None, max_examples=60)
@given(
    st.builds(
        ReadKit,
        items=st.lists(kit_items, max_size=3).map(tuple),
        care=st.lists(care_records.map(lambda care: replace(care, taken_back_at=None)), max_size=3).map(
            tuple
        ),
        sets=st.lists(kit_sets, max_size=2).map(tuple),
    )
)
def test_any_kit_is_the_same_after_json(kit: ReadKit) -> None:
    assert kit_from_json(kit_to_json(kit)) == kit


@pytest.mark.parametrize(
    "told",
    [
        [],
        {"pieces": 7},
        {"pieces": [{"id": "a"}]},
        {"pieces": [{"id": "a", "name": "b", "dives_before": 1.5}]},
        {"pieces": [{"id": "a", "name": "b", "bought_on": "spring"}]},
        {"pieces": [{"id": "a", "name": "\ud800"}]},
        {"care": [{"id": "a", "item_id": "b", "check": "polish", "done_on": "2031-01-01"}]},
        {"sets": [{"id": "a", "name": " "}]},
    ],
)
def test_what_is_no_kit_is_refused_in_a_sentence(told: object) -> None:
    with pytest.raises(RefusedRecord):
        kit_from_json(told)


def test_a_whole_logbook_takes_its_kit_along_in_json(logbook: Logbook, tmp_path: Path) -> None:
    logbook.export(tmp_path / "out.json")
    other = brought_in(tmp_path / "out.json", tmp_path)
    assert other.kit.view(NOW.date()) == logbook.kit.view(NOW.date())
    assert other.dives()[0].kit == (REGULATOR.used, CYLINDER.used)


def test_single_dives_take_only_what_they_used(logbook: Logbook, tmp_path: Path) -> None:
    logbook.export(tmp_path / "out.json", [logbook.dives()[0].id])
    kit = kit_of(tmp_path / "out.json")
    assert {item.id for item in kit.items} == {REGULATOR.id, CYLINDER.id}
    assert (kit.care, kit.sets) == ((CARE,), ())


def test_spoilt_kit_leaves_the_dives_alone(logbook: Logbook, tmp_path: Path) -> None:
    path = tmp_path / "out.json"
    logbook.export(path)
    path.write_text(path.read_text().replace('"dives_before": 12', '"dives_before": "many"'))
    read, problems = read_again(path)
    assert len(read) == 1
    assert "kit cannot be read" in problems[0].what


def test_uddf_has_the_kit_as_the_owners_equipment(logbook: Logbook, tmp_path: Path) -> None:
    """Source: element tables of the UDDF 3.2.3 schema, as uddf_3_2_3_as_written.xsd has them."""
    logbook.export(tmp_path / "out.uddf")
    tree = tree_of(tmp_path / "out.uddf")
    SCHEMA.assertValid(tree)
    found = {
        each.tag.rpartition("}")[2]: each for each in tree.iter() if each.get("id", "").startswith("kit-")
    }
    assert sorted(found) == ["regulator", "tank", "variouspieces"]
    assert [child.text for child in found["variouspieces"]] == ["Long reel", "reel"]
    links = [each.get("ref") for each in tree.iter("{*}link")]
    assert f"kit-{REGULATOR.id}" in links
    assert f"kit-{CYLINDER.id}" not in links  # what it held is told by the dive's own cylinders


def test_uddf_gives_back_what_the_standard_can_say(logbook: Logbook, tmp_path: Path) -> None:
    logbook.export(tmp_path / "out.uddf")
    other = brought_in(tmp_path / "out.uddf", tmp_path)
    assert other.dives()[0].kit == (REGULATOR.used, CYLINDER.used)
    told = {line.item.id: line.item for line in other.kit.view(NOW.date()).lines}
    plain = {"bought_on": None, "price": None, "currency": "", "dives_before": 0, "intervals": ()}
    assert told == {item.id: replace(item, **plain) for item in (REGULATOR, REEL, CYLINDER)}


def test_bringing_ones_own_file_in_changes_no_piece(logbook: Logbook, tmp_path: Path) -> None:
    logbook.export(tmp_path / "out.uddf")
    logbook.kit.keep(replace(REGULATOR, name="renamed since"))
    before = logbook.kit.view(NOW.date())
    logbook.import_files([tmp_path / "out.uddf"])
    assert logbook.kit.view(NOW.date()) == before


def test_another_programs_equipment_becomes_kit(tmp_path: Path) -> None:
    path = tmp_path / "theirs.uddf"
    path.write_text(OTHER_PROGRAM)
    read, problems = read_again(path)
    assert problems == []
    (item,) = read.values()
    assert [used.name for used in item.dive.kit] == ["Blue fins", "Reg", "semi-dry", "own 10"]
    assert item.dive.suit == "semi-dry"
    told = {piece.name: piece for piece in kit_of(path).items}
    assert set(told) == {"Blue fins", "Reg", "semi-dry", "own 10"}  # what no dive used stays at home
    assert (told["Reg"].kind, told["Reg"].maker, told["Reg"].model) == ("regulator", "Maker", "M1")
    assert told["own 10"].kind == "cylinder"
    assert kit_of(path) == kit_of(path)  # ids follow from what the file says


def test_another_divers_equipment_is_not_ones_own(tmp_path: Path) -> None:
    path = tmp_path / "theirs.uddf"
    path.write_text(OTHER_PROGRAM)
    assert kit_of(path, diver="Imke") == ReadKit()
    (item,) = read_again(path, diver="Imke")[0].values()
    assert item.dive.kit == ()


def test_an_import_brings_kit_and_taking_it_back_takes_the_kit_as_well(tmp_path: Path) -> None:
    path = tmp_path / "theirs.uddf"
    path.write_text(OTHER_PROGRAM)
    clock = count()
    logbook = Logbook.open(tmp_path / "a.leadline", now=lambda: NOW + timedelta(seconds=next(clock)))
    report = logbook.import_files([path])
    assert [note.what for note in report.notes] == ["4 pieces of kit came with it."]
    assert len(logbook.kit.view().lines) == 4
    logbook.undo_import(report.import_id)
    assert logbook.kit.view().lines == ()
    logbook.import_files([path])
    assert len(logbook.kit.view().lines) == 4
    logbook.kit.delete(logbook.kit.view().lines[0].item.id)
    logbook.import_files([path])
    assert len(logbook.kit.view().lines) == 3  # what a hand put into the bin stays there


def test_a_piece_known_by_its_name_alone_leaves_and_returns(tmp_path: Path) -> None:
    logbook = Logbook.open(tmp_path / "a.leadline", now=lambda: NOW)
    logbook.keep_dives(
        [plain_dive(number=1, kit=(UsedKit("9" * 32, "Lost torch"), UsedKit("odd id", "Odd")))]
    )
    logbook.export(tmp_path / "out.uddf")
    SCHEMA.assertValid(tree_of(tmp_path / "out.uddf"))
    other = brought_in(tmp_path / "out.uddf", tmp_path)
    assert other.dives()[0].kit == logbook.dives()[0].kit

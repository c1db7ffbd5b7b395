"""What leaves as JSON comes back equal; what a script made of it is read or refused in a sentence."""

from __future__ import annotations

import json
import tracemalloc
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from written_logbook import WRITTEN_AT, Entry, assert_same, logbooks, profiles_of, read_again

from logbook_app.analysis.dive_analysis import Carried, Rules, analyse
from logbook_app.analysis.gas_use import gas_use
from logbook_app.dive.problems import RefusedFile
from logbook_app.dive.profile import Profile
from logbook_app.files.json_pieces import Around, pieces
from logbook_app.files.logbook_json import Entry as JsonEntry
from logbook_app.files.logbook_json import write_logbook_json
from logbook_app.physics.tissue_loading import saturated_on_air
from tests.dive.strategies import plain_dive

_PLAIN = plain_dive()
ANALYSIS = analyse(_PLAIN, None, Carried(saturated_on_air(1.0)), Rules())
GAS = gas_use(_PLAIN, None)


def entries_of(logbook: Sequence[Entry]) -> Iterator[JsonEntry]:
    """The figures beside a record are made again by whoever reads it; any will do here."""
    of_dive = profiles_of(logbook)
    for dive, _ in logbook:
        first, *further = of_dive(dive) or [None]
        yield JsonEntry(dive, first, ANALYSIS, GAS, further)


def written_json(path: Path, logbook: Sequence[Entry]) -> Path:
    write_logbook_json(path, entries_of(logbook), WRITTEN_AT)
    return path


def document(**dive: Any) -> dict[str, Any]:
    """Return the least that a script has to write."""
    told = {"began_at": "2031-05-04T09:30:00+02:00", "duration_min": 42, "max_depth_m": 18.3}
    return {"format": "leadline logbook", "version": 1, "dives": [{"dive": told | dive}]}


@pytest.mark.law
@settings(deadline=None, max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(logbook=logbooks().filter(bool))
def test_any_logbook_comes_back_equal_dive_by_dive_and_sample_by_sample(tmp_path, logbook):
    read, problems = read_again(written_json(tmp_path / "out.json", logbook))
    assert_same(logbook, read)
    assert problems == []


def test_it_is_one_json_document_with_its_keys(tmp_path):
    path = written_json(tmp_path / "out.json", [(plain_dive(notes="ü"), [])])
    told = json.loads(path.read_text(encoding="utf-8"))
    assert list(told) == ["format", "version", "written_at", "dives"]
    assert datetime.fromisoformat(told["written_at"]) == WRITTEN_AT
    assert list(told["dives"][0]) == ["dive", "samples", "further_samples", "analysis"]
    assert json.loads(written_json(tmp_path / "none.json", []).read_text(encoding="utf-8"))["dives"] == []


@pytest.mark.law
@given(
    told=st.recursive(
        st.none() | st.booleans() | st.floats(allow_nan=False) | st.text(),
        lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
        max_leaves=30,
    ),
    size=st.integers(1, 40),
)
def test_a_text_cut_anywhere_into_chunks_comes_apart_into_its_dives(told, size):
    """Against the standard library's parser: the pieces together are the document."""
    text = json.dumps({"format": told, "dives": [{"dive": told}, {"a": [told, "}]"]}], "after": [told]})
    chunks = [text.encode()[at : at + size] for at in range(0, len(text.encode()), size)]
    *dives, around = pieces(chunks, "a")
    assert isinstance(around, Around)
    assert around.complete
    assert [json.loads(dive) for dive in dives] == json.loads(text)["dives"]
    assert json.loads(around.text) == json.loads(text) | {"dives": []}


def test_keys_in_any_order_and_unknown_ones_are_taken(tmp_path):
    path = written_json(tmp_path / "out.json", [(plain_dive(tags=("night",)), [])])
    told = json.loads(path.read_text(encoding="utf-8")) | {"added by a script": 1}
    path.write_text(json.dumps(told, sort_keys=True), encoding="utf-8-sig")
    assert next(iter(read_again(path)[0].values())).dive == plain_dive(
        id=next(iter(read_again(path)[0])), tags=("night",)
    )


def test_the_least_that_a_script_has_to_write_is_enough_and_has_one_name(tmp_path):
    path = tmp_path / "out.json"
    told = document()
    told["dives"][0]["samples"] = {"time_s": [0, 60], "depth_m": [0, 18.3]}
    path.write_text(json.dumps(told), encoding="utf-8")
    (first,) = read_again(path)[0].values()
    (second,) = read_again(path)[0].values()
    assert first == second
    assert first.dive.began_at == datetime(2031, 5, 4, 7, 30, tzinfo=UTC)
    assert first.dive.utc_offset_min == 120
    assert first.profile == Profile([0.0, 60.0], [0.0, 18.3])
    assert first.dive.recordings[0].fingerprint


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"max_depth_m": None}, "max_depth_m is missing"),
        ({"duration_min": "long"}, "duration_min is not a number"),
        ({"duration_min": 1e9}, "is not between"),
        ({"began_at": "yesterday"}, "yesterday"),
        ({"began_at": "2031-05-04T09:30:00"}, "offset from UTC"),
        ({"notes": 5}, "notes is not a text"),
        ({"notes": "\ud800"}, "half a character"),
        ({"buddies": "Ada"}, "buddies is not an array"),
        ({"cylinders": [{"gas": {"oxygen_fraction": 1.4}}]}, "oxygen share"),
        ({"water": "beer"}, "beer"),
        ({"number": 1.5}, "number is not a whole number"),
        ({"site": []}, "site is not an object"),
        ({"id": "../../elsewhere"}, "is not the id of a dive"),
    ],
)
def test_a_dive_that_cannot_be_is_refused_in_a_sentence_and_the_others_are_read(tmp_path, change, words):
    told = document(**change)
    told["dives"].append({"dive": document()["dives"][0]["dive"]})
    path = tmp_path / "out.json"
    path.write_text(json.dumps(told), encoding="utf-8")
    read, problems = read_again(path)
    assert len(read) == 1
    (problem,) = problems
    assert problem.where == "dive 1 of the file"
    assert words in problem.what


@pytest.mark.parametrize(
    ("samples", "words"),
    [
        ({"time_s": [0, 0], "depth_m": [0, 1]}, "increase"),
        ({"time_s": [0, 1]}, "'depth_m' is missing"),
        ({"time_s": [0, 1], "depth_m": [0]}, "depth_m has 1 values"),
        ({"time_s": [0, "x"], "depth_m": [0, 1]}, "'x'"),
        ({"time_s": [0, [1]], "depth_m": [0, 1]}, ""),
        ([], "samples is not an object"),
        ({"time_s": [0], "depth_m": [0], "switches": [{"time_s": 0, "cylinder": -1}]}, "gas switch"),
    ],
)
def test_samples_that_cannot_be_are_refused_with_their_dive(tmp_path, samples, words):
    told = document()
    told["dives"][0]["samples"] = samples
    path = tmp_path / "out.json"
    path.write_text(json.dumps(told), encoding="utf-8")
    with pytest.raises(RefusedFile) as refused:
        read_again(path)
    assert "no dive that could be read" in str(refused.value)
    assert words in str(refused.value)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"{}", "JSON but no logbook"),
        (b'{"format": "another", "dives": []}', "JSON but no logbook"),
        (b'{"format": "leadline logbook", "version": 2, "dives": []}', "version 2"),
        (b'{"format": "leadline logbook", "version": 1, "dives": []}', "holds no dive"),
        (b'{"format": "leadline logbook", "version": 1}', "holds no dive"),
        (b'{"format": NaN}', "not JSON that can be read"),
        (b'{"format": "x", ,}', "not JSON that can be read"),
        (b'{"a":' * 100_000, "not JSON that can be read"),
        (b'{"dives": [' + b"[" * 200_000, "JSON but no logbook"),
        (b'{"format": "\xff"}', "another encoding than UTF-8"),
        (b'{"a": "' + b"x" * 3_000_000, "has no end"),
    ],
)
def test_json_that_is_no_logbook_is_refused_in_one_sentence(tmp_path, content, words):
    path = tmp_path / "thing.json"
    path.write_bytes(content)
    with pytest.raises(RefusedFile) as refused:
        read_again(path)
    assert str(refused.value).startswith("thing.json")
    assert words in str(refused.value)


def test_a_file_cut_off_gives_the_dives_that_were_whole_and_says_so(tmp_path):
    logbook = [(plain_dive(), []), (plain_dive(notes="cut"), [])]
    path = written_json(tmp_path / "out.json", logbook)
    path.write_bytes(path.read_bytes()[:-400])
    read, problems = read_again(path)
    assert list(read) == [logbook[0][0].id]
    assert "breaks off" in problems[-1].what


def test_a_long_file_needs_the_memory_of_its_longest_dive(tmp_path):
    profile = Profile([float(at) for at in range(3000)], [10.0] * 3000)
    logbook = [(plain_dive(), [])] * 20
    path = tmp_path / "long.json"
    entries = (JsonEntry(dive, profile, ANALYSIS, GAS) for dive, _ in logbook)
    write_logbook_json(path, entries, WRITTEN_AT)
    tracemalloc.start()
    for piece in pieces(iter(path.open("rb").readline, b""), "a"):
        assert len(piece.text if isinstance(piece, Around) else piece) < 200_000
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert path.stat().st_size > 1_000_000
    assert peak < 700_000

"""What became of a dive, in words: what was changed together once, instants by the offset of their time."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from logbook_app.analysis.field_words import LABELS, extra_label, field_label, shown
from logbook_app.analysis.history_words import told_history
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.edited_dive import EDITABLE
from logbook_app.dive.history import DIVE, FieldChange, changed_fields
from logbook_app.dive.record import Dive, Recording, Site
from tests.dive.strategies import plain_dive

METRIC = SpokenUnits()
AT = datetime(2031, 6, 1, 12, tzinfo=UTC)


def lines_of(*steps: tuple[str, Dive]) -> list[FieldChange]:
    """Return the history of a dive that came and was changed step by step, each with its reason."""
    lines: list[FieldChange] = []
    before: Dive | None = None
    for number, (why, after) in enumerate(steps, start=1):
        for told in changed_fields(before, after):
            at = AT + timedelta(hours=number)
            lines.append(FieldChange(len(lines) + 1, number, DIVE, after.id, *told, at, why))
        before = after
    return lines


def test_the_newest_change_is_told_first_with_its_fields_in_words() -> None:
    dive = plain_dive(id="a", weights_kg=4.0)
    heavier = replace(dive, weights_kg=6.0, rating=8)
    edited, came = told_history(heavier, lines_of(("hand", dive), ("edit", heavier)), METRIC)
    assert (edited.why, edited.at) == ("Changed", "Sun 1 Jun 2031, 14:00 (UTC)")
    told = [(change.label, change.before, change.after) for change in edited.changes]
    assert told == [("Weights", "4 kg", "6 kg"), ("Rating", "nothing", "8 of 10")]
    assert (came.why, came.changes[0].after, came.changes[0].can_return) == (
        "Written by hand",
        "in the logbook",
        False,
    )


def test_a_start_is_told_once_each_by_the_offset_of_its_time() -> None:
    dive = plain_dive(id="a", utc_offset_min=60)
    moved = replace(dive, began_at=dive.began_at + timedelta(hours=1), utc_offset_min=120)
    later = replace(moved, began_at=moved.began_at + timedelta(hours=1))
    lines = lines_of(("hand", dive), ("edit", moved), ("shift", later))
    shift, edit, _came = told_history(later, lines, METRIC)
    (start,) = edit.changes
    assert (start.before, start.after) == (
        "Sun 4 May 2031, 10:30 (UTC+1)",
        "Sun 4 May 2031, 12:30 (UTC+2)",
    )
    assert len(start.ids) == 2
    assert (shift.why, shift.changes[0].before) == ("Clock moved", start.after)


def test_what_comes_with_a_recording_goes_back_as_a_whole() -> None:
    dive = plain_dive(id="a")
    joined = replace(dive, recordings=(Recording("f"),), max_depth_m=19.0, notes="both")
    told, _came = told_history(joined, lines_of(("hand", dive), ("join", joined)), METRIC)
    assert len({change.ids for change in told.changes}) == 1
    assert told.changes[0].ids == (2, 3, 4)


@pytest.mark.parametrize("name", [*EDITABLE, "recordings", "estimate", "present", "extra.uddf:owner"])
def test_every_field_has_a_label(name: str) -> None:
    if name != "extra":
        assert field_label(name) not in (name, "")
    assert "_" not in LABELS.get(name, "")


@pytest.mark.parametrize(
    ("name", "label"),
    [
        ("uddf:thermalcomfort", "Comfort"),
        ("uddf:site.country", "Country"),
        ("also written: weights_kg", "Also written: Weights"),
        ("also written: time", "Also written: time"),
        ("wave_height", "Wave height"),
        ("whole recording", "Whole recording"),
    ],
)
def test_names_of_a_file_are_read_as_words(name: str, label: str) -> None:
    assert extra_label(name) == label


def test_a_site_says_all_that_is_known_of_it() -> None:
    site = Site.named("Pier", region="Nordmark", elevation_m=412.0, latitude_deg=46.5, longitude_deg=-7.25)
    line = shown(plain_dive(site=site), "site", METRIC)
    assert line.value == "Pier, Nordmark, 412 m above sea level, 46.50000° N, 7.25000° W"

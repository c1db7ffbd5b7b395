"""What a field said is kept as JSON and comes back equal; two records differ in what was changed."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.dive.history import (
    PRESENT,
    changed_fields,
    value_from_json,
    value_to_json,
    with_values,
)
from logbook_app.dive.record import Dive, Recording
from tests.dive.strategies import accounts, dives, plain_dive

pytestmark = pytest.mark.law

_RECORDINGS = st.lists(
    st.builds(Recording, st.text(), st.none() | st.text(), account=st.none() | accounts), max_size=2
)


@given(dives(_RECORDINGS.map(tuple)))
def test_every_field_comes_back_equal(dive: Dive) -> None:
    for field in fields(Dive):
        if field.name not in ("id", "extra"):
            value = getattr(dive, field.name)
            assert value_from_json(field.name, value_to_json(value)) == value


@given(dives(_RECORDINGS.map(tuple)), dives(_RECORDINGS.map(tuple)))
def test_the_changes_between_two_records_lead_from_either_to_the_other(first: Dive, second: Dive) -> None:
    second = replace(second, id=first.id)
    told = list(changed_fields(first, second))
    assert with_values(first, {name: after for name, _, after in told}) == second
    assert with_values(second, {name: before for name, before, _ in told}) == first


@given(dives())
def test_a_record_that_did_not_change_has_no_change(dive: Dive) -> None:
    assert list(changed_fields(dive, replace(dive))) == []
    elsewhere = dive.began_at.astimezone(timezone(timedelta(hours=5)))
    assert list(changed_fields(dive, replace(dive, began_at=elsewhere))) == []


def test_only_what_differs_is_told_and_a_whole_number_is_no_other_number() -> None:
    dive = plain_dive(duration_min=42.0, notes="calm")
    changed = replace(dive, duration_min=42, notes="calm sea", extra={"wave": "0.5 m"})
    assert list(changed_fields(dive, changed)) == [
        ("notes", '"calm"', '"calm sea"'),
        ("extra.wave", "null", '"0.5 m"'),
    ]


def test_a_dive_that_comes_has_one_line() -> None:
    assert list(changed_fields(None, plain_dive())) == [(PRESENT, "null", "true")]


def test_values_are_json_that_others_can_read() -> None:
    dive = plain_dive()
    assert json.loads(value_to_json(dive.began_at)) == "2031-05-04T09:30:00+00:00"
    assert json.loads(value_to_json(dive.water)) == "recorder"

"""A piece of kit as a form: what is written becomes a value, or one sentence."""

from __future__ import annotations

from datetime import date

import pytest

from logbook_app.dive.kit import CareInterval, Check, KitItem, usual_care
from logbook_app.screens.kit_form import (
    FIELDS,
    amount_words,
    checks_of,
    stepped_interval,
    texts_of,
    with_text,
)

TODAY = date(2026, 11, 14)
PIECE = KitItem(
    name="regulator",
    kind="regulator",
    bought_on=date(2024, 3, 1),
    price=240.0,
    currency="EUR",
    dives_before=30,
    hours_before=20.5,
    intervals=usual_care("regulator"),
)


def test_what_stands_in_the_fields_makes_the_piece_again() -> None:
    for field, text in texts_of(PIECE).items():
        assert with_text(PIECE, field, text, TODAY) == (PIECE, "")
    assert set(texts_of(PIECE)) == set(FIELDS)


@pytest.mark.parametrize(
    ("field", "text", "value"),
    [
        ("name", "  cold one ", "cold one"),
        ("price", "", None),
        ("price", "37,5", 37.5),
        ("bought_on", "", None),
        ("bought_on", "2026-11-14", TODAY),
        ("dives_before", "", 0),
        ("dives_before", "212", 212),
        ("hours_before", "12.25", 12.25),
        ("notes", "two lines\n and a gap ", "two lines\n and a gap "),
    ],
)
def test_a_text_becomes_a_value(field: str, text: str, value: object) -> None:
    piece, trouble = with_text(PIECE, field, text, TODAY)
    assert (getattr(piece, field), trouble) == (value, "")


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("name", " ", "needs a name"),
        ("price", "cheap", "Write a number"),
        ("price", "-3", "not between"),
        ("price", "nan", "Write a number"),
        ("bought_on", "1.3.2024", "2024-03-01"),
        ("bought_on", "2026-11-15", "has not come yet"),
        ("dives_before", "12.5", "whole number"),
        ("dives_before", "²", "whole number"),
        ("hours_before", "inf", "Write a number"),
    ],
)
def test_a_text_that_makes_no_value_changes_nothing(field: str, text: str, words: str) -> None:
    piece, trouble = with_text(PIECE, field, text, TODAY)
    assert piece == PIECE
    assert words in trouble


def test_an_interval_begins_at_what_is_usual_and_ends_at_none() -> None:
    bare = KitItem(name="suit")
    yearly = stepped_interval(bare, Check.SERVICE, "months", 1)
    assert yearly.intervals == (CareInterval(Check.SERVICE, months=12),)
    assert stepped_interval(yearly, Check.SERVICE, "months", -12).intervals == ()
    assert stepped_interval(bare, Check.SERVICE, "dives", -1).intervals == ()
    both = stepped_interval(yearly, Check.SERVICE, "dives", 1)
    assert both.intervals == (CareInterval(Check.SERVICE, months=12, dives=100),)
    assert amount_words(both, Check.SERVICE, "dives") == "100 dives"
    assert amount_words(both, Check.SERVICE, "hours") == "none"
    assert amount_words(both, Check.VISUAL, "months") == "none"


def test_only_a_cylinder_is_tested() -> None:
    assert checks_of(PIECE) == [Check.SERVICE]
    cylinder = KitItem(name="12 L", kind="cylinder")
    assert checks_of(cylinder) == [Check.SERVICE, Check.VISUAL, Check.HYDROSTATIC]
    odd = KitItem(name="tank", intervals=(CareInterval(Check.VISUAL, months=12),))
    assert checks_of(odd) == [Check.SERVICE, Check.VISUAL]

"""The pre-dive card as a record: it comes back from plain values, and knows which dive it was written for."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from strategies import pre_dive_cards

from logbook_app.dive.pre_dive_card import (
    CLOCKS_DIFFER,
    PreDiveCard,
    card_from_plain,
    card_to_plain,
)
from logbook_app.dive.problems import RefusedRecord

BEGUN = datetime(2026, 11, 14, 9, 10, tzinfo=UTC)
CARD = PreDiveCard(begun_at=BEGUN, utc_offset_min=60)


@pytest.mark.law
@given(pre_dive_cards)
def test_a_card_comes_back_from_json(card: PreDiveCard) -> None:
    """Every field, through the text that a file holds."""
    assert card_from_plain(json.loads(json.dumps(card_to_plain(card)))) == card


def test_a_card_belongs_to_a_dive_within_a_day() -> None:
    """From when it was begun, less what clocks differ by, for 24 hours."""
    assert CARD.belongs_to(BEGUN + timedelta(minutes=40))
    assert CARD.belongs_to(BEGUN - CLOCKS_DIFFER)
    assert not CARD.belongs_to(BEGUN - timedelta(hours=1))
    assert CARD.belongs_to(BEGUN + timedelta(hours=24))
    assert not CARD.belongs_to(BEGUN + timedelta(hours=24, minutes=1))


def test_a_blank_card_says_nothing() -> None:
    """Its id and its start are no words of the diver."""
    assert CARD.says_nothing
    assert not replace(CARD, site="Heron Ledge").says_nothing


@pytest.mark.parametrize(
    "wrong",
    [
        {"fitness": "perhaps"},
        {"begun_at": "yesterday"},
        {"begun_at": "2026-11-14T09:10:00"},
        {"utc_offset_min": 5000},
        {"plan": 7},
        {"analyses": [{"oxygen_fraction": 3.2, "at": "2026-11-14T09:10:00+00:00"}]},
        {"analyses": [{"oxygen_fraction": 0.32}]},
    ],
)
def test_what_is_no_card_is_refused_in_a_sentence(wrong: dict[str, object]) -> None:
    """A file of somebody's making never makes half a card."""
    with pytest.raises(RefusedRecord, match=r"pre-dive card|offset"):
        card_from_plain({**card_to_plain(CARD), **wrong})

"""A pre-dive card from the dock to the dive that follows: by hand, by import, moved, removed, taken back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from pypdf import PdfReader

from logbook_app.analysis.dive_plan import Leg, PlanConditions
from logbook_app.analysis.planned_and_dived import line_of, planned_and_dived
from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.pre_dive_card import Fitness, GasAnalysis, PreDiveCard
from logbook_app.dive.problems import RefusedRecord
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import BreathingGas

NOON = datetime(2026, 11, 14, 12, 0, tzinfo=timezone(timedelta(hours=1)))
BEGUN = NOON - timedelta(hours=2)
CARD = PreDiveCard(
    begun_at=BEGUN,
    utc_offset_min=60,
    site="Heron Ledge",
    kit_checked=("valve", "weights"),
    analyses=(GasAnalysis(BreathingGas(0.316), "Imke R.", BEGUN),),
    fitness=Fitness.FIT,
    checked_with=("Imke R.",),
    contacts="Harbour office, channel 11",
    nearest_oxygen="In the boat, under the bench",
    plan="Up the ladder, oxygen, call.",
)


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    opened = Logbook.open(tmp_path / "card.leadline", now=lambda: NOON)
    opened.pre_dive.keep(CARD)
    yield opened
    opened.close()


def dive_after(minutes: float) -> HandEntry:
    return HandEntry(began_local=BEGUN + timedelta(minutes=minutes), duration_min=30, max_depth_m=18)


def test_the_next_dive_by_hand_has_the_card(logbook: Logbook) -> None:
    """Whole, and no card waits any more."""
    dive, _changes = logbook.add_by_hand(dive_after(30))
    assert dive.pre_dive == CARD
    assert logbook.pre_dive.waiting() is None
    second, _changes = logbook.add_by_hand(dive_after(75))
    assert second.pre_dive is None


@pytest.mark.parametrize("minutes", [-120.0, 25 * 60.0])
def test_a_dive_of_another_day_does_not_take_it(logbook: Logbook, minutes: float) -> None:
    """Begun before the card, or more than a day after it."""
    dive, _changes = logbook.add_by_hand(dive_after(minutes))
    assert dive.pre_dive is None
    assert logbook.pre_dive.waiting() == CARD


def test_an_import_gives_the_card_to_the_first_dive_of_the_day_and_says_so(
    logbook: Logbook, tmp_path: Path
) -> None:
    """Of two dives in a file the earlier one gets it; undoing the import lets it wait again."""
    other = Logbook.open(tmp_path / "other.leadline", now=lambda: NOON)
    for minutes in (90, 30):
        other.add_by_hand(dive_after(minutes))
    other.export(tmp_path / "day.uddf")
    other.close()
    report = logbook.import_files([tmp_path / "day.uddf"])
    first, second = logbook.dives()
    assert (first.pre_dive, second.pre_dive) == (CARD, None)
    assert [note.what for note in report.notes] == [
        "has your pre-dive card now; move or remove it on its page."
    ]
    logbook.undo_import(report.import_id)
    assert logbook.pre_dive.waiting() == CARD
    logbook.import_files([tmp_path / "day.uddf"])
    assert logbook.dives()[0].pre_dive == CARD


def test_a_blank_card_goes_nowhere(logbook: Logbook) -> None:
    """Opening the page and writing nothing leaves no trace on a dive."""
    logbook.pre_dive.keep(PreDiveCard(begun_at=BEGUN))
    assert logbook.add_by_hand(dive_after(30))[0].pre_dive is None


def test_undoing_the_entry_lets_the_card_wait_again(logbook: Logbook) -> None:
    """A dive that was saved by mistake, or with a wrong depth, takes no card into the bin."""
    dive, _changes = logbook.add_by_hand(dive_after(30))
    logbook.delete_dive(dive.id)
    assert logbook.pre_dive.waiting() == CARD
    logbook.restore_dive(dive.id)
    assert logbook.dive(dive.id).pre_dive == CARD


def test_a_card_is_moved_and_taken_off_and_put_back(logbook: Logbook) -> None:
    """To another dive of its day; a dive has one card or none."""
    first, _changes = logbook.add_by_hand(dive_after(30))
    second, _changes = logbook.add_by_hand(dive_after(75))
    assert [dive.id for dive in logbook.pre_dive.could_go_to(first)] == [second.id]
    logbook.pre_dive.move(first.id, second.id)
    assert [dive.pre_dive for dive in logbook.dives()] == [None, CARD]
    with pytest.raises(RefusedRecord):
        logbook.pre_dive.move(first.id, second.id)
    logbook.pre_dive.put(second.id, None)
    assert logbook.dive(second.id).pre_dive is None
    logbook.pre_dive.put(second.id, CARD)
    assert logbook.dive(second.id).pre_dive == CARD


def test_a_loss_of_power_in_between_leaves_one_card(logbook: Logbook) -> None:
    """The dive has it and it still waits: the next dive does not get it a second time."""
    dive, _changes = logbook.add_by_hand(dive_after(30))
    logbook.pre_dive.keep(dive.pre_dive)
    second, _changes = logbook.add_by_hand(dive_after(75))
    assert second.pre_dive is None
    assert logbook.pre_dive.waiting() is None


def test_the_plan_of_a_place_is_found_again(logbook: Logbook) -> None:
    """However its name is written; a place without a card has none."""
    logbook.add_by_hand(dive_after(30))
    found = logbook.pre_dive.last_at(" heron  ledge")
    assert found == CARD
    assert logbook.pre_dive.last_at("Old Quarry") is None
    assert logbook.pre_dive.last_at("") is None


@pytest.mark.parametrize("form", ["uddf", "json"])
def test_an_export_loses_no_card(logbook: Logbook, tmp_path: Path, form: str) -> None:
    """Out and into another logbook: the same card, to the last letter."""
    logbook.add_by_hand(dive_after(30))
    logbook.export(tmp_path / f"all.{form}")
    other = Logbook.open(tmp_path / "other.leadline", now=lambda: NOON)
    other.import_files([tmp_path / f"all.{form}"])
    (dive,) = other.dives()
    other.close()
    assert dive.pre_dive == CARD


def test_joining_two_records_keeps_the_card(logbook: Logbook) -> None:
    """Whichever of the two has it; a second card is kept in words beside the first."""
    from logbook_app.dive.joined_dive import joined

    dive, _changes = logbook.add_by_hand(dive_after(30))
    bare = replace(dive, id="0" * 32, pre_dive=None)
    assert joined(dive, bare).pre_dive == CARD
    assert joined(bare, dive).pre_dive == CARD
    another = replace(bare, pre_dive=PreDiveCard(begun_at=BEGUN, plan="Row ashore."))
    both = joined(dive, another)
    assert both.pre_dive == CARD
    assert "Row ashore." in both.extra["also written: pre-dive card"]


def test_a_plan_goes_with_the_card_to_its_dive(logbook: Logbook) -> None:
    """Kept beside what is on the card, and told against the dive."""
    line = line_of(logbook.plan([Leg(18.0, 30.0)]))
    assert logbook.pre_dive.keep_line(line, 60) == CARD
    assert logbook.pre_dive.waiting() == replace(CARD, planned_line=line)
    entry = HandEntry(began_local=NOON + timedelta(minutes=10), duration_min=50, max_depth_m=21)
    dive, _changes = logbook.add_by_hand(entry)
    assert dive.pre_dive is not None
    assert dive.pre_dive.planned_line == line
    told = planned_and_dived(line, logbook.dive_view(dive.id))
    assert told.deeper_m == pytest.approx(3.0)
    assert told.longer_min == pytest.approx(50 - line.run_time_min)


def test_a_plan_without_a_card_begins_one(logbook: Logbook) -> None:
    logbook.pre_dive.keep(None)
    line = line_of(logbook.plan([Leg(18.0, 30.0)], PlanConditions(at=NOON + timedelta(hours=3))))
    assert logbook.pre_dive.keep_line(line, 60) is None
    card = logbook.pre_dive.waiting()
    assert card is not None
    assert (card.begun_at, card.planned_line) == (NOON, line)


@pytest.mark.parametrize(
    ("card", "words"), [(CARD, "still waits for its dive"), (None, "on the day of the dive")]
)
def test_a_plan_for_another_day_is_refused(logbook: Logbook, card: PreDiveCard | None, words: str) -> None:
    """The card goes to a dive within a day; what waits stays as it is."""
    logbook.pre_dive.keep(card)
    line = line_of(logbook.plan([Leg(18.0, 30.0)], PlanConditions(at=NOON + timedelta(days=2))))
    with pytest.raises(RefusedRecord, match=words):
        logbook.pre_dive.keep_line(line, 60)
    assert logbook.pre_dive.waiting() == card


def test_the_card_is_on_the_page_of_its_dive_without_the_contacts(logbook: Logbook, tmp_path: Path) -> None:
    """The contacts are other people's, and a page goes from hand to hand: only who asks prints them."""
    dive, _ = logbook.add_by_hand(dive_after(60))

    def printed(**asked: bool) -> str:
        logbook.export(tmp_path / "dive.pdf", [dive.id], **asked)
        return " ".join(page.extract_text() for page in PdfReader(tmp_path / "dive.pdf").pages)

    page = " ".join(printed().split())
    assert "In the boat, under the bench" in page
    assert "Up the ladder, oxygen, call." in page
    assert "channel 11" not in page
    assert "Harbour office, channel 11" in " ".join(printed(with_contacts=True).split())

"""The history on the page of a dive: read, and put back with a touch; the record is then equal."""

from __future__ import annotations

from pathlib import Path

import pytest
from correcting import asked, dive_numbered, edit, open_page, press, touch, weekend_and_two_by_hand
from driver import Driver, OpenApp


@pytest.fixture
def page(open_app: OpenApp, tmp_path: Path) -> Driver:
    return open_page(open_app(weekend_and_two_by_hand(tmp_path / "history.leadline")), 216)


def put_back_keys(page: Driver) -> list[str]:
    names = [button.test_id for button in page.find_all(role="ChartButton")]
    return [name for name in names if name.startswith("put-back")]


def test_a_change_is_listed_put_back_and_taken_back_again(page: Driver) -> None:
    before = dive_numbered(page, 216)
    edit(page, "weights_kg")
    press(page, "6")
    edit(page, "weights_kg")
    press(page, "8")
    assert page.says("Weights: nothing → 6 kg")
    assert page.says("Weights: 6 kg → 8 kg")
    assert page.says("Written by hand")
    newest, first = put_back_keys(page)
    touch(page, first)
    assert dive_numbered(page, 216) == before
    assert page.says("Weights: 8 kg → nothing")
    assert newest in put_back_keys(page)  # nothing of the history goes
    page.tap(test_id="undo")
    page.idle()
    assert dive_numbered(page, 216).weights_kg == 8.0


def test_a_long_history_is_shown_in_parts_and_fits(page: Driver) -> None:
    dive = dive_numbered(page, 216)
    for rating in range(1, 10):
        changes = asked(page, lambda logbook, rating=rating: logbook.change_dive(dive.id, rating=rating))
    page.app.changed(changes)
    page.idle()
    assert len(put_back_keys(page)) == 6
    touch(page, "more-history")
    assert len(put_back_keys(page)) == 9
    assert not page.find_all(test_id="more-history")
    page.bring_into_view(page.find(test_id="history"))
    for _size in page.at_each_size():
        assert page.misfits() == []

"""What a dive was dived with: put on in Record with one touch, shown and changed on the dive's page."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from driver import ON_THE_DOCK, Driver, OpenApp

from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.kit import KitItem, KitSet, UsedKit
from logbook_app.divers_kit import KitChoice
from logbook_app.logbook import Logbook
from logbook_app.screens.kit_chips import after_bundle, after_piece, bundles, pieces, worn

R, S, M = (KitItem(id=name[0].lower(), name=name) for name in ("Regulator", "Suit", "Mask"))
GONE = UsedKit("x", "Old torch")
CHOICE = KitChoice(
    (R, S, M),
    (KitSet(id="cold", name="Cold", item_ids=("r", "s", "lost")), KitSet(id="none", name="Empty")),
    (M.used,),
)


def test_the_last_kit_is_offered_first_and_an_empty_set_not_at_all() -> None:
    assert [words for words, _pieces in bundles(CHOICE).values()] == ["As last time", "Cold"]


def test_a_set_goes_on_and_off_and_leaves_the_rest() -> None:
    on = after_bundle(CHOICE, (M.used,), "cold")
    assert on == (M.used, R.used, S.used)
    assert worn(CHOICE, on) == ["last", "cold"]
    assert after_bundle(CHOICE, on, "cold") == (M.used,)


def test_a_piece_that_is_gone_stays_until_it_is_taken_off() -> None:
    assert pieces(CHOICE, (GONE,))[-1] == ("x", "Old torch")
    assert after_piece(CHOICE, (GONE,), ["x", "m"]) == (GONE, M.used)
    assert after_piece(CHOICE, (GONE, M.used), ["m"]) == (M.used,)


@pytest.fixture
def kitted(tmp_path: Path) -> Path:
    path = tmp_path / "kitted.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    for piece in (R, S, M):
        logbook.kit.keep(piece)
    logbook.kit.keep_set(KitSet(id="cold", name="Cold", item_ids=("r", "s")))
    began = ON_THE_DOCK - timedelta(hours=3)
    entry = HandEntry(began_local=began, duration_min=45, max_depth_m=18, kit=(M.used, GONE))
    logbook.add_by_hand(entry)
    logbook.close()
    return path


def kit_of_all(path: Path) -> list[tuple[str, ...]]:
    logbook = Logbook.open(path)
    found = [tuple(used.name for used in dive.kit) for dive in logbook.dives()]
    logbook.close()
    return found


def dive_page(open_app: OpenApp, path: Path) -> Driver:
    app = open_app(path)
    app.app.ask(lambda logbook: logbook.dives()[0].id, then=app.app.open_dive)
    app.idle()
    app.idle()
    app.idle()
    return app


def filled(app: Driver) -> list[str]:
    return [chip.text for chip in app.find_all(role="Chip") if chip.chosen]


def test_a_dives_page_shows_its_kit_also_what_is_gone(open_app: OpenApp, kitted: Path) -> None:
    app = dive_page(open_app, kitted)
    app.bring_into_view(app.find(test_id="kit-m"))
    assert filled(app) == ["As last time", "Mask", "Old torch"]


def test_a_set_is_put_on_a_dive_and_undone(open_app: OpenApp, kitted: Path) -> None:
    app = dive_page(open_app, kitted)
    app.tap(app.bring_into_view(app.find(test_id="kit-set-cold")))
    app.idle()
    app.idle()
    assert kit_of_all(kitted) == [("Mask", "Old torch", "Regulator", "Suit")]
    app.tap(text="Undo", role="OutlinedButton")
    app.idle()
    app.idle()
    assert kit_of_all(kitted) == [("Mask", "Old torch")]
    app.idle()
    assert "Regulator" not in filled(app)


def test_a_piece_is_taken_off_a_dive(open_app: OpenApp, kitted: Path) -> None:
    app = dive_page(open_app, kitted)
    app.tap(app.bring_into_view(app.find(test_id="kit-x")))
    app.idle()
    assert kit_of_all(kitted) == [("Mask",)]


def test_record_puts_the_last_kit_on_with_one_touch_and_keeps_it_in_the_draft(
    open_app: OpenApp, kitted: Path
) -> None:
    app = open_app(kitted)
    app.tap(test_id="rail-record")
    app.idle()
    app.tap(app.bring_into_view(app.find(test_id="kit-set-last")))
    app.tap(app.bring_into_view(app.find(test_id="kit-r")))
    assert app.app.shell.rooms.room("record").draft.kit == (M.used, R.used)
    app.wait(1)
    app.idle()
    app.stop()
    again = open_app(kitted)
    again.tap(test_id="rail-record")
    again.idle()
    assert again.app.shell.rooms.room("record").draft.kit == (M.used, R.used)


def test_the_page_and_the_form_fit_at_each_size(open_app: OpenApp, kitted: Path) -> None:
    app = dive_page(open_app, kitted)
    for _ in app.at_each_size():
        app.bring_into_view(app.find(test_id="kit-m"))
        assert app.misfits() == []


def test_without_any_kit_the_page_leads_to_the_room(open_app: OpenApp, tmp_path: Path) -> None:
    path = tmp_path / "bare.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    began = ON_THE_DOCK - timedelta(hours=3)
    logbook.add_by_hand(HandEntry(began_local=began, duration_min=45, max_depth_m=18))
    logbook.close()
    app = dive_page(open_app, path)
    app.tap(app.bring_into_view(app.find(test_id="to-kit")))
    assert app.app.shell.rooms.current == "kit"


def test_fast_fingers_lose_no_piece(open_app: OpenApp, kitted: Path) -> None:
    """Touches come faster than the worker writes: a late answer must not take one back."""
    app = dive_page(open_app, kitted)
    app.bring_into_view(app.find(test_id="kit-m"))
    for piece in ("kit-r", "kit-s", "kit-x"):
        app.find(test_id=piece).trigger_action(0)
        app.frames(1)
    app.idle()
    app.idle()
    assert kit_of_all(kitted) == [("Mask", "Regulator", "Suit")]
    app.idle()
    assert {"Regulator", "Suit", "Mask"} <= set(filled(app))
    assert "Old torch" not in filled(app)

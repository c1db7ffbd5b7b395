"""The Kit room: pieces by what is due, their page, sets, the bin, reminders."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from driver import ON_THE_DOCK, Driver, OpenApp

from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.kit import CareRecord, Check, KitItem, KitSet, usual_care
from logbook_app.logbook import Logbook

TODAY = ON_THE_DOCK.date()


@pytest.fixture
def kitted(tmp_path: Path) -> Path:
    """A logbook with three pieces, a set, and a dive that used two of them."""
    path = tmp_path / "kitted.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    pieces = [
        KitItem(id="m", name="Mask", kind="mask"),
        KitItem(id="r", name="Regulator", kind="regulator", intervals=usual_care("regulator")),
        KitItem(id="c", name="Steel 12", kind="cylinder", intervals=usual_care("cylinder")),
    ]
    for piece in pieces:
        logbook.kit.keep(piece)
    served = TODAY - timedelta(days=365 + 62)
    logbook.kit.note_care(CareRecord(id="s", item_id="r", check=Check.SERVICE, done_on=served))
    for check, days in ((Check.VISUAL, 351), (Check.HYDROSTATIC, 700)):
        record = CareRecord(item_id="c", check=check, done_on=TODAY - timedelta(days=days))
        logbook.kit.note_care(record)
    logbook.kit.keep_set(KitSet(id="cold", name="Cold water", item_ids=("r", "c")))
    began = ON_THE_DOCK - timedelta(hours=3)
    dive, _ = logbook.add_by_hand(HandEntry(began_local=began, duration_min=45, max_depth_m=18))
    logbook.change_dive(
        dive.id,
        kit=(
            pieces[1].used,
            pieces[2].used,
        ),
    )
    logbook.close()
    return path


@pytest.fixture
def room(open_app: OpenApp, kitted: Path) -> Driver:
    """The app with the Kit room open."""
    app = open_app(kitted)
    app.tap(test_id="rail-kit")
    app.idle()
    return app


def in_order(app: Driver) -> list[str]:
    return [row.heading for row in app.find_all(role="PieceRow")]


def opened(app: Driver, name: str) -> Driver:
    app.tap(app.bring_into_view(app.find(test_id=f"piece-{name}")))
    app.idle()
    return app


def written(path: Path, piece_id: str) -> KitItem:
    logbook = Logbook.open(path)
    line = logbook.kit.view(TODAY).line(piece_id)
    logbook.close()
    assert line is not None
    return line.item


def type_over(app: Driver, field: str, text: str) -> None:
    entry = app.bring_into_view(app.find(test_id=field))
    app.tap(entry)
    entry.select_all()
    app.type(text)
    entry.focus = False
    app.frames(2)


def test_an_empty_shelf_says_what_the_room_is_for(app: Driver) -> None:
    app.tap(test_id="rail-kit")
    app.idle()
    assert app.says("No kit written down yet")
    for _ in app.at_each_size():
        assert app.misfits() == []


def test_the_most_urgent_comes_first_and_says_so_in_words(room: Driver) -> None:
    assert in_order(room) == ["Regulator", "Steel 12", "Mask"]
    assert room.says("Service: overdue by 2 months · 99 dives left")
    assert room.says("Visual test: due in 2 weeks; Hydrostatic test: due in 3 years")
    assert room.says("Regulator · 1 dive, 0.8 h")
    assert "local rules" in room.find(test_id="caution").text


def test_everything_fits_and_can_be_touched_at_each_size(room: Driver) -> None:
    for _ in room.at_each_size():
        assert room.misfits() == []
    room.resize(360, 640)
    opened(room, "Steel 12")
    for _ in room.at_each_size():
        assert room.misfits() == []


def test_a_piece_is_added_with_two_touches_and_named(room: Driver, kitted: Path) -> None:
    room.tap(test_id="add-piece")
    room.tap(test_id="kind-cylinder")
    room.idle()
    room.idle()
    assert room.find(test_id="piece-title").text == "Cylinder"
    type_over(room, "name", "Twin 8")
    room.wait(1)
    room.idle()
    room.press_back()
    room.idle()
    assert "Twin 8" in in_order(room)
    assert written(kitted, _id_of(kitted, "Twin 8")).intervals == usual_care("cylinder")


def _id_of(path: Path, name: str) -> str:
    logbook = Logbook.open(path)
    (found,) = [line.item.id for line in logbook.kit.view(TODAY).lines if line.item.name == name]
    logbook.close()
    return found


def test_a_service_is_noted_with_a_touch_and_can_be_undone(room: Driver) -> None:
    opened(room, "Regulator")
    assert room.find(test_id="due").text.startswith("Service: overdue by 2 months")
    room.tap(room.bring_into_view(room.find(test_id="day-yesterday")))
    room.tap(room.bring_into_view(room.find(test_id="note-care")))
    room.idle()
    room.idle()
    assert room.find(test_id="due").text == "Service: due in 12 months · 99 dives left"
    assert room.says("Service · 13 Nov 2026")
    room.tap(text="Undo", role="OutlinedButton")
    room.idle()
    room.idle()
    assert room.find(test_id="due").text.startswith("Service: overdue by 2 months")


def test_an_entry_is_taken_back_and_given_back(room: Driver) -> None:
    opened(room, "Regulator")
    served = TODAY - timedelta(days=365 + 62)
    room.tap(room.bring_into_view(room.find(test_id=f"take-back-{served.isoformat()}")))
    room.idle()
    room.idle()
    assert "date not known" in room.find(test_id="due").text
    room.tap(text="Undo", role="OutlinedButton")
    room.idle()
    room.idle()
    assert "overdue by 2 months" in room.find(test_id="due").text


def test_an_interval_is_changed_by_plus_and_minus(room: Driver, kitted: Path) -> None:
    opened(room, "Regulator")
    for _ in range(3):
        room.tap(room.bring_into_view(room.find(test_id="service-months-more")))
    assert room.find(test_id="service-months").text == "15 months"
    room.wait(1)
    room.idle()
    assert written(kitted, "r").intervals[0].months == 15
    assert "due in 4 weeks" in room.find(test_id="due").text


def test_what_is_no_date_is_said_and_not_kept(room: Driver, kitted: Path) -> None:
    opened(room, "Mask")
    type_over(room, "bought-on", "last spring")
    assert "2024-03-01" in room.find(test_id="trouble-bought-on").text
    type_over(room, "bought-on", "2025-04-05")
    assert not room.find_all(test_id="trouble-bought-on") or not room.find(test_id="trouble-bought-on").text
    room.press_back()
    room.idle()
    assert written(kitted, "m").bought_on == date(2025, 4, 5)


def test_what_is_written_outlives_going_back_at_once(room: Driver, kitted: Path) -> None:
    opened(room, "Mask")
    type_over(room, "dives-before", "41")
    room.press_back()
    room.idle()
    room.idle()
    assert room.says("Mask · 41 dives, 0.0 h")
    assert written(kitted, "m").dives_before == 41


def test_a_retired_piece_is_due_for_nothing_and_stands_last(room: Driver) -> None:
    opened(room, "Regulator")
    room.tap(room.bring_into_view(room.find(test_id="retired-yes")))
    room.wait(1)
    room.idle()
    room.press_back()
    room.idle()
    room.idle()
    assert in_order(room) == ["Steel 12", "Mask", "Regulator"]
    assert not room.says("overdue")


def test_a_deleted_piece_comes_back_by_undo_or_from_the_bin(room: Driver) -> None:
    opened(room, "Regulator")
    room.tap(test_id="delete")
    room.idle()
    room.idle()
    assert in_order(room) == ["Steel 12", "Mask"]
    room.tap(text="Undo", role="OutlinedButton")
    room.idle()
    room.idle()
    assert in_order(room) == ["Regulator", "Steel 12", "Mask"]
    opened(room, "Mask")
    room.tap(test_id="delete")
    room.idle()
    room.idle()
    room.tap(test_id="deleted-pieces")
    room.idle()
    room.tap(room.bring_into_view(room.find(test_id="restore-Mask")))
    room.idle()
    room.idle()
    assert "Mask" in in_order(room)


def test_a_set_is_made_filled_and_deleted(room: Driver, kitted: Path) -> None:
    room.tap(room.bring_into_view(room.find(test_id="make-set")))
    room.idle()
    room.idle()
    type_over(room, "set-name", "Pool")
    room.tap(room.bring_into_view(room.find(test_id="in-set-m")))
    room.idle()
    room.idle()
    room.tap(room.bring_into_view(room.find(test_id="set-done")))
    room.idle()
    logbook = Logbook.open(kitted)
    assert [(each.name, each.item_ids) for each in logbook.kit.view(TODAY).sets] == [
        ("Cold water", ("r", "c")),
        ("Pool", ("m",)),
    ]
    logbook.close()
    room.tap(room.bring_into_view(room.find(test_id="set-Pool")))
    room.tap(room.bring_into_view(room.find(test_id="delete-set")))
    room.idle()
    room.idle()
    assert not room.find_all(test_id="set-Pool")
    room.tap(text="Undo", role="OutlinedButton")
    room.idle()
    room.idle()
    assert room.find_all(test_id="set-Pool")


def test_reminders_are_off_by_choice(room: Driver, kitted: Path) -> None:
    room.tap(room.bring_into_view(room.find(test_id="reminders-off")))
    room.idle()
    logbook = Logbook.open(kitted)
    assert not logbook.kit.reminds()
    logbook.close()


def test_what_is_due_is_said_once_a_day_when_the_app_opens(open_app: OpenApp, kitted: Path) -> None:
    said: list[tuple[str, str]] = []
    for _ in range(2):
        app = open_app(kitted, notify=lambda *told: said.append(told))
        app.idle()
        app.idle()
        app.stop()
    ((title, sentence),) = said
    assert title == "Leadline"
    assert sentence.startswith("Regulator, Service: overdue by 2 months")


def test_a_device_that_refuses_to_notify_opens_the_app_all_the_same(open_app: OpenApp, kitted: Path) -> None:
    def refuse(*_told: str) -> None:
        raise RuntimeError("no notifications here")

    app = open_app(kitted, notify=refuse)
    app.idle()
    app.idle()
    assert app.app.shell.rooms.current == "surface"
    assert not app.says("no notifications here")


def test_a_set_loses_no_touch_to_a_fast_finger(room: Driver, kitted: Path) -> None:
    """Name and pieces are written faster than the worker answers; each builds on the one before."""
    row = room.app.shell.rooms.room("kit")
    row.make_set()
    row.write_set_name("Pool")
    row.choose_for_set(["m"])
    row.choose_for_set(["m", "r"])
    room.idle()
    room.idle()
    logbook = Logbook.open(kitted)
    pool = next(each for each in logbook.kit.view(TODAY).sets if each.name == "Pool")
    assert pool.item_ids == ("m", "r")
    logbook.close()

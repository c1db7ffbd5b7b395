"""Choosing several dives in the Logbook room, and what is done with them: with real touches."""

from __future__ import annotations

from pathlib import Path

import pytest
from driver import SIZES, Driver, OpenApp
from logbook_of_trips import listed, logbook_of_trips, look_for, row_of, rows, settle

from logbook_app.logbook import Logbook


@pytest.fixture(params=["tablet", "phone"])
def room(request: pytest.FixtureRequest, open_app: OpenApp, tmp_path: Path) -> Driver:
    """The Logbook room while dives are chosen."""
    driver = open_app(logbook_of_trips(tmp_path), size=SIZES[request.param])
    driver.tap(test_id="rail-logbook")
    settle(driver)
    driver.tap(test_id="choose")
    driver.frames(3)
    return driver


def choose(driver: Driver, *ids: str) -> None:
    """Touch the rows of some dives."""
    for dive_id in ids:
        driver.tap(row_of(driver, dive_id))
    settle(driver)


def kept(driver: Driver) -> dict[str, tuple[str, ...]]:
    """Return the dives that are in the logbook, with their tags."""
    answers: list[dict[str, tuple[str, ...]]] = []
    driver.app.ask(lambda logbook: {dive.id[0]: dive.tags for dive in logbook.dives()}, then=answers.append)
    driver.until(lambda: answers)
    return answers[0]


def test_rows_are_chosen_and_let_go_by_a_touch(room: Driver) -> None:
    """A box says which; nothing opens; Done ends it and forgets."""
    assert room.find(test_id="chosen-count").text == "Touch the dives you want."
    choose(room, "f", "e")
    assert room.find(test_id="chosen-count").text == "2 dives chosen"
    assert [row.words.mark for row in rows(room)[:2]] == ["on", "on"]
    choose(room, "f")
    assert [row.words.mark for row in rows(room)[:2]] == ["off", "on"]
    assert room.app.shell.rooms.current == "logbook"
    room.tap(test_id="choose")
    settle(room)
    assert not room.find_all(test_id="chosen-count")
    assert rows(room)[0].words.mark == ""


def test_all_that_are_listed_can_be_chosen_and_none(room: Driver) -> None:
    room.tap(test_id="choose-all")
    settle(room)
    assert room.find(test_id="chosen-count").text == "6 dives chosen"
    assert room.find(test_id="choose-all").text == "None"
    room.tap(test_id="choose-all")
    settle(room)
    assert room.find(test_id="chosen-count").text == "Touch the dives you want."


def test_a_heading_chooses_its_group(room: Driver) -> None:
    """A stroke in its box where some of it are chosen."""
    room.app.shell.rooms.room("logbook").list_by("grouping", "trip")
    settle(room)
    choose(room, "d")
    room.app.shell.rooms.room("logbook")._list.bring_into_view(2)
    room.frames(3)
    assert row_of(room, "Sorvane").words.mark == "off"
    choose(room, "c")
    assert row_of(room, "Sorvane").words.mark == "part"
    choose(room, "Sorvane")
    assert row_of(room, "Sorvane").words.mark == "on"
    assert room.find(test_id="chosen-count").text == "4 dives chosen"


def test_chosen_are_deleted_together_and_undo_brings_all_back(room: Driver) -> None:
    choose(room, "f", "e")
    room.tap(test_id="choose-delete")
    settle(room)
    assert listed(room) == "d c b a"
    assert room.says("2 dives deleted.")
    room.tap(test_id="undo")
    settle(room)
    settle(room)
    assert listed(room) == "f e d c b a"
    assert room.says("2 dives back in the logbook.")


def test_chosen_get_a_tag_and_lose_one_in_one_change(room: Driver) -> None:
    choose(room, "d", "c")
    room.tap(test_id="choose-tag")
    settle(room)
    assert row_of(room, "wreck").words.time == "on 1 of 2"
    assert row_of(room, "wreck").words.mark == "part"
    room.tap(row_of(room, "wreck"))
    room.tap(row_of(room, "wreck"))
    assert row_of(room, "wreck").words.mark == "off"
    room.tap(test_id="new-tag")
    room.type("night")
    room.tap(test_id="add-tag")
    assert row_of(room, "night").words.mark == "on"
    room.tap(test_id="change-tags")
    settle(room)
    assert (kept(room)["c"], kept(room)["d"]) == (("night",), ("night",))
    assert room.says("Tags of 2 dives changed.")
    room.tap(test_id="undo")
    settle(room)
    assert (kept(room)["c"], kept(room)["d"]) == ((), ("wreck",))


def test_tags_that_are_left_alone_change_nothing(room: Driver) -> None:
    choose(room, "d")
    room.tap(test_id="choose-tag")
    settle(room)
    assert room.find(test_id="change-tags").disabled
    room.tap(row_of(room, "wreck"))
    room.tap(test_id="leave-tags")
    settle(room)
    assert kept(room)["d"] == ("wreck",)
    assert room.find(test_id="chosen-count").text == "1 dive chosen"


@pytest.mark.parametrize("form", ["uddf", "csv", "json", "pdf"])
def test_chosen_are_exported_in_each_form(room: Driver, tmp_path: Path, form: str) -> None:
    """The file lies beside the logbook, and holds those dives and no others."""
    choose(room, "f", "e")
    room.tap(test_id="choose-export")
    room.frames(3)
    room.tap(test_id=f"export-{form}")
    path = tmp_path / f"2 dives 2026-11-14.{form}"
    room.until(lambda: room.says(f"2 dives written to {path}"))
    if form == "pdf":
        assert path.read_bytes().startswith(b"%PDF")
        return
    again = Logbook.open(tmp_path / "again.leadline")
    assert not again.import_files([path]).problems or form == "csv"  # a list says that it holds less
    assert {dive.max_depth_m for dive in again.dives()} == {40.0, 41.0}
    again.close()


def test_export_can_be_left(room: Driver) -> None:
    choose(room, "f")
    room.tap(test_id="choose-export")
    room.frames(3)
    room.tap(test_id="export-not")
    room.frames(3)
    assert room.find(test_id="choose-export")


def test_choosing_outlives_another_search(room: Driver) -> None:
    """What was chosen stays chosen where it is not listed, and is counted."""
    choose(room, "e")
    room.app.shell.rooms.room("logbook").want({"text": "kelp"})
    settle(room)
    choose(room, "f")
    assert room.find(test_id="chosen-count").text == "2 dives chosen"


def test_back_ends_the_choosing(room: Driver) -> None:
    choose(room, "f")
    room.press_back()
    settle(room)
    assert not room.find_all(test_id="chosen-count")
    assert room.app.shell.rooms.current == "logbook"


@pytest.mark.parametrize("text_scale", [1.0, 2.0])
def test_choosing_fits_its_window(open_app: OpenApp, tmp_path: Path, text_scale: float) -> None:
    driver = open_app(logbook_of_trips(tmp_path), text_scale=text_scale)
    driver.tap(test_id="rail-logbook")
    look_for(driver, "kelp")
    driver.tap(test_id="choose")
    choose(driver, "f")
    for _ in driver.at_each_size():
        assert driver.misfits() == []
    driver.resize(*SIZES["tablet"])
    driver.tap(test_id="choose-export")
    for _ in driver.at_each_size():
        assert driver.misfits() == []
    driver.resize(*SIZES["tablet"])
    driver.tap(test_id="export-not")
    driver.tap(test_id="choose-tag")
    settle(driver)
    for _ in driver.at_each_size():
        assert driver.misfits() == []


def test_back_from_the_forms_of_export_keeps_what_is_chosen(room: Driver) -> None:
    choose(room, "f", "e")
    room.tap(test_id="choose-export")
    settle(room)
    room.press_back()
    settle(room)
    assert room.find(test_id="chosen-count").text == "2 dives chosen"
    assert room.find_all(test_id="choose-delete")
    room.press_back()
    settle(room)
    assert not room.find_all(test_id="chosen-count")

"""Every field of the record is corrected with a finger, where it stands, at every size; and taken back."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from correcting import (
    STEPS,
    asked,
    dive_numbered,
    edit,
    open_page,
    press,
    save,
    touch,
    weekend_and_two_by_hand,
    write,
)
from driver import ON_THE_DOCK, SIZES, Driver, OpenApp

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Environment, Role, Site, Water
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import AIR, BreathingGas

Hand = Callable[[Driver], None]


@pytest.fixture(scope="session")
def ready_logbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return weekend_and_two_by_hand(tmp_path_factory.mktemp("correcting") / "ready.leadline")


@pytest.fixture
def logbook_path(ready_logbook: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(ready_logbook, tmp_path / "correcting.leadline"))


def number(field: str, keys: str) -> Hand:
    """Type a number on the pad in place of what is there."""

    def by_hand(page: Driver) -> None:
        edit(page, field)
        press(page, keys)

    return by_hand


def words(field: str, text: str) -> Hand:
    def by_hand(page: Driver) -> None:
        edit(page, field)
        write(page, "panel-text", text)
        save(page)

    return by_hand


def chip(field: str, chip_id: str) -> Hand:
    def by_hand(page: Driver) -> None:
        edit(page, field)
        touch(page, chip_id)
        page.wait(0.2)

    return by_hand


def start(page: Driver) -> None:
    """Another day, another time, two hours ahead of UTC."""
    edit(page, "began_at")
    touch(page, "day-yesterday")
    touch(page, "field-began_time")
    press(page, "0915")
    touch(page, "field-utc_offset_min")
    press(page, "2")
    save(page)


def cylinder(page: Driver) -> None:
    """Air, larger, from 200 to 60 bar, with a name."""
    edit(page, "cylinder.0")
    touch(page, "gas-air")
    touch(page, "field-volume_l-more")
    touch(page, "field-start_bar-more")
    touch(page, "field-end_bar")
    press(page, "60")
    write(page, "cylinder-name", "steel")
    save(page)


def another_cylinder(page: Driver) -> None:
    """As the last dive's, but for its oxygen."""
    edit(page, "cylinder.new")
    touch(page, "gas-nitrox")
    touch(page, "field-oxygen-more")
    save(page)


def no_cylinder(page: Driver) -> None:
    edit(page, "cylinder.0")
    touch(page, "remove-cylinder")
    page.wait(0.2)


def new_site(page: Driver) -> None:
    edit(page, "site")
    touch(page, "way-new")
    write(page, "site-name", "Pike Pier")
    write(page, "site-region", "Nordmark")
    touch(page, "site-water-sea")
    touch(page, "field-elevation_m-more")
    for field, keys in (("latitude_deg", "46.5"), ("longitude_deg", "7.25")):
        touch(page, f"field-{field}")
        press(page, keys)
    save(page)


def environments(page: Driver) -> None:
    """A mountain lake at night."""
    edit(page, "environments")
    touch(page, "answer-altitude")
    touch(page, "answer-night")
    save(page)


FIELDS: dict[str, tuple[Hand, dict[str, Any]]] = {
    "number": (number("number", "77"), {"number": 77}),
    "start": (
        start,
        {"began_at": datetime(2026, 11, 13, 7, 15, 0, tzinfo=UTC), "utc_offset_min": 120},
    ),
    "duration": (number("duration_min", "51"), {"duration_min": 51.0}),
    "greatest depth": (number("max_depth_m", "23.4"), {"max_depth_m": 23.4}),
    "mean depth": (number("mean_depth_m", "8.5"), {"mean_depth_m": 8.5}),
    "known site": (chip("site", "site-Heron Ledge"), {}),
    "no site": (chip("site", "site-Otter Steps"), {"site": None, "water": Water.RECORDER}),
    "new site": (
        new_site,
        {
            "site": Site.named(
                "Pike Pier",
                region="Nordmark",
                water=Water.SEA,
                elevation_m=0.0,
                latitude_deg=46.5,
                longitude_deg=7.25,
            ),
            "water": Water.SEA,
        },
    ),
    "water": (chip("water", "answer-sea"), {"water": Water.SEA}),
    "elevation": (number("elevation_m", "430"), {"elevation_m": 430.0}),
    "surface pressure": (number("surface_bar", "0.965"), {"surface_bar": 0.965}),
    "trip": (words("trip", "Gannock week"), {"trip": "Gannock week"}),
    "diver": (words("diver", "Tom"), {"diver": "Tom"}),
    "buddies": (words("buddies", "Tom, Ada"), {"buddies": ("Imke R.", "Tom", "Ada")}),
    "supervised by": (words("supervised_by", "Mara"), {"supervised_by": "Mara"}),
    "role": (chip("role", "answer-leading"), {"role": Role.LEADING}),
    "environments": (
        environments,
        {"environments": (Environment.NIGHT, Environment.ALTITUDE)},
    ),
    "cylinder": (cylinder, {"cylinders": (Cylinder(AIR, 12.5, 200.0, 60.0, "steel"),)}),
    "another cylinder": (
        another_cylinder,
        {
            "cylinders": (
                Cylinder(BreathingGas(0.32), 12.0),
                Cylinder(BreathingGas(0.33), 12.0),
            )
        },
    ),
    "no cylinder": (no_cylinder, {"cylinders": ()}),
    "weights": (number("weights_kg", "6.5"), {"weights_kg": 6.5}),
    "suit": (words("suit", "7 mm"), {"suit": "7 mm"}),
    "water temperature": (number("lowest_temperature_c", "9.5"), {"lowest_temperature_c": 9.5}),
    "air temperature": (number("air_temperature_c", "14"), {"air_temperature_c": 14.0}),
    "visibility": (number("visibility_m", "8"), {"visibility_m": 8.0}),
    "current": (words("current", "weak"), {"current": "weak"}),
    "conditions": (words("conditions", "calm"), {"conditions": "calm"}),
    "purpose": (words("purpose", "training"), {"purpose": "training"}),
    "rating": (chip("rating", "answer-8"), {"rating": 8}),
    "tags": (words("tags", "night, wreck"), {"tags": ("night", "wreck")}),
    "notes": (words("notes", "Two pike."), {"notes": "Two pike."}),
}
SIZE_OF = {name: list(SIZES)[place % len(SIZES)] for place, name in enumerate(FIELDS)}


@pytest.mark.parametrize("name", FIELDS)
def test_a_field_is_changed_where_it_stands_and_taken_back(
    open_app: OpenApp, logbook_path: Path, name: str
) -> None:
    """With a finger alone but for words; each field at one of the sizes, so that all are driven."""
    page = open_page(open_app(logbook_path, size=SIZES[SIZE_OF[name]]), 216)
    before = dive_numbered(page, 216)
    by_hand, changed = FIELDS[name]
    by_hand(page)
    after = asked(page, lambda logbook: logbook.dive(before.id))
    expected = replace(before, **changed) if changed else after
    assert after == expected
    assert after != before
    assert not page.find_all(role="FieldPanel")
    assert len({line.change for line in asked(page, lambda logbook: logbook.history(before.id))}) == 2
    page.tap(test_id="undo")
    page.idle()
    assert asked(page, lambda logbook: logbook.dive(before.id)) == before


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", ["start", "new site", "cylinder"])
def test_the_larger_sheets_work_at_every_size(
    open_app: OpenApp, logbook_path: Path, name: str, size: str
) -> None:
    page = open_page(open_app(logbook_path, size=SIZES[size]), 216)
    before = dive_numbered(page, 216)
    by_hand, changed = FIELDS[name]
    by_hand(page)
    assert asked(page, lambda logbook: logbook.dive(before.id)) == replace(before, **changed)


@pytest.fixture
def page(open_app: OpenApp, logbook_path: Path) -> Driver:
    return open_page(open_app(logbook_path), 216)


def test_one_touch_opens_a_number_and_the_page_shows_it_at_once(page: Driver) -> None:
    touch(page, "edit-weights_kg")
    page.tap(test_id="key-6")
    page.tap(test_id="key-next")
    page.idle()
    page.frames(3)
    assert page.find(test_id="edit-weights_kg").value == "6 kg"
    assert page.says("Weights: changed.")


def test_clearing_a_number_means_not_written_down(page: Driver) -> None:
    number("weights_kg", "6")(page)
    edit(page, "weights_kg")
    page.tap(test_id="key-clear")
    press(page, "")
    assert dive_numbered(page, 216).weights_kg is None


@pytest.mark.parametrize("field", ["duration_min", "max_depth_m"])
def test_what_a_dive_needs_cannot_be_cleared(page: Driver, field: str) -> None:
    before = dive_numbered(page, 216)
    edit(page, field)
    page.tap(test_id="key-clear")
    press(page, "")
    assert page.find_all(role="FieldPanel")
    assert dive_numbered(page, 216) == before


def test_a_value_out_of_range_says_so_and_is_not_kept(page: Driver) -> None:
    before = dive_numbered(page, 216)
    edit(page, "max_depth_m")
    press(page, "400")
    assert page.find(test_id="pad-trouble").text == "Greatest depth: 1 to 350 m."
    assert dive_numbered(page, 216) == before


def test_a_contradiction_is_refused_in_a_sentence_on_the_sheet(page: Driver) -> None:
    before = dive_numbered(page, 216)
    edit(page, "mean_depth_m")
    press(page, "20")
    assert "mean depth is below the greatest depth" in page.find(test_id="panel-trouble").text
    assert dive_numbered(page, 216) == before
    page.tap(test_id="key-clear")
    press(page, "8")
    assert dive_numbered(page, 216).mean_depth_m == 8.0


def test_pressures_that_contradict_one_another_are_refused(page: Driver) -> None:
    edit(page, "cylinder.0")
    for field, keys in (("start_bar", "60"), ("end_bar", "200")):
        touch(page, f"field-{field}")
        press(page, keys)
    save(page)
    assert "end pressure is above the start pressure" in page.find(test_id="panel-trouble").text


def test_closing_or_going_back_leaves_the_record_as_it_was(page: Driver) -> None:
    before = dive_numbered(page, 216)
    edit(page, "weights_kg")
    page.tap(test_id="key-6")
    page.tap(test_id="panel-close")
    edit(page, "max_depth_m")
    page.tap(test_id="key-9")
    page.press_back()
    assert not page.find_all(role="FieldPanel")
    assert page.app.shell.rooms.current == "dive"
    assert dive_numbered(page, 216) == before


def test_time_and_depths_of_a_recorded_dive_follow_it_and_say_so(
    open_app: OpenApp, logbook_path: Path
) -> None:
    page = open_page(open_app(logbook_path), 214)
    for field in ("duration_min", "max_depth_m"):
        box = page.find(test_id=f"edit-{field}")
        assert box.detail == "follows the recording"
        assert not hasattr(box, "state")  # nothing to touch
    number("weights_kg", "9")(page)
    start(page)
    assert dive_numbered(page, 214).utc_offset_min == 120


def test_a_value_that_is_shown_rounded_is_not_kept_so(open_app: OpenApp, logbook_path: Path) -> None:
    logbook = Logbook.open(logbook_path, now=lambda: ON_THE_DOCK)
    dive = next(dive for dive in logbook.dives() if dive.number == 216)
    logbook.change_dive(dive.id, max_depth_m=13.04)
    logbook.close()
    page = open_page(open_app(logbook_path), 216)
    number("max_depth_m", "")(page)
    assert dive_numbered(page, 216).max_depth_m == 13.04


@pytest.mark.parametrize("scope", ["here", "everywhere"])
def test_a_site_is_corrected_for_this_dive_or_for_all_there(page: Driver, scope: str) -> None:
    edit(page, "site")
    touch(page, "way-correct")
    write(page, "site-region", "Nordmark")
    assert page.says("All 2 dives there")
    touch(page, f"scope-{scope}")
    save(page)
    corrected = replace(STEPS, region="Nordmark")
    assert dive_numbered(page, 216).site == corrected
    assert dive_numbered(page, 215).site == (corrected if scope == "everywhere" else STEPS)
    page.tap(test_id="undo")
    page.idle()
    assert [dive_numbered(page, each).site for each in (215, 216)] == [STEPS, STEPS]


def test_a_text_of_the_file_has_a_readable_name_and_can_be_changed(
    open_app: OpenApp, logbook_path: Path
) -> None:
    logbook = Logbook.open(logbook_path, now=lambda: ON_THE_DOCK)
    dive = next(dive for dive in logbook.dives() if dive.number == 215)
    logbook.keep_dives([replace(dive, extra={"uddf:thermalcomfort": "cold", "uddf:site.density": "1004"})])
    logbook.close()
    page = open_page(open_app(logbook_path), 215)
    box = page.find(test_id="edit-extra.uddf:thermalcomfort")
    assert (box.label, box.value) == ("Comfort", "cold")
    assert not hasattr(page.find(test_id="edit-extra.uddf:site.density"), "state")
    words("extra.uddf:thermalcomfort", "comfortable")(page)
    assert dive_numbered(page, 215).extra["uddf:thermalcomfort"] == "comfortable"


def test_numbers_are_asked_for_in_the_divers_units(open_app: OpenApp, logbook_path: Path) -> None:
    """Source of the factor: 1 ft = 0.3048 m, exact (international yard and pound agreement of 1959)."""
    logbook = Logbook.open(logbook_path, now=lambda: ON_THE_DOCK)
    logbook.change_settings(replace(logbook.settings(), units="imperial"))
    logbook.close()
    page = open_page(open_app(logbook_path), 216)
    number("max_depth_m", "50")(page)
    assert dive_numbered(page, 216).max_depth_m == pytest.approx(15.24)


def test_the_gas_is_checked_against_the_depth_of_the_dive(open_app: OpenApp, logbook_path: Path) -> None:
    """Common practice, no source, for the limit of 1.40 bar."""
    logbook = Logbook.open(logbook_path, now=lambda: ON_THE_DOCK + timedelta(days=1))
    dive = next(dive for dive in logbook.dives() if dive.number == 216)
    logbook.change_dive(dive.id, max_depth_m=40.0)
    logbook.close()
    page = open_page(open_app(logbook_path), 216)
    edit(page, "cylinder.0")
    assert "over your limit of 1.40 bar" in page.find(test_id="gas-caution").text


@pytest.mark.parametrize("text_scale", [1.0, 2.0])
@pytest.mark.parametrize("field", ["max_depth_m", "began_at", "site", "cylinder.0"])
def test_the_sheet_fits_every_window(
    open_app: OpenApp, logbook_path: Path, field: str, text_scale: float
) -> None:
    page = open_page(open_app(logbook_path, text_scale=text_scale), 216)
    edit(page, field)
    for _size in page.at_each_size():
        assert page.misfits() == []


@pytest.mark.parametrize("field", ["began_at", "notes"])
def test_the_phone_is_turned_while_a_recorded_dive_is_corrected(
    open_app: OpenApp, logbook_path: Path, field: str
) -> None:
    """A chart that has no width for a moment draws nothing then, and all of itself afterwards."""
    page = open_page(open_app(logbook_path, size=SIZES["phone"]), 214)
    edit(page, field)
    for size in ((640, 360), SIZES["phone"]):
        page.resize(*size)
        page.wait(0.2)
        assert page.misfits() == []
        assert page.find_all(role="FieldPanel")
    assert page.find(test_id="chart").frame is not None


def test_a_long_text_that_is_offered_goes_on_in_the_next_line(open_app: OpenApp, logbook_path: Path) -> None:
    """What was written on other dives may be whole sentences; each can be read and touched."""
    said = "Long swell from the west, easy between the waves, and a cold wind against it all afternoon."
    logbook = Logbook.open(logbook_path, now=lambda: ON_THE_DOCK)
    dive = next(dive for dive in logbook.dives() if dive.number == 215)
    logbook.keep_dives([replace(dive, conditions=said)])
    logbook.close()
    page = open_page(open_app(logbook_path, size=SIZES["phone"]), 216)
    edit(page, "conditions")
    assert page.misfits() == []
    touch(page, f"word-{said}")
    assert dive_numbered(page, 216).conditions == said

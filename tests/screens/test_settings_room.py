"""The Settings room: a touch changes a figure at once, and what cannot be is refused in a sentence."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from driver import ON_THE_DOCK, Driver, OpenApp

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.diver_settings import DiverSettings
from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.problems import LogbookError, RefusedRecord
from logbook_app.dive.record import Site
from logbook_app.logbook import Logbook
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.screens.settings_steps import STEPPABLE, said, stepped
from logbook_app.screens.settings_words import never_shared
from logbook_app.screens.widgets.date_time_entry import month_days
from tests.dive.strategies import plain_dive


@pytest.fixture
def settings_room(app: Driver) -> Driver:
    """The app with the Settings room open."""
    app.tap(test_id="rail-settings")
    app.idle()
    return app


def test_defaults_are_said(settings_room: Driver) -> None:
    """40/85 is the default of the project's own conventions."""
    assert settings_room.find(test_id="gf-low").text == "40 %"
    assert settings_room.find(test_id="gf-high").text == "85 %"
    assert settings_room.find(test_id="ascent").text == "10 m/min"
    assert settings_room.find(test_id="ppo2").text == "1.4 bar"


def test_a_touch_of_plus_is_kept(settings_room: Driver, tmp_path: Path) -> None:
    """There is nothing to save: another program that opens the file finds the new factor."""
    settings_room.tap(test_id="gf-low-less")
    settings_room.tap(test_id="gf-low-less")
    settings_room.idle()
    assert settings_room.find(test_id="gf-low").text == "30 %"
    logbook = Logbook.open(tmp_path / "logbook.leadline")
    assert logbook.settings().factors == GradientFactors(0.30, 0.85)
    logbook.close()


def test_a_low_factor_above_the_high_one_is_refused(settings_room: Driver) -> None:
    """The touch changes nothing and says why; the next good touch clears the sentence."""
    for _ in range(9):
        settings_room.tap(test_id="gf-low-more")
    assert settings_room.find(test_id="gf-low").text == "85 %"
    assert not settings_room.find_all(test_id="refusal")
    settings_room.tap(test_id="gf-low-more")
    assert settings_room.find(test_id="gf-low").text == "85 %"
    assert "above the high one" in settings_room.find(test_id="refusal").text
    settings_room.tap(test_id="gf-low-less")
    assert settings_room.find(test_id="gf-low").text == "80 %"
    assert not settings_room.find_all(test_id="refusal")


def test_fast_fingers_lose_no_touch(settings_room: Driver, tmp_path: Path) -> None:
    """Touches come faster than the worker writes: a late answer must not take one back."""
    for _ in range(6):
        settings_room.find(test_id="gf-high-less").trigger_action(0)
        settings_room.frames(1)
    settings_room.idle()
    settings_room.idle()
    assert settings_room.find(test_id="gf-high").text == "55 %"
    logbook = Logbook.open(tmp_path / "logbook.leadline")
    assert logbook.settings().factors.high == pytest.approx(0.55)
    logbook.close()


def test_a_choice_that_cannot_be_kept_is_taken_back(settings_room: Driver) -> None:
    """Where the disk refuses, the page shows what holds and the bar says why."""

    def refuse(logbook: Any) -> None:
        def full(_settings: DiverSettings) -> None:
            raise LogbookError("The disk is full. Free some space and try again.")

        logbook.change_settings = full

    settings_room.app.ask(refuse)
    settings_room.tap(test_id="gf-low-less")
    settings_room.idle()
    settings_room.idle()
    assert settings_room.find(test_id="gf-low").text == "40 %"
    assert settings_room.says("The disk is full.")


def test_imperial_units_reach_the_figures(open_app: OpenApp, tmp_path: Path) -> None:
    """Feet on the Surface room, without a restart; 60 ft is 18.288 m by the definition of the foot."""
    path = tmp_path / "dived.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    began = ON_THE_DOCK - timedelta(hours=3)
    logbook.add_by_hand(HandEntry(began_local=began, duration_min=40, max_depth_m=18.288))
    logbook.close()
    app = open_app(path)
    app.tap(test_id="rail-settings")
    app.idle()
    app.tap(app.bring_into_view(app.find(test_id="units-imperial")))
    app.idle()
    app.tap(test_id="rail-surface")
    app.idle()
    app.idle()
    assert "60 ft" in app.find(test_id="last-line").text.replace("\u00a0", " ")
    assert all(depth.endswith(" ft") for depth, _, _ in app.find(test_id="limits-table").rows)


def test_more_cautious_factors_shorten_the_no_stop_times(open_app: OpenApp) -> None:
    """A smaller high factor lowers the surfacing limit, so no depth can allow as long as before."""
    app = open_app()
    entry = HandEntry(began_local=ON_THE_DOCK - timedelta(hours=3), duration_min=40, max_depth_m=18)
    app.app.ask(lambda logbook: logbook.add_by_hand(entry)[1], then=app.app.changed)
    app.idle()
    app.idle()
    before = app.find(test_id="limits-table").rows
    app.tap(test_id="rail-settings")
    app.idle()
    app.tap(test_id="gf-high-less")
    app.tap(test_id="gf-high-less")
    app.idle()
    app.tap(test_id="rail-surface")
    app.idle()
    app.idle()
    assert app.says("40/75")
    after = app.find(test_id="limits-table").rows
    assert [_minutes(row) for row in after] < [_minutes(row) for row in before]
    assert all(_minutes(a) <= _minutes(b) for a, b in zip(after, before, strict=True))


def _minutes(row: tuple[str, str, str]) -> int:
    return int(row[1].split()[0])


def test_night_and_large_text_hold_at_once(settings_room: Driver) -> None:
    """Theme and size of text change under the finger that chose them."""
    title = settings_room.find(test_id="title")
    size_before = title.font_size
    settings_room.tap(settings_room.bring_into_view(settings_room.find(test_id="theme-night")))
    settings_room.tap(settings_room.bring_into_view(settings_room.find(test_id="text-size-1.3")))
    settings_room.idle()
    settings_room.idle()
    assert settings_room.app.look.theme.name == "night"
    assert title.font_size == pytest.approx(size_before * 1.3)


def test_the_room_says_what_figures_rest_on_and_where_the_file_lies(
    settings_room: Driver, tmp_path: Path
) -> None:
    """Model, sources, caution and the path of the logbook."""
    assert settings_room.says("ZH-L16C")
    assert settings_room.says("never advises a diver under water")
    assert "hyperbaric physician" in settings_room.find(test_id="caution").text
    assert settings_room.find(test_id="logbook-path").text == str(tmp_path / "logbook.leadline")


@pytest.mark.parametrize("text_scale", [1.0, 1.3, 2.0])
def test_the_room_fits(open_app: OpenApp, text_scale: float) -> None:
    """At every size of window: nothing clipped, nothing over anything, nothing too small to touch."""
    app = open_app(text_scale=text_scale)
    app.tap(test_id="rail-settings")
    app.idle()
    for _size in app.at_each_size():
        for where in (1.0, 0.5, 0.0):
            app.find(test_id="page").scroll_y = where
            app.frames(2)
            assert app.misfits() == []


@pytest.mark.parametrize("name", STEPPABLE)
def test_every_number_ends_at_its_limit_with_a_sentence(name: str) -> None:
    """Plus and minus lead to a limit in a finite number of touches, and there to a refusal."""
    for steps in (1, -1):
        with pytest.raises(RefusedRecord, match=r"\d"):
            _step_a_hundred_times(name, steps)


def _step_a_hundred_times(name: str, steps: int) -> None:
    settings = DiverSettings()
    for _ in range(100):
        settings = stepped(settings, name, steps)


@pytest.mark.parametrize("name", STEPPABLE)
def test_a_step_up_and_a_step_down_come_back(name: str) -> None:
    """Adding 0.05 eight times and taking it away must not leave 40.0000001 %."""
    settings = DiverSettings()
    there = stepped(settings, name, 1)
    assert there != settings
    assert stepped(there, name, -1) == settings
    assert said(there)[name] != said(settings)[name]


def test_another_language_is_spoken_at_once_and_at_the_next_start(open_app: OpenApp, tmp_path: Path) -> None:
    """The room is built again where it stands; the next first frame speaks before the logbook is open."""
    path = tmp_path / "logbook.leadline"
    app = open_app(path)
    app.tap(test_id="rail-settings")
    app.idle()
    app.tap(test_id="language-de")
    app.idle()
    assert app.app.shell.rooms.current == "settings"
    assert app.find(test_id="rail-surface").words == "Oberfläche"
    assert app.find(text="Sprache")
    app.stop()
    app = open_app(path, wait=False)
    assert app.find(test_id="rail-surface").words == "Oberfläche"
    app.idle()
    app.tap(test_id="rail-settings")
    app.idle()
    app.tap(test_id="language-system")
    app.idle()
    assert app.find(test_id="rail-surface").words == "Surface"


def test_what_can_be_undone_is_offered_in_the_language_that_is_spoken_now(settings_room: Driver) -> None:
    """A bar in the language of before would be the only one left in it."""
    undone: list[bool] = []
    settings_room.app.say("10 dives deleted.", undo=lambda: undone.append(True))
    settings_room.tap(settings_room.bring_into_view(settings_room.find(test_id="language-de")))
    settings_room.idle()
    assert settings_room.says("Das Letzte lässt sich noch rückgängig machen.")
    assert settings_room.find(test_id="undo").text == "Rückgängig"
    settings_room.tap(test_id="undo")
    assert undone
    settings_room.app.say("Nur gesagt.")
    settings_room.tap(settings_room.bring_into_view(settings_room.find(test_id="language-en")))
    settings_room.idle()
    assert not settings_room.says("Nur gesagt.")


def test_the_divers_name_is_kept_when_the_field_is_left(settings_room: Driver, tmp_path: Path) -> None:
    """With enter, or by going elsewhere; a name that cannot be is refused in its place."""
    field = settings_room.bring_into_view(settings_room.find(test_id="diver-name"))
    settings_room.tap(field)
    settings_room.type(" Hanne   Kuiper ")
    settings_room.tap(test_id="rail-surface")
    settings_room.idle()
    logbook = Logbook.open(tmp_path / "logbook.leadline")
    assert logbook.settings().name == "Hanne Kuiper"
    logbook.close()
    settings_room.tap(test_id="rail-settings")
    settings_room.idle()
    assert settings_room.find(test_id="diver-name").text == "Hanne Kuiper"
    settings_room.tap(settings_room.bring_into_view(settings_room.find(test_id="diver-name")))
    settings_room.type("x" * 80)
    settings_room.press_key(13, "enter")
    settings_room.frames(4)
    assert "60" in settings_room.find(test_id="name-refusal").text


def test_one_quantity_in_another_unit(settings_room: Driver, tmp_path: Path) -> None:
    """Feet on the gauge, bar in the cylinder: neither system is filled then."""
    settings_room.tap(settings_room.bring_into_view(settings_room.find(test_id="unit-depth-ft")))
    settings_room.idle()
    logbook = Logbook.open(tmp_path / "logbook.leadline")
    units = SpokenUnits(logbook.settings().units)
    logbook.close()
    assert (units.depth(18.288), units.pressure(200), units.temperature(9)) == ("60 ft", "200 bar", "9 °C")
    assert not settings_room.find(test_id="units-metric").chosen
    settings_room.tap(settings_room.bring_into_view(settings_room.find(test_id="units-imperial")))
    settings_room.idle()
    assert settings_room.find(test_id="unit-pressure-psi").chosen


def test_the_effect_of_the_factors_is_said_beside_the_usual_ones(settings_room: Driver) -> None:
    """A smaller high factor allows less time; both are shown, so that a diver sees what changed."""
    before = settings_room.find(test_id="factors-effect").text
    settings_room.tap(test_id="gf-high-less")
    settings_room.tap(test_id="gf-high-less")
    settings_room.idle()
    after = settings_room.find(test_id="factors-effect").text
    assert "With 40/85:" not in before
    limits = before.partition("stop: ")[2]
    assert after.endswith(f"With 40/85: {limits}")


def test_the_calendar_begins_the_week_as_chosen(settings_room: Driver) -> None:
    """Sunday the 1st of November 2026 leads a row where the week begins on Sunday."""
    first = date(2026, 11, 1)
    assert month_days(first, aligned=True, sunday_first=True)[0] == first
    assert month_days(first, aligned=True)[6] == first
    settings_room.tap(settings_room.bring_into_view(settings_room.find(test_id="week-sunday")))
    settings_room.idle()
    settings_room.idle()
    assert settings_room.app.sunday_first


def test_what_is_never_shared_is_shown_as_it_stands_in_the_last_dive() -> None:
    place = Site("heron", "Heron Ledge", latitude_deg=54.123456, longitude_deg=10.5)
    dive = plain_dive(site=place, notes="Pike under the ledge. " * 9, buddies=("Imke Rieselang",), rating=4)
    told = dict(never_shared(dive))
    assert told["Notes"] == "Pike under the ledge. Pike under the ledge. Pike under the…"
    assert told["Exact position"] == "54.1235, 10.5000"
    assert (told["Rating"], told["Trip"]) == ("4", "")
    assert all(value == "" for _, value in never_shared(None))

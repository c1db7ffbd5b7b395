"""Writing a dive by hand, with a finger: few taps, nothing lost, one sentence where something is wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from driver import ON_THE_DOCK, SIZES, Driver, OpenApp

from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.record import Site
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.screens.widgets.choice_chips import after_touch
from logbook_app.screens.widgets.gas_entry import gas_answers, gas_caution, what_gas_allows, with_share

MOST_TAPS = 12
COMMON_CASE = (
    *("rail-record", "field-max_depth_m", "key-2", "key-8", "key-next"),
    *("key-4", "key-1", "key-next", "gas-air", "save"),
)

AGAIN, CHIPS = ("as-last-dive",), ("gas-nitrox 36", "site-Heron Ledge", "buddy-Imke R.")


@pytest.fixture
def room(app: Driver) -> Driver:
    """The Record room of an empty logbook."""
    app.tap(test_id="rail-record")
    app.idle()
    return app


@pytest.fixture
def used_logbook(tmp_path: Path) -> Path:
    """A logbook with two dives written by hand on the days before."""
    path = tmp_path / "used.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    for days, gas, site in ((2, AIR, "Old Quarry"), (1, BreathingGas(0.36), "Heron Ledge")):
        logbook.add_by_hand(
            HandEntry(
                began_local=ON_THE_DOCK - timedelta(days=days),
                duration_min=40.0,
                max_depth_m=20.0,
                gas=gas,
                site=Site.named(site, elevation_m=412.0),
                buddies=("Imke R.", "Tom"),
                volume_l=12.0,
            )
        )
    logbook.close()
    return path


def touch(app: Driver, test_id: str) -> None:
    app.tap(app.bring_into_view(app.find(test_id=test_id)))


def tap_keys(app: Driver, keys: str) -> None:
    for key in keys:
        app.tap(test_id=f"key-{key}")


def fill_in(app: Driver, depth: str = "28", minutes: str = "41", gas: str = "air") -> None:
    touch(app, "field-max_depth_m")
    tap_keys(app, depth)
    app.tap(test_id="key-next")
    tap_keys(app, minutes)
    app.tap(test_id="key-next")
    touch(app, f"gas-{gas}")


def summary(app: Driver) -> str:
    return str(app.find(test_id="summary").text)


def only_dive(app: Driver) -> Any:
    (dive,) = asked(app, lambda logbook: logbook.dives())
    return dive


def asked(app: Driver, question: Callable[[Logbook], Any]) -> Any:
    answers: list[Any] = []
    app.app.ask(question, then=answers.append)
    app.until(lambda: answers)
    return answers[0]


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_a_dive_is_written_in_at_most_twelve_taps(open_app: OpenApp, size: tuple[int, int]) -> None:
    """From the Surface room to the dive in the logbook, at every size of window."""
    app = open_app(size=size)
    assert len(COMMON_CASE) <= MOST_TAPS
    for test_id in COMMON_CASE:
        app.tap(test_id=test_id)  # where it is: no scrolling in between
        app.idle()
    dive = only_dive(app)
    assert (dive.max_depth_m, dive.duration_min, dive.cylinders[0].gas) == (28.0, 41.0, AIR)
    assert dive.ended_at == ON_THE_DOCK.replace(second=0)
    assert dive.estimate


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
@pytest.mark.parametrize("the_rest", [AGAIN, CHIPS], ids=["again", "chips"])
def test_a_dive_like_the_last_one_needs_no_keyboard(
    open_app: OpenApp, used_logbook: Path, size: tuple[int, int], the_rest: tuple[str, ...]
) -> None:
    """Depth, time, gas, place and buddy in at most twelve taps; no field ever asks for a soft keyboard."""
    app = open_app(used_logbook, size=size)
    taps = ("rail-record", "field-max_depth_m", "key-2", "key-8", "key-next", "key-4", "key-1", "key-next")
    taps = (*taps, *the_rest, "save")
    assert len(taps) <= MOST_TAPS
    for test_id in taps:
        touch(app, test_id)
        app.idle()
        assert not any(getattr(widget, "focus", False) for widget in app.find_all(role="TextInput"))
    dive = asked(app, lambda logbook: logbook.dives())[-1]
    assert (dive.max_depth_m, dive.duration_min, dive.cylinders[0].gas) == (28.0, 41.0, BreathingGas(0.36))
    assert dive.site.name == "Heron Ledge"
    assert "Imke R." in dive.buddies


def test_what_is_written_stays_when_the_last_dive_is_taken_over(
    open_app: OpenApp, used_logbook: Path
) -> None:
    """One touch fills what is empty and changes nothing that the diver chose."""
    app = open_app(used_logbook)
    app.tap(test_id="rail-record")
    app.idle()
    assert app.find(test_id="as-last-words").text == "nitrox 36 · Heron Ledge · Imke R., Tom · 12 L"
    touch(app, "gas-air")
    touch(app, "buddy-Tom")
    touch(app, "as-last-dive")
    draft = app.find(role="RecordRoom").draft
    assert (draft.gas, draft.buddies, draft.site, draft.volume_l) == (AIR, ("Tom",), "Heron Ledge", 12.0)


def test_saving_leads_to_the_surface_and_can_be_undone(room: Driver) -> None:
    """One sentence with the number of the dive; Undo takes it out and puts the form back."""
    fill_in(room)
    assert summary(room).startswith("28 m for 41 min on air, ended 14:0")
    room.tap(test_id="save")
    room.until(lambda: room.app.shell.rooms.current == "surface")
    assert room.says("Dive 1 is in the logbook.")
    room.tap(test_id="undo")
    room.idle()
    assert room.app.shell.rooms.current == "record"
    assert asked(room, lambda logbook: logbook.dives()) == []
    assert room.find(test_id="field-max_depth_m").words == "28 m"


def test_a_second_touch_on_save_saves_nothing_twice(room: Driver) -> None:
    """A wet finger bounces."""
    fill_in(room)
    save = room.find(test_id="save")
    for _ in range(2):
        save.dispatch("on_release")  # faster than a finger: both before the worker can answer
    room.idle()
    room.idle()
    assert len(asked(room, lambda logbook: logbook.dives())) == 1


def test_save_goes_to_what_is_still_needed(room: Driver) -> None:
    """The button is never dead: it opens the pad on the first empty field."""
    room.tap(test_id="save")
    assert room.find(test_id="pad-value").text == "– m"
    tap_keys(room, "28")
    room.tap(test_id="key-close")
    room.tap(test_id="save")
    assert room.find(test_id="pad-value").text == "– min"
    assert summary(room) == "Still needed: dive time, gas."


def test_a_bad_value_is_said_beside_its_field_and_is_not_saved(room: Driver) -> None:
    """One calm sentence; the value stays to be mended; nothing reaches the logbook."""
    fill_in(room, depth="400")
    assert room.find(test_id="trouble-max_depth_m").text == "Greatest depth: 1 to 350 m."
    assert summary(room) == "Not ready to save. Greatest depth: 1 to 350 m."
    room.tap(test_id="save")
    room.idle()
    assert asked(room, lambda logbook: logbook.dives()) == []
    assert room.find(test_id="pad-value").text == "400 m"


def test_yesterday_asks_for_the_time(room: Driver) -> None:
    """Chip, time by the pad, and the summary says the day."""
    fill_in(room)
    touch(room, "day-yesterday")
    assert (
        room.find(test_id="trouble-start").text == "Give the time it began: a dive of another day needs it."
    )
    touch(room, "field-began_time")
    tap_keys(room, "1105")
    assert room.find(test_id="pad-value").text == "11:05"
    room.tap(test_id="key-next")
    assert "ended yesterday at 11:46" in summary(room)
    room.tap(test_id="save")
    room.until(lambda: room.app.shell.rooms.current == "surface")
    assert only_dive(room).began_local == datetime(2026, 11, 13, 11, 5, tzinfo=ON_THE_DOCK.tzinfo)


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_a_day_is_chosen_from_its_month(open_app: OpenApp, size: tuple[int, int]) -> None:
    """Back into another month; a day that has not come cannot be chosen."""
    app = open_app(size=size)
    app.tap(test_id="rail-record")
    app.idle()
    touch(app, "day-another")
    assert app.find(test_id="day-2026-11-15").disabled
    touch(app, "month-earlier")
    touch(app, "day-2026-10-03")
    assert app.find(test_id="day-another").text == "Sat 3 Oct 2026"
    assert not app.find_all(role="DayCell")


def test_last_gas_site_buddies_and_cylinder_are_chips(open_app: OpenApp, used_logbook: Path) -> None:
    """One touch each for what was so on the last dives."""
    app = open_app(used_logbook)
    app.tap(test_id="rail-record")
    app.idle()
    fill_in(app, gas="nitrox 36")
    for chip in ("site-Heron Ledge", "buddy-Imke R.", "volume-12"):
        touch(app, chip)
    app.tap(test_id="save")
    app.until(lambda: app.app.shell.rooms.current == "surface")
    dive = asked(app, lambda logbook: logbook.dives())[-1]
    assert dive.site.name == "Heron Ledge"
    assert dive.surface_elevation_m == 412.0
    assert dive.buddies == ("Imke R.",)
    assert dive.cylinders[0].gas == BreathingGas(0.36)
    assert dive.cylinders[0].volume_l == 12.0


def test_names_and_notes_are_written(room: Driver) -> None:
    """Words go into fields as wide as the page; the pad gives way to them."""
    fill_in(room)
    touch(room, "field-weights_kg")
    for test_id, words in (
        ("other-site", "Old Quarry"),
        ("other-buddies", "Ada, Tom V."),
        ("notes", "Silt."),
    ):
        touch(room, test_id)
        room.wait(0.3)
        room.type(words)
    assert not room.find_all(test_id="number-pad")
    room.tap(test_id="save")
    room.until(lambda: room.app.shell.rooms.current == "surface")
    dive = only_dive(room)
    assert (dive.site.name, dive.buddies, dive.notes) == ("Old Quarry", ("Ada", "Tom V."), "Silt.")


@pytest.mark.parametrize(
    "name", ["Ðorđe Łęcki", "Θαλασσινή Σπηλιά", "Подводный камень", "海の家", "מזח ישן", "الميناء القديم"]
)
def test_a_name_in_any_script_is_kept_as_it_is_written(room: Driver, name: str, tmp_path: Path) -> None:
    """Whether the letters of the app can draw it or not: in the logbook, and in what leaves it."""
    fill_in(room)
    touch(room, "other-site")
    room.wait(0.3)
    room.type(name)
    room.tap(test_id="save")
    room.until(lambda: room.app.shell.rooms.current == "surface")
    assert only_dive(room).site.name == name
    asked(room, lambda logbook: logbook.export(tmp_path / "out.json"))
    assert name in (tmp_path / "out.json").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["Ðorđe Łęcki", "Θαλασσινή Σπηλιά", "Подводный камень"])
def test_letters_of_three_scripts_are_drawn(app: Driver, name: str) -> None:
    """As the help page says: no letter of them looks like one that the typeface lacks."""
    from kivy.core.text import Label

    def drawn(letter: str) -> bytes:
        label = Label(text=letter, font_name="ui", font_size=32)
        label.refresh()
        return bytes(label.texture.pixels)

    lacking = drawn("海")
    assert lacking == drawn("家")  # the same empty box
    assert all(drawn(letter) != lacking for letter in name if letter.strip())


def test_steppers_step(room: Driver) -> None:
    """From nothing to a common value, then by steps that fit the quantity."""
    touch(room, "field-start_bar-more")
    touch(room, "field-start_bar-more")
    touch(room, "field-end_bar-more")
    touch(room, "field-end_bar-less")
    assert room.find(test_id="field-start_bar").words == "210 bar"
    assert room.find(test_id="field-end_bar").words == "40 bar"


def test_a_half_made_entry_survives_a_restart(open_app: OpenApp, tmp_path: Path, window: Driver) -> None:
    """Kept a moment after each touch, so that a flat battery takes nothing; gone once it is saved."""
    path = tmp_path / "logbook.leadline"
    app = open_app(path)
    app.tap(test_id="rail-record")
    app.idle()
    fill_in(app, depth="18.5", gas="air")
    touch(app, "day-yesterday")
    app.idle()
    window.stop()
    app = open_app(path)
    app.tap(test_id="rail-record")
    app.idle()
    assert app.find(test_id="field-max_depth_m").words == "18.5 m"
    assert app.find(test_id="gas-air").chosen
    assert app.find(test_id="day-yesterday").chosen
    touch(app, "day-today")
    app.tap(test_id="save")
    app.until(lambda: app.app.shell.rooms.current == "surface")
    assert asked(app, lambda logbook: logbook.draft()) == ""


def test_leaving_the_room_keeps_the_form(room: Driver) -> None:
    """Coming back shows what was written."""
    fill_in(room)
    room.tap(test_id="rail-surface")
    room.idle()
    room.tap(test_id="rail-record")
    room.idle()
    assert room.find(test_id="field-duration_min").words == "41 min"
    assert '"duration_min": 41.0' in asked(room, lambda logbook: logbook.draft())


def test_clearing_the_form_can_be_undone(room: Driver) -> None:
    """Destructive acts are undone, not confirmed."""
    fill_in(room)
    touch(room, "start-again")
    assert room.find(test_id="field-max_depth_m").words == ""
    room.tap(test_id="undo")
    assert room.find(test_id="field-max_depth_m").words == "28 m"


def test_a_mix_shows_what_it_allows_and_says_when_the_dive_was_too_deep(room: Driver) -> None:
    """Nitrox 50 at 28 m: 3.81 bar at 1.01325 bar surface and 10 m per bar, so 1.91 bar of oxygen."""
    fill_in(room, gas="nitrox")
    assert not room.find_all(test_id="gas-caution")
    touch(room, "field-oxygen")
    tap_keys(room, "50")
    room.tap(test_id="key-next")
    assert "greatest depth 17.8 m" in room.find(test_id="gas-allows").text
    assert "1.91 bar of oxygen" in room.find(test_id="gas-caution").text
    touch(room, "field-oxygen-less")
    assert room.find(test_id="field-oxygen").words == "49 %"


def test_imperial_divers_write_feet_and_psi(open_app: OpenApp, tmp_path: Path) -> None:
    """100 ft are 30.48 m exactly (foot of 1959); 3000 psi are 206.84 bar (pound-force and inch)."""
    path = tmp_path / "feet.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    logbook.change_settings(replace(logbook.settings(), units="imperial"))
    logbook.close()
    app = open_app(path)
    app.tap(test_id="rail-record")
    app.idle()
    fill_in(app, depth="100")
    touch(app, "field-start_bar-more")
    assert app.find(test_id="field-start_bar").words == "3000 psi"
    app.tap(test_id="save")
    app.until(lambda: app.app.shell.rooms.current == "surface")
    dive = only_dive(app)
    assert dive.max_depth_m == pytest.approx(30.48, abs=1e-9)
    assert dive.cylinders[0].start_bar == pytest.approx(206.84, abs=0.005)


@pytest.mark.parametrize("text_scale", [1.0, 1.3])
@pytest.mark.parametrize("own_mix", ["nitrox", "trimix"])
def test_the_whole_form_fits(open_app: OpenApp, used_logbook: Path, text_scale: float, own_mix: str) -> None:
    """Everything unfolded, at every size of window and text: nothing small, close or clipped."""
    app = open_app(used_logbook, text_scale=text_scale)
    app.tap(test_id="rail-record")
    app.idle()
    touch(app, f"gas-{own_mix}")
    touch(app, "day-another")
    for _size in app.at_each_size():
        app.wait(0.5)
        assert app.misfits() == []


# The gas without a window


def test_a_share_gives_way_to_the_other() -> None:
    """Oxygen and helium are never more than the whole."""
    assert with_share(BreathingGas(0.21, 0.35), "helium", 90.0) == BreathingGas(0.1, 0.9)
    assert with_share(BreathingGas(0.21, 0.35), "oxygen", 18.0) == BreathingGas(0.18, 0.35)


def test_what_a_gas_allows_is_rounded_towards_the_surface() -> None:
    """1.4 / 0.32 = 4.375 bar, less 1.01325 and times 10: 33.6175 m, so 33.6 m and 110 ft (110.29)."""
    assert "greatest depth 33.6 m" in what_gas_allows(BreathingGas(0.32), 1.4, "metric")
    assert "greatest depth 110 ft" in what_gas_allows(BreathingGas(0.32), 1.4, "imperial")


def test_too_little_oxygen_is_said() -> None:
    """Under 16 %: common practice, no source."""
    assert gas_caution(BreathingGas(0.10, 0.70), 80.0, 1.4, "metric").startswith("Under 16 % oxygen")
    assert gas_caution(AIR, 30.0, 1.4, "metric") == ""
    assert gas_caution(AIR, None, 1.4, "metric") == ""


def test_air_is_offered_once() -> None:
    """The gases of the last dives first, air always, no name twice."""
    answers = [answer for answer, _ in gas_answers([BreathingGas(0.32), AIR, BreathingGas(0.21)])]
    assert answers == ["nitrox 32", "air", "nitrox", "trimix"]


def test_chips_hold_one_or_several() -> None:
    """A single choice may be let go of only where that makes sense."""
    assert after_touch(["a"], "b", several=False, may_be_none=False) == ["b"]
    assert after_touch(["a"], "a", several=False, may_be_none=True) == []
    assert after_touch(["a", "b"], "a", several=True, may_be_none=False) == ["b"]

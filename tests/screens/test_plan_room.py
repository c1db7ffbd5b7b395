"""The Plan room: what the next dive allows as it begins later, a plan by touch, its card, what is kept."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from driver import ON_THE_DOCK, SIZES, Driver, OpenApp
from pypdf import PdfReader

from logbook_app.analysis.dive_plan import Leg, PlanConditions
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.hand_entry import HandEntry
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import AIR, BreathingGas

SIZE = pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)


@pytest.fixture
def dived(tmp_path: Path) -> Path:
    """A logbook with one dive on air, up for two hours."""
    path = tmp_path / "dived.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    began = ON_THE_DOCK - timedelta(hours=2, minutes=40)
    dive, _ = logbook.add_by_hand(
        HandEntry(
            began_local=began,
            duration_min=40,
            max_depth_m=18,
            gas=AIR,
            volume_l=12,
            start_bar=200,
            end_bar=80,
        )
    )
    logbook.change_dive(dive.id, mean_depth_m=12.0)
    logbook.close()
    return path


def enter(open_app: OpenApp, path: Path | None, size: tuple[int, int] = (1280, 800)) -> Driver:
    app = open_app(path, size=size)
    app.tap(test_id="rail-plan")
    settle(app)
    return app


def settle(app: Driver) -> None:
    app.idle()
    app.idle()
    app.until(lambda: room(app).sheet is not None and not room(app)._waiting)
    app.wait(0.2)


def room(app: Driver) -> Any:
    return app.app.shell.rooms.room("plan")


def touch(app: Driver, test_id: str) -> None:
    app.tap(app.bring_into_view(app.find(test_id=test_id)))
    settle(app)


def type_into(app: Driver, test_id: str, digits: str) -> None:
    touch(app, test_id)
    for digit in digits:
        app.tap(test_id=f"key-{digit}")
    app.tap(test_id="key-next")
    settle(app)


def no_stop(app: Driver) -> list[str]:
    return [row.no_stop for row in app.find(test_id="depth-table").rows]


def minutes(app: Driver) -> list[int]:
    return [int(words.split()[0]) for words in no_stop(app)]


def asked(path: Path, work: Any) -> Any:
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    answer = work(logbook)
    logbook.close()
    return answer


@SIZE
def test_limits_grow_as_the_dive_begins_later(open_app: OpenApp, dived: Path, size: tuple[int, int]) -> None:
    app = enter(open_app, dived, size)
    now = minutes(app)
    told = asked(dived, lambda logbook: logbook.limits(ON_THE_DOCK).rows)
    assert now == [int(row.no_stop_min) for row in told]
    touch(app, "begin-60-later")
    assert "in 1 h 00 min" in app.find(test_id="begins").text
    hour = minutes(app)
    assert hour > now
    assert all(after >= before for after, before in zip(hour, now, strict=True))
    touch(app, "begin-tomorrow")
    assert "Sun 09:00" in app.find(test_id="begins").text
    assert minutes(app) > hour
    touch(app, "begin-now")
    assert "Begins now" in app.find(test_id="begins").text


@SIZE
def test_a_finger_drags_time_forward(open_app: OpenApp, dived: Path, size: tuple[int, int]) -> None:
    app = enter(open_app, dived, size)
    now = minutes(app)
    line = app.find(test_id="time-track").ids.line
    x, y = line.to_window(line.x, line.center_y)
    app.drag_from(x + 4, y, line.width / 3, 0, frames=30)
    settle(app)
    assert room(app).hours_ahead == pytest.approx(12, abs=0.6)
    assert minutes(app) > now


def test_the_navy_table_stands_beside_it_and_says_where_it_has_no_answer(
    open_app: OpenApp, dived: Path
) -> None:
    app = enter(open_app, dived)
    table = app.find(test_id="depth-table")
    assert app.says("US Navy table, another model")
    assert {row.table.split()[-1] for row in table.rows} == {"min", "none"}
    touch(app, "next-gas-nitrox")
    assert {row.table for row in table.rows} == {"no answer"}
    assert "for air alone" in app.find(test_id="next-notes").text
    assert table.has_air
    assert table.rows[0].air_depth.endswith(" m")
    assert "beyond the gas" in no_stop(app)


def test_another_nitrox_by_its_share(open_app: OpenApp, dived: Path) -> None:
    app = enter(open_app, dived)
    touch(app, "next-gas-nitrox")
    type_into(app, "field-next-oxygen", "36")
    assert room(app).gas == BreathingGas(0.36)
    told = asked(dived, lambda logbook: logbook.limits(ON_THE_DOCK, BreathingGas(0.36)).rows)
    beyond = [row.beyond_gas for row in told]
    assert [words == "beyond the gas" for words in no_stop(app)] == beyond


def test_the_richest_mix_for_a_depth(open_app: OpenApp, dived: Path) -> None:
    app = enter(open_app, dived)
    assert app.find(test_id="best-words").text.startswith("Nitrox 34")
    touch(app, "best-depth-less")
    assert app.find(test_id="best-depth").text == "27 m"
    assert app.find(test_id="best-words").text.startswith("Nitrox 37")
    room(app).best_for_m = 81.0
    touch(app, "best-depth-more")
    assert app.find(test_id="best-words").text.startswith("None")


@SIZE
def test_a_plan_by_touch_is_the_plan_of_the_logbook(
    open_app: OpenApp, dived: Path, size: tuple[int, int]
) -> None:
    app = enter(open_app, dived, size)
    type_into(app, "field-leg-0-depth", "24")
    type_into(app, "field-leg-0-minutes", "15")
    touch(app, "add-leg")
    touch(app, "field-leg-1-minutes-more")
    legs = room(app).draft.legs
    assert legs == (Leg(24.0, 15.0), Leg(18.0, 11.0))
    made = asked(
        dived,
        lambda logbook: logbook.plan(legs, PlanConditions(ON_THE_DOCK, (Cylinder(AIR, 12.0, 200.0),))),
    )
    shown = room(app).sheet.lines
    assert [line.until for line in shown.steps][-1] == f"{round(made.run_time_min * 60) // 60}:" + (
        f"{round(made.run_time_min * 60) % 60:02d}"
    )
    assert shown.plan.analysis.load_end == pytest.approx(made.analysis.load_end, abs=0.01)
    app.bring_into_view(app.find(test_id="plan-gas"))
    assert "for the plan" in app.find(test_id="plan-gas").text
    app.bring_into_view(app.find(test_id="plan-chart"))
    assert app.find(test_id="plan-chart").section is shown.section
    assert app.find(test_id="caution").text.startswith("A reckoning at the desk, not advice under water")


def test_a_leg_is_taken_away_and_comes_back(open_app: OpenApp, dived: Path) -> None:
    app = enter(open_app, dived)
    touch(app, "add-leg")
    before = room(app).draft.legs
    touch(app, "leg-0-remove")
    assert room(app).draft.legs == before[1:]
    assert not app.find_all(test_id="leg-0-remove")
    app.tap(text="Undo", role="ButtonBehavior")
    settle(app)
    assert room(app).draft.legs == before


def test_cylinders(open_app: OpenApp, dived: Path) -> None:
    """The first is that of the last dive; a second with a richer gas is breathed on the way up."""
    app = enter(open_app, dived)
    assert room(app).sheet.held == (Cylinder(AIR, 12.0, 200.0),)
    touch(app, "add-cylinder")
    touch(app, "held-gas-nitrox")
    type_into(app, "field-held-oxygen", "50")
    type_into(app, "field-volume_l", "7")
    assert room(app).draft.cylinders[1] == Cylinder(BreathingGas(0.5), 7.0, 200.0)
    assert any(line.gas.startswith("nitrox\u00a050") for line in room(app).sheet.lines.steps)
    touch(app, "leg-0-from-1")
    assert room(app).draft.legs[0].cylinder == 1
    touch(app, "remove-cylinder")
    assert room(app).draft.legs[0].cylinder == 0
    assert len(room(app).draft.cylinders) == 1


def test_a_plan_that_cannot_be_is_refused_in_its_place(open_app: OpenApp, dived: Path) -> None:
    app = enter(open_app, dived)
    type_into(app, "field-leg-0-depth", "60")
    type_into(app, "field-leg-0-minutes", "1")
    refusal = app.bring_into_view(app.find(test_id="plan-refusal")).text
    assert "takes 3.0 min" in refusal
    assert not app.find_all(test_id="print-slate")
    type_into(app, "field-leg-0-minutes", "12")
    assert not app.find_all(test_id="plan-refusal")
    assert "It goes beyond 40 m." in app.find(test_id="beyond-training").text


def test_a_number_that_cannot_be_changes_nothing(open_app: OpenApp, dived: Path) -> None:
    app = enter(open_app, dived)
    touch(app, "field-leg-0-depth")
    for digit in "999":
        app.tap(test_id=f"key-{digit}")
    assert app.find(test_id="trouble-leg-0-depth").text == "Depth of the leg: 1 to 350 m."
    assert room(app).draft.legs[0].depth_m == 99.0  # the last that could be
    app.press_back()
    assert not app.find_all(test_id="number-pad")


def test_minute_volume_and_where_it_comes_from(open_app: OpenApp, dived: Path) -> None:
    app = enter(open_app, dived)
    usual = asked(dived, lambda logbook: logbook.usual_minute_volume_l_min())
    assert f"{usual:.1f} L/min: the median" in app.find(test_id="usual").text
    before = room(app).sheet.lines.plan.cylinders[0].needed_l
    type_into(app, "field-minute-volume", "40")
    assert "Yours" in app.find(test_id="usual").text
    assert room(app).sheet.lines.plan.cylinders[0].needed_l == pytest.approx(before * 40 / usual)


def test_an_empty_logbook_has_a_plan_too(open_app: OpenApp) -> None:
    app = enter(open_app, None)
    assert "No dive in the logbook shows it" in app.find(test_id="usual").text
    assert room(app).sheet.lines is not None
    assert app.find(test_id="next-facts").lines[0].value == "no dive yet"


def test_what_was_entered_is_there_after_a_restart(open_app: OpenApp, dived: Path) -> None:
    app = enter(open_app, dived)
    type_into(app, "field-leg-0-depth", "21")
    touch(app, "add-cylinder")
    type_into(app, "field-minute-volume", "17")
    entered = room(app).draft
    app.idle()
    app.stop()
    again = enter(open_app, dived)
    assert room(again).draft == entered
    touch(again, "plan-again")
    assert room(again).draft.legs == (Leg(18.0, 30.0),)
    again.tap(text="Undo", role="ButtonBehavior")
    settle(again)
    assert room(again).draft == entered


def test_the_card_lies_beside_the_logbook(open_app: OpenApp, dived: Path) -> None:
    app = enter(open_app, dived)
    touch(app, "print-slate")
    (card,) = dived.parent.glob("plan *.pdf")
    assert app.says("The card lies in")
    words = PdfReader(card).pages[0].extract_text()
    assert "Plan: 18.0 m" in words
    assert "Sat 14 Nov 2026, 14:07 (UTC+1)" in words


def test_a_plan_is_laid_over_the_dive_that_follows(open_app: OpenApp, dived: Path) -> None:
    """Kept by touch, seen on the pre-dive card, laid over the dive that a recorder brings, told below it."""
    from logbook_app.screens.widgets.words import Words

    app = enter(open_app, dived)
    touch(app, "keep-plan")
    app.idle()
    app.tap(test_id="rail-record")
    app.idle()
    touch(app, "pre-dive")
    app.idle()
    assert "from the surface and back" in app.find(test_id="card-planned").text
    recording = dived.with_name("after.csv")
    began = (ON_THE_DOCK + timedelta(minutes=5)).isoformat()
    recording.write_text(f"# began: {began}\ntime_s,depth_m\n0,0\n60,21\n1800,21\n1980,0\n")
    app.app.ask(lambda logbook: logbook.import_files([recording]))
    app.idle()
    dive = asked(dived, lambda logbook: logbook.last_dives(1)[0])
    app.app.open_dive(dive.id)
    app.idle()
    touch(app, "lay-over-plan")
    (chart,) = app.find_all(role="ChartCard")
    assert chart.other.max_depth_m == pytest.approx(18.0)
    words = f"Greatest depth: {SpokenUnits('metric').depth(3.0)} deeper than planned."
    assert any(words in each.text for each in app.app.shell.walk() if isinstance(each, Words))


def test_a_plan_kept_in_error_is_taken_back(open_app: OpenApp, dived: Path) -> None:
    app = enter(open_app, dived)
    touch(app, "keep-plan")
    app.idle()
    app.tap(test_id="undo")
    app.idle()
    assert asked(dived, lambda logbook: logbook.pre_dive.waiting()) is None


def test_a_dive_that_is_logged_changes_the_page(open_app: OpenApp, dived: Path) -> None:
    app = enter(open_app, dived)
    before = minutes(app)
    entry = HandEntry(
        began_local=ON_THE_DOCK - timedelta(minutes=35), duration_min=30, max_depth_m=24, gas=AIR
    )
    app.app.ask(lambda logbook: logbook.add_by_hand(entry)[1], then=app.app.changed)
    settle(app)
    assert minutes(app) < before


def test_feet(open_app: OpenApp, dived: Path) -> None:
    from dataclasses import replace

    asked(dived, lambda logbook: logbook.change_settings(replace(logbook.settings(), units="imperial")))
    app = enter(open_app, dived)
    assert app.find(test_id="depth-table").rows[0].depth == "40 ft"
    type_into(app, "field-leg-0-depth", "80")
    assert room(app).draft.legs[0].depth_m == pytest.approx(24.384)
    touch(app, "best-depth-more")
    assert app.find(test_id="best-depth").text == "110 ft"


def test_other_units_while_the_room_is_open(open_app: OpenApp, dived: Path) -> None:
    from dataclasses import replace

    app = enter(open_app, dived)
    app.app.ask(
        lambda logbook: logbook.change_settings(replace(logbook.settings(), units="imperial")),
        then=app.app.changed,
    )
    settle(app)
    touch(app, "field-leg-0-depth-more")
    assert app.find(test_id="field-leg-0-depth").words == "64 ft"


def test_a_gas_that_is_too_rich_for_its_leg_says_so_where_it_is_chosen(
    open_app: OpenApp, dived: Path
) -> None:
    app = enter(open_app, dived)
    type_into(app, "field-leg-0-depth", "30")
    touch(app, "cylinder-0")
    touch(app, "held-gas-nitrox")
    type_into(app, "field-held-oxygen", "40")
    assert "over your limit" in app.find(test_id="held-gas-caution").text
    app.bring_into_view(app.find(test_id="beyond-training"))
    assert "above 1.6 bar" in app.find(test_id="beyond-training").text

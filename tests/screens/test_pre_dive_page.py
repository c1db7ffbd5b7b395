"""The pre-dive card, with a finger: filled in, kept at once, given to the next dive, moved and taken off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from driver import ON_THE_DOCK, SIZES, Driver, OpenApp

from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.pre_dive_card import Fitness, KitCheck, PreDiveCard
from logbook_app.dive.record import Site
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import BreathingGas


@pytest.fixture
def dived(tmp_path: Path) -> Path:
    """A logbook with a dive of last week that has a card with a plan for Heron Ledge."""
    path = tmp_path / "dived.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    began = ON_THE_DOCK - timedelta(days=7)
    logbook.pre_dive.keep(
        PreDiveCard(
            begun_at=began - timedelta(minutes=30),
            utc_offset_min=60,
            site="Heron Ledge",
            contacts="Harbour office, channel 11",
            nearest_oxygen="In the boat, under the bench",
            plan="Up the ladder, oxygen, call.",
        )
    )
    logbook.add_by_hand(
        HandEntry(
            began_local=began,
            duration_min=40,
            max_depth_m=18,
            site=Site.named("Heron Ledge"),
            buddies=("Imke R.",),
        )
    )
    logbook.close()
    return path


def open_card(open_app: OpenApp, path: Path | None = None, **how: Any) -> Driver:
    app = open_app(path, **how)
    touch(app, "pre-dive")
    app.idle()
    return app


def touch(app: Driver, test_id: str) -> None:
    app.tap(app.bring_into_view(app.find(test_id=test_id)))


def asked(app: Driver, question: Callable[[Logbook], Any]) -> Any:
    answers: list[Any] = []
    app.app.ask(question, then=answers.append)
    app.until(lambda: answers)
    return answers[0]


def waiting(app: Driver) -> PreDiveCard:
    card = asked(app, lambda logbook: logbook.pre_dive.waiting())
    assert card is not None
    return card


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_a_card_is_filled_in_and_kept(open_app: OpenApp, dived: Path, size: tuple[int, int]) -> None:
    """Kit, gas to the tenth of a percent, fitness, buddy and plan, each kept as it is touched."""
    app = open_card(open_app, dived, size=size)
    touch(app, "card-site-Heron Ledge")
    app.idle()
    for check in KitCheck:
        touch(app, f"check-{check.value}")
    touch(app, "add-analysis")
    for key in "31.6":
        app.tap(test_id=f"key-{key}")
    app.tap(test_id="key-next")
    touch(app, "analyst-Imke R.")
    touch(app, "fitness-fit")
    touch(app, "card-buddy-Imke R.")
    app.idle()
    card = waiting(app)
    assert card.site == "Heron Ledge"
    assert set(card.kit_checked) == {check.value for check in KitCheck}
    (analysis,) = card.analyses
    assert analysis.gas == BreathingGas(0.316)
    assert analysis.by == "Imke R."
    assert abs(analysis.at - ON_THE_DOCK) < timedelta(minutes=1)
    assert card.fitness is Fitness.FIT
    assert card.checked_with == ("Imke R.",)
    assert card.nearest_oxygen == "In the boat, under the bench"  # taken over from the last card there
    assert "Taken over from the card of Sat 7 Nov 2026" in app.find(test_id="plan-from").text
    summary = app.find(test_id="card-summary").text
    assert "Not on the card yet" not in summary
    assert summary.startswith("It goes to your next dive that begins before Sun 15 Nov 2026, 14:0")


@pytest.mark.derived
def test_a_gas_says_how_deep_it_may_go(open_app: OpenApp, dived: Path) -> None:
    """1.4 bar / 0.32 = 4.375 bar, less 1.01325 bar, at 10 m a bar: 33.6175 m, told as 33.6 m."""
    app = open_card(open_app, dived)
    touch(app, "add-analysis")
    for key in "32":
        app.tap(test_id=f"key-{key}")
    app.tap(test_id="key-next")
    words = app.find(test_id="analysis-words-1").text
    assert words.startswith(
        "Nitrox 32: 32.0 % oxygen. Greatest depth 33.6 m at your limit of 1.40 bar of oxygen."
    )
    assert words.endswith("Analysed by the diver, 14:07.")
    touch(app, "field-helium")
    for key in "35":
        app.tap(test_id=f"key-{key}")
    app.tap(test_id="key-next")
    assert app.find(test_id="analysis-words-1").text.startswith("Trimix 32/35: 32.0 % oxygen, 35.0 % helium.")


def test_not_fit_says_what_follows(open_app: OpenApp) -> None:
    """And never that a dive is safe: no word of praise, whatever is ticked."""
    app = open_card(open_app)
    touch(app, "fitness-not fit")
    assert app.find(test_id="fitness-caution").text.startswith("Then leave this dive.")
    assert "makes no dive safe" in app.find(test_id="pre-dive-caution").text


def test_an_analysis_is_taken_off_and_put_back(open_app: OpenApp) -> None:
    """Undone, not confirmed; the second cylinder is a second analysis."""
    app = open_card(open_app)
    for keys in ("32", "50"):
        touch(app, "add-analysis")
        for key in keys:
            app.tap(test_id=f"key-{key}")
        app.tap(test_id="key-next")
    assert [each.gas.oxygen for each in waiting(app).analyses] == [0.32, 0.5]
    touch(app, "drop-analysis")
    assert [each.gas.oxygen for each in waiting(app).analyses] == [0.32]
    app.tap(test_id="undo")
    app.idle()
    assert [each.gas.oxygen for each in waiting(app).analyses] == [0.32, 0.5]


def test_the_card_goes_to_the_dive_that_follows(open_app: OpenApp, dived: Path) -> None:
    """Written by hand an hour later: the diver is told, and it stands on the page of the dive."""
    app = open_card(open_app, dived)
    touch(app, "check-valve")
    app.idle()
    app.leap(timedelta(hours=1))
    touch(app, "rail-record")
    app.idle()
    for test_id in (
        "field-max_depth_m",
        "key-1",
        "key-8",
        "key-next",
        "key-4",
        "key-0",
        "key-next",
        "gas-air",
        "save",
    ):
        touch(app, test_id)
    app.until(lambda: app.app.shell.rooms.current == "surface")
    assert app.says("Dive 2 is in the logbook, with its pre-dive card.")
    dive = asked(app, lambda logbook: logbook.dives())[-1]
    app.app.open_dive(dive.id)
    app.idle()
    app.idle()
    assert app.says("Cylinder valves open")
    touch(app, "card-off")
    app.idle()
    app.idle()
    assert not app.find_all(test_id="card-on-dive")
    app.tap(test_id="undo")
    app.idle()
    app.idle()
    assert app.find(test_id="card-on-dive")


def test_the_card_is_moved_to_another_dive_of_the_day(open_app: OpenApp, tmp_path: Path) -> None:
    """Two dives of one day: the second one is offered, and Undo brings the card back."""
    path = tmp_path / "two.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    logbook.pre_dive.keep(PreDiveCard(begun_at=ON_THE_DOCK - timedelta(hours=5), plan="Row ashore."))
    dives = [
        logbook.add_by_hand(
            HandEntry(began_local=ON_THE_DOCK - timedelta(hours=hours), duration_min=40, max_depth_m=18)
        )[0]
        for hours in (4, 2)
    ]
    logbook.close()
    app = open_app(path)
    app.app.open_dive(dives[0].id)
    app.idle()
    app.idle()
    touch(app, "card-move")
    touch(app, f"card-to-{dives[1].id}")
    app.idle()
    app.idle()
    assert [bool(dive.pre_dive) for dive in asked(app, lambda logbook: logbook.dives())] == [False, True]
    app.tap(test_id="undo")
    app.idle()
    assert [bool(dive.pre_dive) for dive in asked(app, lambda logbook: logbook.dives())] == [True, False]


def test_a_card_of_another_day_says_so(open_app: OpenApp, tmp_path: Path) -> None:
    """It is not given to a dive of today; a new one is begun with a touch, and that can be undone."""
    path = tmp_path / "old.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    logbook.pre_dive.keep(PreDiveCard(begun_at=ON_THE_DOCK - timedelta(days=3), plan="Row ashore."))
    logbook.close()
    app = open_card(open_app, path)
    assert "no dive of yours began within a day" in app.find(test_id="card-late").text
    touch(app, "new-card")
    assert not app.find(test_id="card-late").text if app.find_all(test_id="card-late") else True
    app.tap(test_id="undo")
    app.idle()
    assert waiting(app).plan == "Row ashore."


@pytest.mark.parametrize("text_scale", [1.0, 2.0])
def test_the_card_fits(open_app: OpenApp, dived: Path, text_scale: float) -> None:
    """Everything unfolded at every size: nothing small, close, clipped or over anything."""
    app = open_card(open_app, dived, text_scale=text_scale)
    touch(app, "card-site-Heron Ledge")
    app.idle()
    touch(app, "add-analysis")
    for key in "32":
        app.tap(test_id=f"key-{key}")
    app.wait(0.5)  # the page goes to the number that is typed
    touch(app, "fitness-not fit")
    for _size in app.at_each_size():
        for where in (1.0, 0.66, 0.33, 0.0):
            app.find(role="Page").scroll_y = where
            app.wait(0.2)
            assert app.misfits() == []


def test_words_written_on_the_card_are_kept_letter_by_letter(open_app: OpenApp, dived: Path) -> None:
    """A field that is being written in is on the disk with the last letter typed."""
    app = open_card(open_app, dived)
    touch(app, "plan")
    app.wait(0.3)
    app.type("Täuferboje, 聯絡")
    app.idle()
    assert replace(waiting(app)).plan == "Täuferboje, 聯絡"

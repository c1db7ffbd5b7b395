"""The card of a plan, read back with another library: nothing of the plan is left out, however long."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime

import pytest
from pypdf import PdfReader

from logbook_app.analysis.dive_analysis import Rules, nothing_carried
from logbook_app.analysis.dive_plan import DivePlan, Doing, Leg, PlanConditions, planned
from logbook_app.analysis.plan_words import CAUTION, beyond_training
from logbook_app.analysis.slate_words import slate_lines
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.files.pdf.paper_size import A6
from logbook_app.files.pdf.plan_slate import plan_slate
from logbook_app.physics.breathing_gas import AIR, BreathingGas

METRIC = SpokenUnits("metric")
TRIMIX, NITROX_50, NITROX_80 = BreathingGas(0.18, 0.45), BreathingGas(0.5), BreathingGas(0.8)
EASY = [Leg(18.0, 30.0)]
TWO_LEGS = [Leg(24.0, 20.0), Leg(12.0, 15.0)]
DEEP = [Leg(60.0, 30.0), Leg(48.0, 10.0)]
MANY = [Leg(30.0 - 2 * at, 8.0) for at in range(10)]


def plan(legs: list[Leg], *gases: BreathingGas, minute_volume: float | None = 18.0) -> DivePlan:
    cylinders = tuple(Cylinder(gas, 12.0, 200.0) for gas in gases or (AIR,))
    dive = PlanConditions(cylinders=cylinders).dive(datetime(2026, 6, 14, 9, tzinfo=UTC), 1.01325)
    return planned(legs, dive, nothing_carried(dive), Rules(), minute_volume)


def pages(made: DivePlan, units: SpokenUnits = METRIC) -> list[str]:
    found = PdfReader(io.BytesIO(plan_slate(made, units))).pages
    assert all(round(page.mediabox.width) == round(A6.width) for page in found)
    return [" ".join(page.extract_text().split()) for page in found]


@pytest.mark.law
@pytest.mark.parametrize("legs", [EASY, TWO_LEGS, DEEP, MANY], ids=["easy", "two legs", "deep", "many"])
def test_legs_end_at_the_minutes_that_were_given(legs: list[Leg]) -> None:
    """A leg's time has the way to it in it, so that the clock at its end is the sum so far."""
    lines = list(slate_lines(plan(legs), METRIC))
    ends = [round(60 * sum(leg.minutes for leg in legs[: at + 1])) for at in range(len(legs))]
    assert [line.until for line in lines[: len(legs)]] == [f"{end // 60}:{end % 60:02d}" for end in ends]
    assert [line.minutes for line in lines[: len(legs)]] == [f"{leg.minutes:g} min" for leg in legs]


@pytest.mark.law
def test_every_stop_is_there_with_its_gas() -> None:
    made = plan(DEEP, TRIMIX, NITROX_50, NITROX_80)
    lines = list(slate_lines(made, METRIC))
    stops = [line for line in lines if "required stop" in line.place]
    assert [(line.place.split(" m")[0], line.minutes, line.gas) for line in stops] == [
        (f"{stop.depth_m:.1f}", f"{stop.minutes:g} min", stop.gas.name) for stop in made.stops.stops
    ]
    changed = [line.gas for line in lines if line.changes]
    assert changed == ["nitrox 50", "nitrox 80"]
    assert lines[-1].place == "surface"


@pytest.mark.law
def test_a_change_of_gas_without_a_stop_has_a_line_of_its_own() -> None:
    made = plan([Leg(30.0, 12.0)], AIR, NITROX_50)
    assert not made.stops.stops
    assert any(step.doing is Doing.UP and step.cylinder == 1 for step in made.steps)
    change = next(line for line in slate_lines(made, METRIC) if line.changes)
    assert change.place == "21.0 m, change of gas"
    assert change.gas == "nitrox 50"


@pytest.mark.parametrize("legs", [EASY, TWO_LEGS, DEEP, MANY], ids=["easy", "two legs", "deep", "many"])
def test_one_page_says_all_of_it(legs: list[Leg]) -> None:
    made = plan(legs, TRIMIX, NITROX_50) if legs is DEEP else plan(legs)
    (page,) = pages(made)
    for line in slate_lines(made, METRIC):
        for words in (line.place, line.minutes, line.until, line.gas):
            assert words in page
    for words in (*beyond_training(made), CAUTION):
        assert words in page


def test_what_has_no_room_goes_on() -> None:
    """Ten legs and thirty cylinders are more than a card holds: then there are two."""
    made = plan(MANY, *(BreathingGas(0.21 + at / 100) for at in range(30)))
    found = pages(made)
    assert len(found) > 1
    assert all("Plan: 30.0 m" in page for page in found)
    for at in range(1, 30):
        assert f"nitrox {21 + at}" in " ".join(found)
    assert CAUTION.split(":")[0] in found[-1]


def test_feet_and_an_unknown_minute_volume() -> None:
    (page,) = pages(plan(EASY, minute_volume=None), SpokenUnits("imperial"))
    assert "59 ft" in page
    assert "How much gas it takes is not known" in page


def test_it_is_black_on_white() -> None:
    """A printer without colour, and a wet page, lose nothing."""
    (page,) = PdfReader(io.BytesIO(plan_slate(plan(DEEP, TRIMIX, NITROX_50), METRIC))).pages
    drawn = page.get_contents().get_data().decode("latin-1")
    inks = set(re.findall(r"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG)\b", drawn))
    assert inks == {("0", "0", "0")}

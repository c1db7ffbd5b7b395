"""Greatest depth, time, gas and start make a dive; what was not asked for stays unknown."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.hand_entry import HandEntry, dive_by_hand
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Site, Water
from logbook_app.physics.breathing_gas import AIR, BreathingGas

pytestmark = pytest.mark.law

DOCK = timezone(timedelta(hours=-3, minutes=-30))
BEGAN = datetime(2031, 5, 4, 22, 15, tzinfo=DOCK)


def test_three_numbers_and_a_start_are_enough_and_are_marked_an_estimate() -> None:
    dive = dive_by_hand(HandEntry(began_local=BEGAN, duration_min=38, max_depth_m=21.5))
    assert dive.estimate
    assert dive.began_at.isoformat() == "2031-05-05T01:45:00+00:00"
    assert dive.utc_offset_min == -210
    assert (dive.duration_min, dive.max_depth_m, dive.mean_depth_m) == (38, 21.5, None)
    assert dive.cylinders == (Cylinder(AIR),)
    assert dive.water is Water.RECORDER
    assert (dive.recordings, dive.own, dive.site) == ((), True, None)


def test_everything_written_down_is_in_the_record() -> None:
    site = Site("tarn", "Upper tarn", water=Water.FRESH)
    entry = HandEntry(
        began_local=BEGAN,
        duration_min=38,
        max_depth_m=21.5,
        gas=BreathingGas(0.32),
        site=site,
        buddies=("Ada", "Bo"),
        volume_l=12,
        start_bar=200,
        end_bar=60,
        weights_kg=7.5,
        water_temperature_c=6,
        notes="a pike",
    )
    dive = dive_by_hand(entry)
    assert dive.cylinders == (Cylinder(BreathingGas(0.32), 12, 200, 60),)
    assert (dive.site, dive.water, dive.buddies) == (site, Water.FRESH, ("Ada", "Bo"))
    assert (dive.weights_kg, dive.lowest_temperature_c, dive.notes) == (7.5, 6, "a pike")


def test_a_start_without_an_offset_is_not_guessed() -> None:
    with pytest.raises(RefusedRecord, match="needs its offset from UTC"):
        dive_by_hand(HandEntry(began_local=datetime(2031, 5, 4), duration_min=38, max_depth_m=21.5))


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"duration_min": 0}, "A dive of 0 min is not between 0 and 2,880 min"),
        ({"max_depth_m": 900}, "A greatest depth of 900 m is not between 0 and 350 m"),
        ({"volume_l": 120}, "A cylinder of 120 L is not between 0 and 100 L"),
        ({"start_bar": 3000}, "A start pressure of 3,000 bar is not between 0 and 450 bar"),
    ],
)
def test_what_cannot_be_is_said(wrong: dict[str, float], sentence: str) -> None:
    with pytest.raises(RefusedRecord, match=sentence):
        dive_by_hand(HandEntry(**{"began_local": BEGAN, "duration_min": 38, "max_depth_m": 20, **wrong}))

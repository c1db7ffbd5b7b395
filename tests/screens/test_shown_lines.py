"""What a dive's page says that the club sees is all that the club gets: no field of it goes unsaid."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import timedelta
from typing import Any

import pytest

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.record import Environment, Role, Water
from logbook_app.physics.breathing_gas import AIR
from logbook_app.screens.shown_lines import _seen_lines
from logbook_app.sync.shown_dives import PARTS, ShownCylinder, ShownDive, ShownSamples, shown_dive
from tests.dive.strategies import plain_dive

SHOWN = shown_dive(plain_dive(id="d1"), "Ada", PARTS, None)
OTHER: dict[str, Any] = {
    "diver": "Bo",
    "began_at": SHOWN.began_at + timedelta(days=1),
    "utc_offset_min": 345,
    "duration_min": 99.0,
    "max_depth_m": 55.5,
    "mean_depth_m": 22.2,
    "surface_bar": 0.85,
    "elevation_m": 1234.0,
    "water": Water.SEA,
    "lowest_temperature_c": 3.5,
    "site": "Wreck of the Ada",
    "region": "Lago",
    "cylinders": (ShownCylinder(AIR, 12.0, 200.0, 50.0),),
    "samples": ShownSamples("ab" * 32),
    "buddies": ("Cy",),
    "supervised": True,
    "role": Role.LEADING,
    "environments": (Environment.NIGHT,),
    "visibility_m": 4.0,
}
# `estimate` says no more than that there are no samples; `parts` are the chips beside the lines.
SAID_OTHERWISE = {"estimate", "parts"}


def test_every_field_is_tried() -> None:
    assert {each.name for each in fields(ShownDive)} == OTHER.keys() | SAID_OTHERWISE


@pytest.mark.parametrize("name", OTHER)
def test_a_field_that_others_see_is_said(name: str) -> None:
    changed = {name: OTHER[name]} | ({"site": "Wreck of the Ada"} if name == "region" else {})
    before = replace(SHOWN, site="Wreck of the Ada") if name == "region" else SHOWN
    units = SpokenUnits()
    assert list(_seen_lines(replace(before, **changed), units)) != list(_seen_lines(before, units))

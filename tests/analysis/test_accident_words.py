"""What the sheet for an accident says of a dive: no more than was recorded."""

from __future__ import annotations

from dives_by_hand import dive_of, profile

from logbook_app.analysis.accident_record import RecentDive
from logbook_app.analysis.accident_words import dive_facts, dive_in_a_line
from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.gas_use import gas_use

DEEP = profile((0, 0), (2, 40), (40, 40), (43, 12), (44, 0))


def recent(samples, **fields):
    dive = dive_of(samples, **fields)
    analysis = analyse(dive, samples, nothing_carried(dive), Rules())
    return RecentDive(DiveView(dive, samples, analysis, gas_use(dive, samples), (), Rules()), None)


def test_stops_that_were_missed_are_told():
    dive = recent(DEEP)
    assert "; MISSED: " in dict(dive_facts(dive))["Stops"]
    assert dive_in_a_line(dive).endswith("stops required, MISSED")


def test_of_a_dive_without_samples_nobody_knows_what_was_kept():
    dive = recent(None, duration_min=40, max_depth_m=40)
    stops = dict(dive_facts(dive))["Stops"]
    assert stops.startswith("not recorded: no samples, square profile taken; the model's ceiling came to ")
    assert stops.endswith(", whether it was kept is not recorded")
    assert dive_in_a_line(dive).endswith("no samples · stops required")

"""Figures as they are spoken: what no line parts, and thousands."""

from __future__ import annotations

import pytest

from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_duration
from logbook_app.analysis.unparted import unparted

METRIC, IMPERIAL = SpokenUnits("metric"), SpokenUnits("imperial")


@pytest.mark.parametrize(
    "spoken",
    [
        percent(0.82),
        spoken_duration(47),
        *(
            said
            for units in (METRIC, IMPERIAL)
            for said in (
                units.depth(28.4),
                units.elevation(2438.4),
                units.rate(13),
                units.pressure(142),
                units.temperature(9),
                units.gas_volume(2010),
                units.minute_volume(16.8),
                units.weight(6),
            )
        ),
    ],
)
def test_a_figure_is_never_parted_from_its_unit(spoken):
    assert " " in spoken
    assert " " not in unparted(spoken)


def test_words_after_a_figure_may_go_to_the_next_line():
    assert unparted("2 dives, 7 of 12 min each") == "2 dives, 7 of 12\N{NO-BREAK SPACE}min each"
    assert unparted("3 men and 4 sharks") == "3 men and 4 sharks"

"""The fixed words of the UDDF standard, as a diver reads them."""

from __future__ import annotations

import pytest

from logbook_app.analysis.field_words import extra_words, shown
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.analysis.words_of_files import in_words
from logbook_app.catalogues import use_language
from logbook_app.files.uddf.word_lists import WORDS
from tests.dive.strategies import plain_dive

# Said elsewhere, where they stand: an alarm on the chart, a stop in the way up.
SHOWN = sorted({word for name, words in WORDS.items() if name not in ("alarm", "decostop") for word in words})


@pytest.mark.parametrize("word", SHOWN)
def test_every_fixed_word_of_the_standard_is_said_in_words(word):
    """UDDF 3.2.3, the enumerations of its schema."""
    said = in_words(word)
    assert "-" not in said.replace("sea-sickness", "").replace("hot-water", "")
    use_language("de")
    try:
        assert in_words(word) != word or word in ("pool", "none")
    finally:
        use_language("en")


def test_the_record_keeps_what_was_written():
    dive = plain_dive(current="very-mild-current", extra={"uddf:apparatus": "open-scuba"})
    assert shown(dive, "current", SpokenUnits()).value == "very mild current"
    assert extra_words("uddf:apparatus", dive.extra["uddf:apparatus"]) == "open circuit"
    assert (dive.current, dive.extra["uddf:apparatus"]) == ("very-mild-current", "open-scuba")


def test_what_a_diver_wrote_stays_as_it_is():
    assert in_words("cold, then a drift") == "cold, then a drift"

"""What is said follows the language that is spoken; what it is chosen by."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import datetime

import pytest

from logbook_app.analysis.spoken_times import date_alone, date_this_year, day, full_date
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives
from logbook_app.catalogues import language_named, system_language, use_language
from logbook_app.language import _, later, ngettext, number, speaking, spoken

SUNDAY = datetime(2026, 11, 15, 9, 5)


@pytest.fixture
def german() -> Iterator[None]:
    use_language("de")
    yield
    use_language("en")


def test_english_is_spoken_until_another_language_is_chosen():
    assert spoken() == "en"
    assert _("Settings") == "Settings"


@pytest.mark.usefixtures("german")
class TestGerman:
    def test_a_sentence_and_a_number_of_dives(self):
        assert _("Settings") == "Einstellungen"
        assert [spoken_dives(count) for count in (0, 1, 2)] == [
            "0 Tauchgänge",
            "1 Tauchgang",
            "2 Tauchgänge",
        ]

    def test_a_constant_is_said_later(self):
        assert _(later("Settings")) == "Einstellungen"

    def test_what_no_catalogue_has_is_said_in_english(self):
        assert _("No such sentence.") == "No such sentence."
        assert ngettext("{n} thing", "{n} things", 2) == "{n} things"

    def test_nothing_stays_nothing(self):
        assert _("") == ""

    def test_numbers_have_a_decimal_comma(self):
        assert SpokenUnits().depth(28.44) == "28,4 m"
        assert number(1013.25, ".2f") == "1013,25"

    def test_dates_are_written_day_first_with_points(self):
        assert full_date(SUNDAY) == "So 15.11.2026"
        assert day(SUNDAY) == "So 15.11."
        assert date_alone(SUNDAY) == "15.11.2026"
        assert date_this_year(SUNDAY.replace(day=5)) == "05.11."


def test_english_dates():
    assert full_date(SUNDAY) == "Sun 15 Nov 2026"
    assert date_alone(SUNDAY) == "15 Nov 2026"


@pytest.mark.parametrize(
    ("environment", "language"),
    [
        ({}, "en"),
        ({"LANG": "de_DE.UTF-8"}, "de"),
        ({"LANG": "C.UTF-8"}, "en"),
        ({"LANG": "de_DE.UTF-8", "LC_ALL": "en_GB.UTF-8"}, "en"),
        ({"LANGUAGE": "de:en", "LANG": "en_GB.UTF-8"}, "de"),
        ({"LANG": "C"}, "en"),
        ({"LANG": "fr_FR"}, "fr"),
    ],
)
def test_the_language_of_the_system(environment, language):
    assert system_language(environment, "linux") == language


@pytest.mark.parametrize(("said", "language"), [("de-AT", "de"), ("fr-FR", "en"), ("en-GB", "en")])
def test_a_language_that_leadline_does_not_speak_becomes_english(said, language):
    use_language("system", said)
    found = spoken()
    use_language("en")
    assert found == language


def test_several_languages_are_spoken_at_once_by_several_threads():
    said: dict[str, list[str]] = {"en": [], "de": []}
    together = threading.Barrier(2, timeout=10)

    def speak(name: str) -> None:
        with speaking(language_named(name)):
            for _again in range(50):
                together.wait()
                said[name].append(f"{spoken()} {_('Settings')} {number(1.5, '.1f')}")

    threads = [threading.Thread(target=speak, args=(name,)) for name in said]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert said == {"en": ["en Settings 1.5"] * 50, "de": ["de Einstellungen 1,5"] * 50}
    assert _("Settings") == "Settings"

"""Start times as files write them.

The forms are those of ISO 8601 as XML Schema 1.0 part 2 profiles it (dateTime, date, gYearMonth),
with the shorter offsets and the space that files are met with.
"""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from logbook_app.files.start_time import Precision, Zone, parse_start

TEN_UTC = datetime(2026, 6, 14, 10, 5, tzinfo=UTC)


@pytest.mark.parametrize(
    "text",
    [
        "2026-06-14T10:05:00Z",
        "2026-06-14T10:05Z",
        "2026-06-14T12:05:00+02:00",
        "2026-06-14T12:05:00+0200",
        "2026-06-14T12:05+02",
        "2026-06-14 04:35:00-05:30",
        "  2026-06-14T10:05:00.000Z\n",
        "2026-06-15T00:05:00+14:00",
    ],
)
def test_a_stated_zone_is_followed(text):
    start = parse_start(text, diver_offset_min=300, site_offset_min=60)
    assert start.at == TEN_UTC
    assert (start.zone, start.precision) == (Zone.STATED, Precision.TIME)


def test_the_divers_offset_goes_before_the_sites():
    text = "2026-06-14T12:05:00"
    assert parse_start(text, 120, 60).at == TEN_UTC
    assert parse_start(text, 120, 60).zone is Zone.DIVER
    assert parse_start(text, None, 120).at == TEN_UTC
    assert parse_start(text, None, 120).zone is Zone.SITE
    assert parse_start(text, None, None).utc_offset_min == 0
    assert parse_start(text, None, None).zone is Zone.NONE


def test_a_day_or_a_month_alone_counts_as_noon():
    assert parse_start("2026-06-14", 0).at == datetime(2026, 6, 14, 12, tzinfo=UTC)
    assert parse_start("2026-06", 0).at == datetime(2026, 6, 1, 12, tzinfo=UTC)
    assert [parse_start(text, 0).precision for text in ("2026-06-14", "2026-06")] == [
        Precision.DAY,
        Precision.MONTH,
    ]


def test_fractions_of_a_second_are_kept():
    assert parse_start("2026-06-14T10:05:01.25Z", None).at.microsecond == 250_000


@pytest.mark.parametrize(
    "text",
    [
        "",
        "yesterday",
        "14.06.2026 10:05",
        "2026",
        "2026-13-01T10:00Z",
        "2026-02-30T10:00Z",
        "2026-06-14T25:00Z",
        "2026-06-14T10:61Z",
        "2026-06-14T10:05+25:00",
        "0001-01-01T00:00Z",
        "9999-12-31T23:59:59-14:00",
        "2026-06-14T10:05Zulu",
        "２０２６-06-14T10:05Z",
    ],
)
def test_what_is_no_start_is_refused_in_words(text):
    with pytest.raises(ValueError, match=r"is not|outside"):
        parse_start(text, None)

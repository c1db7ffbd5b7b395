"""A list of dives from a spreadsheet, in whatever language and order, becomes dives without samples."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from logbook_app.dive.problems import RefusedFile
from logbook_app.dive.record import Environment, Role
from logbook_app.files.told_date import Order, order_of, parse_date, parse_time_of_day
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.units import bar_from_psi

GERMAN = "dive_list_german.csv"
PLAIN = "date,time,depth (m),duration (min)"


def test_a_german_list_with_semicolons_decimal_commas_and_a_cell_over_two_lines(read):
    first = read(GERMAN).dives[0]
    assert first.began_at == datetime(2026, 6, 14, 10, 5, tzinfo=UTC)
    assert (first.number, first.max_depth_m, first.duration_min) == (31, 21.4, 47.0)
    assert first.site.name == "Schilfkante"
    assert first.buddies == ("Odile Marsch", "Rune Holt")
    (cylinder,) = first.cylinders
    assert cylinder.gas == BreathingGas(0.32)
    assert (cylinder.volume_l, cylinder.start_bar, cylinder.end_bar) == (12.0, 210.0, 70.5)
    assert (first.lowest_temperature_c, first.visibility_m) == (12.5, 6.0)
    assert first.notes == 'Erste Zeile\nzweite "Zeile"'
    assert first.estimate
    assert first.profile_sha256 is None


def test_hours_minutes_and_seconds_are_a_duration_and_a_unit_may_stand_in_the_cell(read):
    second, third = read(GERMAN).dives[1:3]
    assert second.duration_min == 65.5
    assert third.cylinders[0].volume_l == 12.0
    assert third.cylinders[0].start_bar == pytest.approx(bar_from_psi(3000.0), abs=1e-8)


def test_dives_of_a_day_without_times_follow_each_other_and_it_is_said(read):
    third, fourth = read(GERMAN).dives[2:]
    assert third.began_at == datetime(2026, 6, 15, 12, 0, tzinfo=UTC)
    assert fourth.began_at == datetime(2026, 6, 15, 13, 40, tzinfo=UTC)  # 40 min, then an hour
    assert "2 dives have no time of day" in read(GERMAN).words


def test_each_row_that_cannot_be_read_is_named_by_its_line(read):
    words = read(GERMAN).words
    assert 'row 6: was not read: "31.02.2026" is not a date' in words
    assert "row 7: was not read: A greatest depth of 400 m" in words
    assert 'row 5: gas "Luft?" cannot be read and was left out' in words
    assert "columns not read: Mondphase" in words
    assert "4 dives were taken as UTC" in words


def test_the_offset_that_the_diver_gives_is_used(read):
    outcome = read(GERMAN, utc_offset_min=120)
    assert outcome.dives[0].began_at == datetime(2026, 6, 14, 8, 5, tzinfo=UTC)
    assert "UTC" not in outcome.words


def test_reading_a_list_twice_gives_the_same_dives(read):
    assert read(GERMAN) == read(GERMAN)
    assert len({dive.id for dive in read(GERMAN).dives}) == 4


@pytest.mark.parametrize(
    "header",
    [
        "Date,Start time,Max depth (ft),Dive time (min)",
        "date;heure;profondeur max (ft);durée (min)",
        "Fecha\tHora\tProfundidad máxima [ft]\tDuración [min]",
        "data,ora,profondità (ft),durata (min)",
        "Datum,Uhrzeit,größte Tiefe (ft),Dauer (Minuten)",
        "dato;tidspunkt;største dybde (ft);varighet",
        "data;godzina;głębokość_ft;czas nurkowania_min",
        "duration,DEPTH_FT,time,date",
    ],
)
def test_headers_in_many_languages_and_orders(read, written, header):
    delimiter = next(mark for mark in ";\t," if mark in header)
    names = [name.strip() for name in header.split(delimiter)]
    cells = ["2026-06-14", "10:05", "60", "47"]
    if names[0] == "duration":
        cells = [cells[3], cells[2], cells[1], cells[0]]
    outcome = read(written(f"{header}\n{delimiter.join(cells)}\n", "list.csv"), utc_offset_min=0)
    (dive,) = outcome.dives
    assert dive.max_depth_m == pytest.approx(18.288)
    assert (dive.duration_min, dive.began_at) == (47.0, datetime(2026, 6, 14, 10, 5, tzinfo=UTC))


def test_slashes_are_read_as_the_rest_of_the_list_shows(read, written):
    rows = "03/04/2026,10:00,12,40\n{},10:00,12,40\n"
    day_first = read(written(f"{PLAIN}\n{rows.format('25/04/2026')}", "list.csv"))
    month_first = read(written(f"{PLAIN}\n{rows.format('04/25/2026')}", "list.csv"))
    assert [dive.began_at.date() for dive in day_first.dives] == [date(2026, 4, 3), date(2026, 4, 25)]
    assert [dive.began_at.date() for dive in month_first.dives] == [date(2026, 3, 4), date(2026, 4, 25)]


@pytest.mark.parametrize("rows", ["03/04/2026,10:00,12,40", "25/04/2026,1:00,12,40\n04/25/2026,1:00,12,40"])
def test_dates_that_can_be_read_in_two_ways_are_refused(read, written, rows):
    with pytest.raises(RefusedFile, match=r"can be read in two ways.*dd/mm/yyyy"):
        read(written(f"{PLAIN}\n{rows}\n", "list.csv"))


def test_the_header_may_say_how_to_read_them(read, written):
    header = "date (mm/dd/yyyy),time,depth (m),duration (mm:ss)"
    (dive,) = read(written(f"{header}\n03/04/2026,9:05 pm,12,40:30\n", "list.csv")).dives
    assert dive.began_at == datetime(2026, 3, 4, 21, 5, tzinfo=UTC)
    assert dive.duration_min == 40.5


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (f"{PLAIN}\n", "no row of it could be read"),
        (f"{PLAIN}\n2026-06-14,10:00,12,0:45\n", '"0:45" is not a duration'),
        (f"{PLAIN}\n2026-06-14,25:00,12,45\n", '"25:00" is not a time of day'),
        (f"{PLAIN}\n2026-06-14,10:00,,45\n", "it has no depth"),
        ("date,depth (fathoms),duration\n2026-06-14,7,45\n", 'depth in "fathoms"'),
        (f'{PLAIN}\n"2026-06-14,10:00,12,45\n' + "x" * 200_000 + "\n", "quotation mark"),
    ],
)
def test_a_list_that_cannot_be_read_is_refused_in_one_sentence(read, written, content, words):
    with pytest.raises(RefusedFile) as refused:
        read(written(content, "list.csv"))
    assert words in str(refused.value)
    assert str(refused.value).startswith("list.csv")


def test_a_table_of_samples_is_still_taken_for_one(read, written):
    text = "# began: 2026-06-14T10:05Z\ntime (s),depth (m)\n0,0\n60,5\n"
    assert not read(written(text, "samples.csv")).dives[0].estimate


def test_units_that_the_header_does_not_tell_are_told(read, written):
    outcome = read(
        written("date,time,depth,duration\n2026-06-14,10:05,12,40\n", "list.csv"), utc_offset_min=0
    )
    assert outcome.words == (
        "list.csv: the header does not tell every unit; taken as duration in minutes, depth in metres"
    )


def test_air_by_its_name_and_several_cylinders(read, written):
    header = f"{PLAIN},gas,cylinder (L),start pressure (bar)"
    (dive,) = read(written(f"{header}\n2026-06-14,10:05,12,40,air; 50,12; 7,200\n", "list.csv")).dives
    assert [(c.gas, c.volume_l, c.start_bar) for c in dive.cylinders] == [
        (AIR, 12.0, 200.0),
        (BreathingGas(0.5), 7.0, None),
    ]


@pytest.mark.parametrize(
    ("text", "order", "expected"),
    [
        ("2026-06-14", None, date(2026, 6, 14)),
        ("2026/6/4", None, date(2026, 6, 4)),
        ("4.6.2026", None, date(2026, 6, 4)),
        ("04. 06. 2026", None, date(2026, 6, 4)),
        ("4/6/2026", Order.DAY, date(2026, 6, 4)),
        ("4-6-2026", Order.MONTH, date(2026, 4, 6)),
        ("5/5/2026", None, date(2026, 5, 5)),
        ("4/6/2026", None, None),
        ("14/6/26", Order.DAY, None),
        ("30.02.2026", None, None),
        ("June 4", None, None),
    ],
)
def test_dates(text, order, expected):
    assert parse_date(text, order) == expected


def test_two_orders_in_one_list_are_no_order():
    assert order_of(["25/04/2026", "04/25/2026"]) is None
    assert order_of(["04/25/2026", "01/02/2026", "2026-01-31", "31.01.2026"]) is Order.MONTH


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("9:05", "09:05:00"),
        ("12:00 am", "00:00:00"),
        ("12:30 p.m.", "12:30:00"),
        ("13:00 pm", None),
        ("9", None),
    ],
)
def test_times_of_day(text, expected):
    assert parse_time_of_day(text) == expected


def test_a_role_that_nobody_knows_is_left_out_and_said(read, tmp_path):
    path = tmp_path / "list.csv"
    path.write_text(
        "began,duration (min),depth (m),role,surroundings\n"
        "2031-05-04T09:30Z,40,18,leading,night; cold water\n"
        "2031-05-05T09:30Z,40,18,cook,moonlight; night\n",
        encoding="utf-8",
    )
    outcome = read(path)
    first, second = outcome.dives
    assert (first.role, first.environments) == (Role.LEADING, (Environment.NIGHT, Environment.COLD))
    assert (second.role, second.environments) == (None, (Environment.NIGHT,))
    told = [problem.what for problem in outcome.problems]
    assert 'row 3: role "cook" cannot be read and was left out' in told
    assert 'row 3: surroundings "moonlight" cannot be read and was left out' in told

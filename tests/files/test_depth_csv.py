"""A table of times and depths, in the form that is documented and in others that are met.

Conversions by definition: 1 ft = 0.3048 m (international foot, 1959), C = (F - 32) / 1.8,
1 psi = 6894.757 Pa (NIST SP 811, appendix B, printed to seven digits).
"""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.dive.problems import RefusedFile
from logbook_app.dive.profile import GasSwitch
from logbook_app.dive.record import Water
from logbook_app.files import sample_table
from logbook_app.files.csv_columns import columns_in_header, parse_columns
from logbook_app.files.depth_csv import parse_depth_csv
from logbook_app.files.read_dive import ReadDive, ReadOptions
from logbook_app.physics.breathing_gas import AIR, BreathingGas

BEGAN = "# began: 2026-06-14T10:05Z\n"


@pytest.mark.parametrize("twice", ["time 2", "depth 2", "temperature 2"])
def test_a_quantity_that_the_list_names_twice_is_taken_from_the_first(twice, read, written):
    path = written(BEGAN + "0,1,9,5\n10,3,9,5\n20,1,9,5\n", "table.csv")
    columns = f"time=1,depth=2,temperature=3,{twice}=4"
    assert read(path, csv_columns=columns).read[0].profile.channels["temperature_c"].tolist() == [9.0] * 3


def test_the_documented_form_says_everything_that_it_can(read):
    outcome = read("documented_form.csv")
    (dive,) = outcome.dives
    assert outcome.problems == ()
    assert (dive.began_at, dive.utc_offset_min) == (datetime(2026, 6, 14, 8, 5, tzinfo=UTC), 120)
    assert (dive.duration_min, dive.max_depth_m, dive.number, dive.weights_kg) == (25.0, 24.1, 118, 9.5)
    assert (dive.site.name, dive.site.elevation_m, dive.water) == ("Cinder Quay", 268.0, Water.RECORDER)
    assert dive.buddies == ("Odile Marsh", "Rune Holt")
    assert dive.notes == "Silt on the lower terrace."
    assert [(c.gas, c.volume_l) for c in dive.cylinders] == [
        (BreathingGas(0.32), 12.0),
        (BreathingGas(0.5), 7.0),
    ]


def test_samples_gases_and_pressures_of_the_documented_form(read):
    profile = read("documented_form.csv").read[0].profile
    assert profile.time_s.tolist() == [0, 10, 120, 900, 1080, 1320, 1500]
    assert profile.depth_m.tolist() == [0, 2.4, 24.1, 22.8, 12.0, 5.1, 0]
    assert profile.switches == (GasSwitch(0.0, 0), GasSwitch(1080.0, 1))
    assert profile.channel("pressure_bar_0")[[0, 2, 3]].tolist() == [210, 196, 131]
    assert profile.channel("pressure_bar_1")[[0, 5, 6]].tolist() == [198, 171, 168]
    assert np.isnan(profile.channel("temperature_c")[[1, 4, 5]]).all()


@pytest.mark.published
def test_feet_fahrenheit_and_psi_with_decimal_commas(read):
    columns = "time=1:min,depth=2:ft,temperature=3:f,pressure=4:psi,began=2026-06-14T10:05+02:00"
    outcome = read("german_feet_and_psi_latin1.csv", csv_columns=columns)
    profile = outcome.read[0].profile
    assert profile.time_s.tolist() == [0, 90, 720, 1200]
    assert profile.depth_m[1:3] == pytest.approx([40.5 * 0.3048, 42.0 * 0.3048], abs=1e-6)
    assert profile.channel("temperature_c")[:2].tolist() == [20.0, 15.0]
    assert profile.channel("pressure_bar_0")[0] == pytest.approx(3000 * 6894.757e-5, abs=1e-4)


def test_a_header_in_another_language_is_understood(read, written):
    table = (
        "# began: 2026-06-14T10:05Z\nZeit [min];Tiefe [ft];Temp. (°F);Flaschendruck (psi);Bemerkung\n"
        "0;0,0;68,0;3000;\n1,5;40,5;59;2850;Leine\n"
    )
    outcome = read(written(table, "german.csv"))
    assert outcome.read[0].profile.depth_m[1] == pytest.approx(12.3444)
    assert outcome.words.endswith("columns not read: Bemerkung")


def test_times_of_day_over_midnight_and_a_start_that_is_only_a_day(read):
    outcome = read("time_of_day_over_midnight.tsv", utc_offset_min=60)
    assert outcome.dives[0].began_at == datetime(2026, 2, 1, 22, 50, tzinfo=UTC)
    assert outcome.read[0].profile.time_s.tolist() == [0, 150, 1200, 1440]
    assert outcome.dives[0].cylinders[0].gas == AIR
    assert outcome.problems == ()


def test_instants_say_when_the_dive_began(read):
    outcome = read("instants_for_times.csv")
    assert (outcome.dives[0].began_at, outcome.dives[0].utc_offset_min) == (
        datetime(2026, 3, 4, 8, tzinfo=UTC),
        60,
    )
    assert outcome.read[0].profile.time_s.tolist() == [0, 60, 1800]


def test_rows_that_cannot_be_read_are_counted_and_the_first_is_named(read):
    outcome = read("rows_that_cannot_be_read.csv")
    assert outcome.read[0].profile.time_s.tolist() == [0, 30, 90, 600, 900]
    (problem,) = outcome.problems
    assert "4 rows or values could not be read" in problem.what
    for why in ("2 without a usable depth, first row 5", "1 not later than the row before, first row 7"):
        assert why in problem.what


@pytest.mark.parametrize(
    ("header", "rows", "depths_m"),
    [
        ("time (s),depth (m)", ["0,0", "60,5.5"], [0, 5.5]),
        ("Depth (m); Time (min)", ["0,0; 0", "5,5; 1"], [0, 5.5]),
        ("time_s\tdepth_m", ["0\t0", "60\t5.5"], [0, 5.5]),
        ("temps (s),profondeur (m)", ['"0","0"', '"60","5,5"'], [0, 5.5]),
        ("no.,tiempo (s),profundidad (m)", ["1,0,0", "2,60,5.5"], [0, 5.5]),
        ("czas (min);głębokość (m)", ["0;0", "1;5,5"], [0, 5.5]),
        ("time,depth [ft]", ["0:00,0", "1:00,10"], [0, 3.048]),
        ("elapsed time,depth feet", ["00:00:00,0", "00:01:00,10"], [0, 3.048]),
    ],
)
def test_delimiter_decimals_names_and_units_are_recognised(header, rows, depths_m, read, written):
    outcome = read(written(BEGAN + "\n".join([header, *rows]), "table.csv"))
    profile = outcome.read[0].profile
    assert profile.time_s.tolist() == [0, 60]
    assert profile.depth_m == pytest.approx(depths_m)


def test_lines_before_the_header_are_passed_over(read, written):
    outcome = read(
        written(BEGAN + "Club recorder 4\n\nlent to Rune\ntime (s),depth (m)\n0,0\n60,5\n", "t.csv")
    )
    assert len(outcome.read[0].profile) == 2


def test_a_unit_that_the_header_does_not_tell_is_said(read, written):
    assert (
        "taken as time in seconds, depth in metres"
        in read(written(BEGAN + "time,depth\n0,0\n60,5\n", "t.csv")).words
    )
    assert read(written(BEGAN + "time,depth (m)\n0:00,0\n1:00,5\n", "t.csv")).problems == ()


def test_a_start_without_a_zone_is_taken_as_utc_and_said(read, written):
    outcome = read(written("# began: 2026-06-14T10:05\ntime (s),depth (m)\n0,0\n60,5\n", "t.csv"))
    assert outcome.dives[0].began_at == datetime(2026, 6, 14, 10, 5, tzinfo=UTC)
    assert "has no time zone" in outcome.words


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("# gas: strong", '"strong" is not a gas'),
        ("# cylinder: 900 L", "cannot be"),
        ("# elevation: high", "is not a number"),
        ("# skipper: Rune", '"# skipper"'),
    ],
)
def test_a_heading_that_cannot_be_used_is_said_and_left_out(line, said, read, written):
    outcome = read(written(f"{BEGAN}{line}\ntime (s),depth (m)\n0,0\n60,5\n", "t.csv"))
    assert said in outcome.words
    assert len(outcome.dives) == 1


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("time (s),depth (m)\n0,0\n60,5\n", "does not say when the dive began"),
        ("# began: today\ntime (s),depth (m)\n0,0\n60,5\n", "start that cannot be read"),
        (f"{BEGAN}time (s),depth (m)\n0,0\n", "fewer than two rows"),
        (f"{BEGAN}time (s),depth (m)\n0,0\n60,0\n", "greatest depth"),
        (f"{BEGAN}time (s),heading\n0,0\n60,0\n", "neither UDDF nor a table"),
        (f"{BEGAN}0,0\n60,5\n", "neither UDDF nor a table"),
    ],
)
def test_a_table_that_is_no_dive_is_refused(text, expected, read, written):
    with pytest.raises(RefusedFile, match=expected):
        read(written(text, "t.csv"))


def test_more_rows_than_a_dive_can_have_are_refused(read, written, monkeypatch):
    monkeypatch.setattr(sample_table, "MOST_ROWS", 100)
    rows = "".join(f"{time_s},5\n" for time_s in range(200))
    with pytest.raises(RefusedFile, match="more than 100 rows"):
        read(written(f"{BEGAN}time (s),depth (m)\n{rows}", "t.csv"))


def test_a_list_of_columns_reads_a_table_without_a_header(read, written):
    path = written("0\t18\t0\n1\t17\t20\n30\t17\t0\n", "bare.txt")
    outcome = read(path, csv_columns="time=1:min, depth=3:ft, began=2026-06-14T10:05+02:00")
    assert outcome.read[0].profile.time_s.tolist() == [0, 60, 1800]
    assert outcome.read[0].profile.depth_m.tolist() == [0, 6.096, 0]


@pytest.mark.parametrize(
    "text",
    ["", "time=1", "depth=2:m", "time=0,depth=1", "time=a,depth=2", "time=1:kg,depth=2", "x=1", "time,depth"],
)
def test_a_list_of_columns_that_cannot_be_followed_is_refused_in_words(text):
    with pytest.raises(RefusedFile, match=r"column list .*\."):
        parse_columns(text)


def test_the_second_of_two_columns_alike_is_not_used():
    columns = columns_in_header(["time (s)", "depth (m)", "depth (ft)"])
    assert columns.depth.place == 1


SAMPLES = st.lists(
    st.tuples(st.integers(1, 600), st.integers(0, 9_999), st.none() | st.integers(-50, 350)),
    min_size=2,
    max_size=50,
)


@pytest.mark.law
@given(SAMPLES, st.sampled_from([",", ";", "\t"]), st.booleans(), st.integers(1, 4000))
def test_numbers_come_back_as_they_were_written(samples, delimiter, comma, piece):
    times_s = np.cumsum([step for step, _, _ in samples])
    depths_m = [depth / 100 for _, depth, _ in samples]
    temperatures = [None if tenths is None else tenths / 10 for _, _, tenths in samples]
    comma = comma and delimiter != ","

    def cell(value: float | None) -> str:
        return "" if value is None else str(value).replace(".", "," if comma else ".")

    rows = [
        delimiter.join([cell(float(time_s)), cell(depth_m), cell(temperature)])
        for time_s, depth_m, temperature in zip(times_s, depths_m, temperatures, strict=True)
    ]
    depths_m[0] = max(depths_m[0], 0.1)
    rows[0] = delimiter.join([cell(float(times_s[0])), cell(depths_m[0]), cell(temperatures[0])])
    header = delimiter.join(["time (s)", "depth (m)", "temperature (C)"])
    text = (BEGAN + "\r\n".join([header, *rows])).encode()
    pieces = [text[at : at + piece] for at in range(0, len(text), piece)]
    (read,) = [item for item in parse_depth_csv(pieces, "t.csv", ReadOptions()) if isinstance(item, ReadDive)]
    assert read.profile.time_s.tolist() == times_s.tolist()
    assert read.profile.depth_m.tolist() == depths_m
    there = read.profile.channel("temperature_c")
    if any(value is not None for value in temperatures):
        assert [None if np.isnan(value) else value for value in there] == temperatures
    else:
        assert there is None

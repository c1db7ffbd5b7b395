"""What a dive says in UDDF is what its record says.

Expectations marked "published" follow the UDDF 3.2.x documentation and schema (streit.cc): SI
units throughout, one `link` element for every reference, a tank volume in tankdata before that of
the linked tank, a surface interval of `infinity` or of seconds. The samples are invented.
"""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise

import numpy as np
import pytest

from logbook_app.dive.profile import GasSwitch, Remark
from logbook_app.dive.record import Water
from logbook_app.physics.breathing_gas import AIR, BreathingGas

SEA = "three_sea_dives_two_cylinders.uddf"
LATIN = "dives_before_references_latin1.uddf"
OLD = "links_under_the_dive_3_0.uddf"
LOOP = "rebreather_and_tankused_3_3.uddf"
MARKS = "marks_without_depth_no_tankdata.uddf"


@pytest.mark.published
def test_a_whole_file_gives_its_dives_in_order_and_nothing_odd(read):
    sea = read(SEA)
    assert [dive.number for dive in sea.dives] == [61, 62, 63]
    assert sea.problems == ()
    assert [dive.extra["uddf:owner"] for dive in sea.dives] == ["Perrin Vale"] * 3


@pytest.mark.published
def test_times_come_in_three_notations_of_the_zone(read):
    starts = [(dive.began_at, dive.utc_offset_min) for dive in read(SEA).dives]
    assert starts == [
        (datetime(2025, 7, 5, 8, 0, tzinfo=UTC), 120),
        (datetime(2025, 7, 5, 9, 29, tzinfo=UTC), 120),
        (datetime(2025, 7, 6, 8, 4, tzinfo=UTC), 0),
    ]


@pytest.mark.published
def test_values_leave_si_units_for_those_of_the_record(read):
    dive = read(SEA).dives[0]
    assert dive.duration_min == 29.0  # 1740 s
    assert dive.max_depth_m == 26.5
    assert dive.mean_depth_m == 18.9
    assert dive.air_temperature_c == 20.0  # 293.15 K
    assert dive.lowest_temperature_c == 12.5  # 285.65 K
    assert dive.surface_bar == 1.009  # 100 900 Pa
    assert dive.weights_kg == 8.0
    assert dive.visibility_m == 9.0
    assert dive.rating == 7
    assert [(c.volume_l, c.start_bar, c.end_bar) for c in dive.cylinders] == [
        (15.0, 205.0, 110.0),
        (5.7, 180.0, 155.0),
    ]


@pytest.mark.published
def test_links_lead_to_site_buddies_suit_recorder_gases_and_tanks(read):
    dive = read(SEA).dives[0]
    assert dive.buddies == ("Odile Marsh", "Rune Holt")
    assert dive.suit == "semi-dry suit"
    assert dive.recordings[0].recorder == "wrist recorder"
    assert [cylinder.gas for cylinder in dive.cylinders] == [BreathingGas(0.30), BreathingGas(0.80)]
    assert dive.site is not None
    assert (dive.site.name, dive.site.region) == ("Gannet Ledge", "Sorrel Sound")
    assert (dive.site.latitude_deg, dive.site.longitude_deg) == (57.25, -3.5)


def test_recorded_depth_stays_ten_metres_a_bar_whatever_the_water_of_the_site(read):
    """EN 13319: a recorder shows 10 m for each bar; the density of the site is kept beside it."""
    dive = read(SEA).dives[0]
    assert dive.water is Water.RECORDER
    assert dive.site.water is Water.SEA
    assert dive.extra["uddf:site.density"] == "1027.0"


@pytest.mark.published
def test_gas_switches_name_the_cylinder_and_keep_the_order_of_tankdata(read):
    profile = read(SEA).read[0].profile
    assert profile.switches == (GasSwitch(0.0, 0), GasSwitch(1380.0, 1))


@pytest.mark.published
def test_tank_pressures_go_to_the_cylinder_that_they_name(read):
    profile = read(SEA).read[0].profile
    first, second = profile.channel("pressure_bar_0"), profile.channel("pressure_bar_1")
    assert (first[0], first[2], second[0], second[8]) == (205.0, 150.0, 180.0, 155.0)
    assert np.isnan(second[1:8]).all()


@pytest.mark.published
def test_a_volume_in_tankdata_goes_before_that_of_the_linked_tank(one_dive, read, written):
    tank = '<divecomputer id="x"/><tank id="t"><name>tank</name><tankvolume>0.012</tankvolume></tank>'
    diver = f'<diver><owner id="o"><equipment>{tank}</equipment></owner></diver>'
    text = one_dive(
        tankdata='<tankdata><link ref="t"/><tankvolume>0.015</tankvolume></tankdata>'
        '<tankdata><link ref="t"/></tankdata>'
    ).replace("<gasdefinitions>", f"{diver}<gasdefinitions>")
    assert [cylinder.volume_l for cylinder in read(written(text)).dives[0].cylinders] == [15.0, 12.0]


@pytest.mark.published
def test_alarm_stop_and_bookmark_are_kept_once_where_they_begin(read):
    profile = read(SEA).read[0].profile
    assert profile.remarks == (
        Remark(900.0, "bookmark wreck"),
        Remark(1260.0, "alarm: ascent"),
        Remark(1500.0, "safety stop 5 m, 3 min"),
    )
    assert profile.channel("recorded_stop_min")[6:8].tolist() == [3.0, 1.0]


@pytest.mark.published
def test_other_samples_become_channels_in_units_of_the_record(read):
    first, _, third = (item.profile for item in read(SEA).read)
    assert first.channel("temperature_c")[0] == 17.0  # 290.15 K
    assert first.channel("recorded_no_stop_min")[1] == 20.0  # 1200 s
    assert first.channel("ppo2_bar")[5] == 1.4  # 140 000 Pa
    assert third.channel("recorded_otu").tolist() == [0.0, 12.0, 16.5]
    assert third.channel("recorded_cns_fraction").tolist() == [0.0, 0.095, 0.12]


@pytest.mark.published
def test_paragraphs_of_the_notes_keep_their_order(read):
    assert read(SEA).dives[0].notes == "Counted urchins along the ledge.\n\nThe line came loose once."


@pytest.mark.published
def test_stated_surface_intervals_are_kept_and_agree_with_the_clock(read):
    dives = read(SEA).dives
    stated = [dive.extra["uddf:surfaceintervalbeforedive"] for dive in dives]
    assert stated == ["infinity", "3600.0", "79200"]
    clock_s = [(after.began_at - before.ended_at).total_seconds() for before, after in pairwise(dives)]
    assert clock_s == [3600.0, 79200.0]


def test_what_has_no_field_is_kept_under_the_name_of_the_standard(read):
    first, second, _ = read(SEA).dives
    assert first.extra["uddf:platform"] == "pier"
    assert first.extra["uddf:thermalcomfort"] == "cold"
    assert second.extra["uddf:breathingconsumptionvolume"] == "0.00025"


def test_the_encoding_that_the_text_declares_is_honoured(read):
    dive = read(LATIN).dives[1]
    assert dive.site.name == "Kiesgrube Ödmoor, Südseite"
    assert dive.notes.startswith("Grüne Suppe, Öse")


def test_unknown_elements_are_named_once_for_the_file(read):
    (problem,) = [problem for problem in read(LATIN).problems if "not read" in problem.what]
    assert problem.what == "not read: boatlist, waterlevel, planetphase, echo"


def test_the_least_dive_is_accepted_without_samples_and_without_a_gas(read):
    """UDDF 3.2.x schema: start, greatest depth and duration are all that a dive must have."""
    item = read(LATIN).read[0]
    assert (item.dive.max_depth_m, item.dive.duration_min, item.dive.estimate) == (9.7, 25.0, True)
    assert item.profile is None
    assert item.dive.cylinders == ()


def test_a_reference_to_nothing_is_reported_and_the_gas_is_unknown_not_air(read):
    latin = read(LATIN)
    dive = latin.dives[1]
    assert [cylinder.gas for cylinder in dive.cylinders] == [None]
    assert dive.buddies == ()
    assert '"bud_nobody"' in latin.words
    assert '"mix_nowhere"' in latin.words


def test_waypoints_that_go_back_repeat_or_lack_a_number_are_left_out_and_counted(read):
    latin = read(LATIN)
    assert latin.read[1].profile.time_s.tolist() == [0.0, 60.0, 200.5, 540.0]
    assert "4 of 8 waypoints were left out" in latin.words
    assert '"3.0.1"' in latin.words


def test_depth_above_the_surface_stays_as_it_was_recorded(read):
    assert read(LATIN).read[1].profile.depth_m[-1] == -0.3


def test_tankref_is_read_as_ref(read):
    """UDDF 3.2.x documentation, an example of tankpressure; 1.51e7 Pa is 151 bar."""
    assert read(LATIN).read[1].profile.channel("pressure_bar_0")[2] == 151.0


def test_values_in_other_units_are_reported_and_left_out_never_converted(read):
    latin = read(LATIN)
    dive = latin.dives[2]
    (cylinder,) = dive.cylinders
    assert (cylinder.volume_l, cylinder.start_bar, cylinder.end_bar) == (None, None, None)
    assert dive.lowest_temperature_c is None
    for value in ('tankvolume is "10"', 'tankpressurebegin is "210"', 'lowesttemperature is "7.5"'):
        assert value in latin.words


def test_a_rating_beyond_ten_is_reported_not_stored(read):
    latin = read(LATIN)
    assert latin.dives[1].rating is None
    assert 'rating/ratingvalue is "12"' in latin.words


def test_a_longitude_that_cannot_be_is_reported_and_the_rest_of_the_site_kept(read):
    latin = read(LATIN)
    assert (latin.dives[1].site.latitude_deg, latin.dives[1].site.longitude_deg) == (52.5, None)
    assert "longitude" in latin.words


def test_a_day_or_a_month_alone_is_kept_at_noon_and_said_so(read):
    latin, old = read(LATIN), read(OLD)
    assert latin.dives[2].began_at == datetime(2025, 3, 31, 12, tzinfo=UTC)
    assert old.dives[1].began_at == datetime(2024, 8, 1, 12, tzinfo=UTC)
    assert '"2025-03-31"' in latin.words
    assert '"2024-08"' in old.words


def test_a_start_without_a_zone_takes_the_divers_offset_then_the_sites_then_none(read):
    least, night, _ = read(LATIN).dives
    assert (least.utc_offset_min, night.utc_offset_min) == (0, 60)
    assert night.began_at == datetime(2025, 3, 30, 1, 20, tzinfo=UTC)
    told = read(LATIN, utc_offset_min=120)
    assert [dive.utc_offset_min for dive in told.dives] == [120, 120, 120]
    assert "without a time zone" in read(LATIN).words
    assert "without a time zone" not in told.words


def test_a_stated_interval_that_the_clock_contradicts_is_reported(read):
    """With +02:00 throughout, the second dive begins 12 h 40 min after the first ends, not 11 h 40 min."""
    told = read(LATIN, utc_offset_min=120)
    assert "stated surface interval is 700 min, but 760 min" in told.words


@pytest.mark.published
def test_links_directly_under_the_dive_are_followed(read):
    """Older UDDF 3.0 documentation puts them there."""
    dive = read(OLD).dives[0]
    assert dive.site.name == "Upper Corrie Tarn"
    assert dive.buddies == ("Ilka Brand",)
    assert dive.surface_elevation_m == 760.0


def test_a_dive_without_samples_keeps_its_stated_mean_and_its_tank(read):
    dive = read(OLD).dives[0]
    assert (dive.mean_depth_m, dive.estimate) == (6.5, True)
    (cylinder,) = dive.cylinders
    assert (cylinder.volume_l, cylinder.start_bar, cylinder.end_bar, cylinder.gas) == (18.0, 110.0, 50.0, AIR)


def test_infinity_in_words_is_no_trouble(read):
    """One example of the UDDF documentation writes the word inside passedtime."""
    old = read(OLD)
    assert old.dives[0].extra["uddf:surfaceintervalbeforedive"] == "infinity"
    assert "passedtime" not in old.words


def test_a_mix_without_oxygen_or_in_percent_is_an_unknown_gas(read):
    old = read(OLD)
    assert [dive.cylinders[0].gas for dive in old.dives[1:]] == [None, None]
    assert "cylinder without a label" in old.words
    assert 'o2 is "32"' in old.words


def test_a_dive_that_cannot_be_is_named_and_the_others_are_read(read):
    old = read(OLD)
    assert len(old.dives) == 3
    assert "neither a duration" in old.words
    assert "dive 9: the dive was not read: it has no start" in old.words


@pytest.mark.published
def test_version_3_3_nests_tankdata_and_renames_the_measured_oxygen(read):
    item = read(LOOP).read[0]
    first, second = item.dive.cylinders
    assert (first.gas, first.volume_l, first.start_bar) == (BreathingGas(0.18, 0.45), 3.0, 180.0)
    assert (second.gas, second.volume_l) == (None, 11.0)
    assert item.profile.channel("measured_ppo2_bar")[1] == 1.28
    assert item.profile.channel("measured_ppo2_bar_2")[1] == 1.31
    assert item.profile.switches == (GasSwitch(1900.0, 1),)


def test_a_rebreather_is_named_because_the_loading_does_not_hold_for_it(read):
    assert "rebreather" in read(LOOP).words


def test_a_cns_that_may_be_either_unit_is_kept_as_written(read):
    profile = read(LOOP).read[0].profile
    assert profile.channel("recorded_cns_fraction") is None
    assert profile.channel("recorded_cns_as_written")[1] == 0.12


def test_a_stop_at_every_sample_is_remarked_where_it_changes(read):
    remarks = [remark.text for remark in read(LOOP).read[0].profile.remarks]
    assert remarks == ["mandatory stop 9 m, 2 min", "mandatory stop 6 m, 3 min"]


def test_without_tankdata_each_mix_of_the_samples_is_a_cylinder(read):
    marks = read(MARKS)
    assert [cylinder.gas for cylinder in marks.dives[0].cylinders] == [AIR, BreathingGas(0.5)]


def test_a_mark_without_a_depth_is_kept_though_its_waypoint_is_not(read):
    profile = read(MARKS).read[0].profile
    assert profile.time_s.tolist() == [10.0, 300.0, 900.0, 1200.0]
    assert profile.switches == (GasSwitch(0.0, 0), GasSwitch(900.0, 1))
    assert profile.remarks == (Remark(900.0, "alarm: surface"),)


def test_depth_and_duration_come_from_the_samples_where_they_are_not_stated(read):
    dive = read(MARKS).dives[0]
    assert (dive.max_depth_m, dive.duration_min) == (24.2, 20.0)


def test_sampled_values_in_other_units_are_counted_in_one_problem_each(read):
    words = read(MARKS).words
    assert '1 temperature value was left out, the first "15.5" at 10 s' in words
    assert '1 tankpressure value was left out, the first "180" at 300 s' in words


def test_several_cylinders_and_no_switch_take_the_first_and_say_so(one_dive, read, written):
    tanks = '<tankdata><link ref="air"/></tankdata><tankdata><link ref="ean"/></tankdata>'
    outcome = read(written(one_dive(tankdata=tanks)))
    assert outcome.read[0].profile.switches == ()
    assert "the first (air) was taken for the whole dive" in outcome.words


def test_the_only_tank_holds_the_only_gas_that_the_samples_name(one_dive, read, written):
    tanks = "<tankdata><tankpressurebegin>2e7</tankpressurebegin></tankdata>"
    first = PLAIN_WITH_SWITCH.format(ref="ean")
    outcome = read(written(one_dive(tankdata=tanks, waypoints=first)))
    assert [(c.gas, c.start_bar) for c in outcome.dives[0].cylinders] == [(BreathingGas(0.32), 200.0)]
    assert outcome.problems == ()


PLAIN_WITH_SWITCH = (
    '<waypoint><depth>0</depth><divetime>0</divetime><switchmix ref="{ref}"/></waypoint>'
    "<waypoint><depth>12</depth><divetime>600</divetime></waypoint>"
    "<waypoint><depth>0</depth><divetime>1200</divetime></waypoint>"
)


def test_pressures_without_a_tank_follow_the_cylinder_in_use(one_dive, read, written):
    tanks = '<tankdata><link ref="air"/></tankdata><tankdata><link ref="ean"/></tankdata>'
    waypoints = "".join(
        f'<waypoint><depth>5</depth><divetime>{time_s}</divetime><switchmix ref="{mix}"/>'
        f"<tankpressure>{bar}e5</tankpressure></waypoint>"
        for time_s, mix, bar in ((0, "air", 200), (60, "air", 190), (120, "ean", 150), (180, "ean", 140))
    )
    outcome = read(written(one_dive(tankdata=tanks, waypoints=waypoints)))
    profile = outcome.read[0].profile
    assert profile.channel("pressure_bar_0")[:2].tolist() == [200.0, 190.0]
    assert profile.channel("pressure_bar_1")[2:].tolist() == [150.0, 140.0]
    assert profile.switches == (GasSwitch(0.0, 0), GasSwitch(120.0, 1))
    assert "name no tank" in outcome.words


@pytest.mark.parametrize("text", ["", "abc", "1_0", "NaN", "inf", "1e999", "12,5", "0x10"])
def test_a_depth_that_is_no_number_is_reported_and_taken_from_the_samples(text, one_dive, read, written):
    whole = one_dive().replace("<greatestdepth>12.0<", f"<greatestdepth>{text}<")
    outcome = read(written(whole))
    assert outcome.dives[0].max_depth_m == 12.0
    assert "greatestdepth" in outcome.words


@pytest.mark.parametrize("namespace", ["", "3.0/", "3.1/", "3.2/", "3.3/", "3.2"])
def test_every_namespace_of_version_3_and_none_reads_the_same(namespace, one_dive, read, written):
    """UDDF 3.x documentation: one namespace a minor version; its own examples carry none."""
    declared = f' xmlns="http://www.streit.cc/uddf/{namespace}"' if namespace else ""
    text = one_dive().replace(' xmlns="http://www.streit.cc/uddf/3.2/"', declared)
    outcome = read(written(text))
    assert [dive.id for dive in outcome.dives] == [
        dive.id for dive in read(written(one_dive(), "b.uddf")).dives
    ]
    assert outcome.problems == ()


def test_elements_of_another_namespace_are_not_taken_for_those_of_uddf(one_dive, read, written):
    foreign = '<y:visibility xmlns:y="urn:example:other">40</y:visibility><visibility>6</visibility>'
    outcome = read(written(one_dive(after=foreign)))
    assert outcome.dives[0].visibility_m == 6.0
    assert "not read: visibility" in outcome.words


TRIPS = (
    '<divetrip><trip id="north"><name>Sorvane, spring</name><trippart><relateddives><link ref="d2"/>'
    "</relateddives></trippart></trip></divetrip>"
)


@pytest.mark.parametrize(
    ("before", "dive_id"),
    [('<tripmembership ref="north"/>', "d1"), ('<link ref="north"/>', "d1"), ("", "d2")],
    ids=["the dive names it", "by a link", "it names the dive"],
)
@pytest.mark.parametrize("place", ["<profiledata>", "<gasdefinitions>"])
def test_a_trip_is_known_by_either_of_its_ends(one_dive, read, written, before, dive_id, place):
    text = one_dive(before=before).replace('id="d1"', f'id="{dive_id}"').replace(place, TRIPS + place, 1)
    outcome = read(written(text))
    assert outcome.dives[0].trip == "Sorvane, spring"
    assert "north" not in outcome.words


def test_a_trip_that_is_nowhere_defined_is_told(one_dive, read, written):
    outcome = read(written(one_dive(before='<tripmembership ref="south"/>')))
    assert outcome.dives[0].trip == ""
    assert 'links to "south", which the file does not define' in outcome.words


MEDIA = '<mediadata><image id="img-7"><objectname>kelp_wall.jpg</objectname></image></mediadata>'
NOTED = '<notes><para>Slack at ten.</para><link ref="img-7"/></notes>'


def test_a_picture_that_the_notes_refer_to_is_kept_by_its_name(one_dive, read, written):
    text = one_dive(after=NOTED).replace("<gasdefinitions>", MEDIA + "<gasdefinitions>", 1)
    outcome = read(written(text))
    assert outcome.dives[0].notes == "Slack at ten."
    assert outcome.dives[0].extra["uddf:notes.link"] == "kelp_wall.jpg"
    assert "img-7" not in outcome.words


def test_a_picture_that_is_nowhere_defined_is_told(one_dive, read, written):
    outcome = read(written(one_dive(after=NOTED)))
    assert "uddf:notes.link" not in outcome.dives[0].extra
    assert 'links to "img-7", which the file does not define' in outcome.words

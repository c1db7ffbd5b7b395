"""The command line: its keys, its sentences, its exit status. Each test talks to the real logbook."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from at_the_command_line import ROOT, WEEKEND

from logbook_app.analysis.surface_view import left_out_words
from logbook_app.logbook import Logbook

AT_THE_DOCK = "2026-11-14T14:07:00+01:00"

DIVE_KEYS = {"id", "number", "began_at", "duration_min", "max_depth_m", "site", "buddies", "gas"}
ANALYSIS_KEYS = {
    "max_depth_m",
    "mean_depth_m",
    "duration_min",
    "compartments_end",
    "load_end",
    "ceiling_max_m",
    "no_stop_least_min",
    "cns_fraction",
    "otu",
    "minute_volume_l_min",
    "fast_ascents",
    "safety_stop_min",
    "repetitive_group",
}
SERIES_KEYS = {"time_s", "depth_m", "ceiling_m", "no_stop_min", "load", "ppo2_bar", "cns_fraction"}
SURFACE_KEYS = {
    "surface_interval_min",
    "compartments",
    "load",
    "leading_compartment",
    "clear_at",
    "fly_at",
    "fly",
    "cns_fraction",
    "otu_today",
    "repetitive_group",
}


def test_import_reports_what_it_did_and_adds_nothing_twice(cli):
    first = cli.json("import", str(WEEKEND))
    assert set(first) >= {"added", "already_there", "joined", "problems", "notes", "offers", "import_id"}
    assert len(first["added"]) == 2
    assert first["problems"] == []
    again = cli.json("import", str(WEEKEND))
    assert again["added"] == []
    assert sorted(again["already_there"]) == sorted(first["added"])


def test_dives_lists_the_keys_of_the_contract_in_order(weekend):
    listed = weekend.json("dives")
    assert all(set(dive) >= DIVE_KEYS for dive in listed)
    began = [datetime.fromisoformat(dive["began_at"]) for dive in listed]
    assert began == sorted(began)
    assert all(instant.utcoffset() is not None for instant in began)


def test_dive_has_the_keys_of_the_contract_with_and_without_series(weekend):
    dive_id = weekend.json("dives")[-1]["id"]
    short = weekend.json("dive", dive_id)
    assert set(short) == {"dive", "analysis"}
    assert set(short["analysis"]) >= ANALYSIS_KEYS
    assert len(short["analysis"]["compartments_end"]) == 16
    assert SERIES_KEYS & set(short["analysis"]) == {"cns_fraction"}
    whole = weekend.json("dive", dive_id, "--series")["analysis"]
    assert set(whole) >= SERIES_KEYS
    assert len({len(whole[name]) for name in SERIES_KEYS}) == 1
    assert whole["cns_fraction"][-1] == short["analysis"]["cns_fraction"] == whole["cns_end_fraction"]


def test_a_dive_can_be_named_by_its_number(weekend):
    by_number = weekend.json("dive", "#213")["dive"]
    assert by_number["number"] == 213


def test_surface_has_every_key_of_the_contract(weekend):
    state = weekend.json("surface", "--at", AT_THE_DOCK)
    assert set(state) >= SURFACE_KEYS
    assert set(state["fly"]) >= {"guideline_at", "table_at", "model_at", "governed_by"}
    assert len(state["compartments"]) == 16
    assert set(state["compartments"][0]) == {"half_time_min", "n2_bar", "he_bar", "load"}
    assert state["compartments"][state["leading_compartment"] - 1]["load"] == state["load"]


def test_a_pass_is_answered_by_the_same_rules(weekend):
    over = weekend.json("surface", "--at", AT_THE_DOCK, "--pass", "1800")["pass"]
    assert over["elevation_m"] == 1800
    assert over["governed_by"] == "guideline"
    fly = weekend.json("surface", "--at", AT_THE_DOCK)["fly"]
    assert over["guideline_at"] == fly["guideline_at"]
    assert over["model_at"] < fly["model_at"]


def test_a_pass_the_guideline_does_not_speak_of_is_left_to_the_model(weekend):
    """The consensus of 2002 speaks of 2,000 to 8,000 ft, 610 to 2,438 m."""
    low = weekend.json("surface", "--at", AT_THE_DOCK, "--pass", "500")["pass"]
    assert low["guideline_at"] is None
    assert low["governed_by"] == "model"
    never = weekend.json("surface", "--at", AT_THE_DOCK, "--pass", "5400")["pass"]
    assert never["at"] is None


def test_surface_on_an_empty_logbook_is_rest_and_no_times(cli):
    state = cli.json("surface", "--at", AT_THE_DOCK)
    assert state["surface_interval_min"] is None
    assert state["fly_at"] is None
    assert state["load"] == 0


def test_a_clock_that_was_set_back_is_pointed_out_as_in_the_app(weekend):
    """After a flat battery the device thinks that it is summer; the weekend's dives are then in no figure."""
    summer = datetime.fromisoformat("2026-07-01T12:00:00+00:00")
    weekend.tools = replace(weekend.tools, open_logbook=lambda path: Logbook.open(path, now=lambda: summer))
    said = left_out_words(2, summer.astimezone())
    assert "2 dives end after" in said
    assert weekend("surface").stdout.splitlines()[0] == said
    assert weekend.json("surface")["left_out"] == said
    assert weekend("limits").stdout.splitlines()[0] == said
    assert weekend.json("surface", "--at", AT_THE_DOCK)["left_out"] is None  # then they have ended


def test_limits_name_depth_gas_and_greatest_depth(weekend):
    rows = weekend.json("limits", "--at", AT_THE_DOCK, "--gas", "32", "--depths", "18,30,36")
    assert [row["depth_m"] for row in rows] == [18, 30, 36]
    assert all({"no_stop_min", "ppo2_bar", "mod_m"} <= set(row) for row in rows)
    assert [row["over_oxygen_limit"] for row in rows] == [False, False, True]


def test_limits_tell_the_navy_table_apart(weekend):
    """After a lake at 412 m the tables have no answer; a month later, at sea level, they have."""
    row = weekend.json("limits", "--at", AT_THE_DOCK, "--depths", "18")[0]
    assert row["us_navy_no_stop_min"] is None
    assert row["us_navy_outside"]
    later = ("limits", "--at", "2026-12-14T14:00+01:00", "--elevation", "0", "--depths")
    rows = weekend.json(*later, "3,18,30")
    # Table 9-7, Revision 7: 10 fsw unlimited, 60 fsw 63 min, 100 fsw 25 min.
    assert [row["us_navy_no_stop_min"] for row in rows] == [None, 63, 25]
    assert [row["us_navy_outside"] for row in rows] == [None, None, None]
    nitrox = weekend.json(*later, "18", "--gas", "32")[0]
    assert nitrox["us_navy_outside"] == "They hold for air alone."
    assert nitrox["equivalent_air_depth_m"] < 18
    assert 3 < nitrox["density_g_l"] < 4
    assert nitrox["cns_added_fraction"] > 0


def test_limits_say_what_they_rest_on_and_mark_what_cannot_be_breathed(weekend):
    row = weekend.json("limits", "--at", AT_THE_DOCK, "--gas", "5", "--depths", "12")[0]
    assert row["too_little_oxygen"]
    assert row["gradient_factors"] == [0.4, 0.85]
    assert 0.9 < row["surface_bar"] < 1.0
    said = weekend("limits", "--at", AT_THE_DOCK).stdout
    assert "gradient factors 40/85" in said
    assert f"surface at {row['surface_bar']:.3f} bar" in said
    higher = weekend.json("limits", "--at", AT_THE_DOCK, "--elevation", "2000", "--depths", "18")[0]
    here = weekend.json("limits", "--at", AT_THE_DOCK, "--depths", "18")[0]
    assert higher["no_stop_min"] < here["no_stop_min"]


def test_two_dives_that_share_neither_time_nor_depth_are_not_made_one(weekend, capfd):
    assert weekend.status("same-dive", "#213", "#214") == 2
    assert "share neither" in capfd.readouterr().err
    assert len(weekend.json("dives")) == 2


def test_export_writes_what_it_says(weekend, tmp_path):
    path = tmp_path / "out.json"
    assert weekend.json("export", str(path)) == {"written": 2}
    document = json.loads(path.read_text(encoding="utf-8"))
    assert document["format"] == "leadline logbook"
    assert [entry["dive"]["number"] for entry in document["dives"]] == [213, 214]
    assert all(entry["samples"]["time_s"][0] == 0 for entry in document["dives"])


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("surface", "--at", "tomorrow"), "is not a time"),
        (("surface", "--at", "2026-11-14T14:07"), "has no offset"),
        (("surface", "--at", "9999-12-31T23:59+14:00"), "outside the years"),
        (("surface", "--pass", "nan"), "outside 0 to 5500 m"),
        (("limits", "--elevation", "high"), "is not an elevation"),
        (("same-dive", "#213", "#9999"), "9999"),
        (("limits", "--gas", "140"), "1.4 is not between 0 and 1"),
        (("limits", "--depths", "12;18"), "commas between"),
        (("limits", "--depths", "12,900"), "between 0 and 350 m"),
        (("export", "dives.doc"), "ends in .json, .csv, .uddf or .pdf"),
        (("dive", "nothing-like-it"), "nothing-like-it"),
        (("dive", "#9999"), "9999"),
        (("import",), "FILES"),
    ],
)
def test_wrong_usage_is_one_sentence_and_status_2(weekend, capfd, arguments, words):
    assert weekend.status(*arguments) == 2
    said = capfd.readouterr()
    assert words in said.err
    assert "Traceback" not in said.err
    assert said.out == ""


HOSTILE = {
    "empty.uddf": b"",
    "not_a_recording.uddf": bytes(range(256)) * 40,
    "other_root.uddf": b"<?xml version='1.0'?><gpx version='1.1'></gpx>",
    "foreign_namespace.uddf": b"<uddf xmlns='urn:example:not-ours' version='3.2.1'><generator/></uddf>",
    "entity_bomb.uddf": b"<?xml version='1.0'?><!DOCTYPE u [<!ENTITY a 'aaaaaaaaaa'>"
    b"<!ENTITY b '&a;&a;&a;&a;'><!ENTITY c '&b;&b;&b;&b;'>]><uddf>&c;</uddf>",
    "outside_entity.uddf": b"<?xml version='1.0'?><!DOCTYPE u [<!ENTITY x SYSTEM 'file:///etc/passwd'>]>"
    b"<uddf>&x;</uddf>",
    "truncated.uddf": WEEKEND.read_bytes()[:6000],
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_file_that_cannot_be_read_gives_one_sentence_and_leaves_the_logbook_as_it_was(
    weekend, tmp_path, name
):
    before = weekend.json("dives")
    (tmp_path / name).write_bytes(HOSTILE[name])
    report = weekend.json("import", str(tmp_path / name))
    assert report["added"] == []
    assert len(report["problems"]) == 1, report["problems"]
    problem = report["problems"][0]
    assert problem["file"] == name
    assert problem["what"].endswith(".")
    assert weekend.json("dives") == before
    assert weekend("import", str(tmp_path / name)).exit_code == 1


def test_the_other_files_are_read_when_one_is_refused(cli, tmp_path):
    (tmp_path / "empty.uddf").write_bytes(b"")
    report = cli.json("import", str(tmp_path / "empty.uddf"), str(WEEKEND))
    assert len(report["added"]) == 2
    assert len(report["problems"]) == 1


def test_another_divers_dives_do_not_count_in_the_load(weekend):
    before = weekend.json("surface", "--at", AT_THE_DOCK)
    buddies = sorted((ROOT / "demo_data" / "buddies").glob("*.uddf"))
    report = weekend.json("import", "--diver", "Imke", str(buddies[0]))
    assert report["added"]
    assert weekend.json("surface", "--at", AT_THE_DOCK) == before


def test_a_foreign_file_in_place_of_the_logbook_is_refused_and_left_alone(cli):
    cli.path.write_text("this is a letter, not a logbook", encoding="utf-8")
    assert cli.status("dives") == 2
    assert cli.path.read_text(encoding="utf-8") == "this is a letter, not a logbook"


def test_a_file_name_that_is_not_utf_8_is_told_and_kept_all_the_same(cli):
    recording = os.fsencode(cli.folder) + b"/d\xe9p\xf4t.uddf"
    Path(os.fsdecode(recording)).write_bytes(WEEKEND.read_bytes())
    assert len(cli.json("import", os.fsdecode(recording))["added"]) == 2
    refused = os.fsencode(cli.folder) + b"/\xff.uddf"
    Path(os.fsdecode(refused)).write_bytes(b"")
    assert cli.json("import", os.fsdecode(refused))["problems"][0]["file"] == "�.uddf"


def test_what_can_be_done_is_said_as_it_is_done_here(cli, tmp_path):
    """The app says what to touch, the command line names its options; neither speaks for the other."""
    plain = tmp_path / "notes.txt"
    plain.write_text("Two pike.\nNo table.\n")
    told = cli.json("import", str(plain))["problems"][0]
    assert "--" not in told["what"]
    assert "--csv-columns" in told["to_do"]
    assert told["to_do"] in cli("import", str(plain)).stderr
    zoneless = tmp_path / "zoneless.csv"
    zoneless.write_text("# began: 2026-06-14T10:05\ntime (min),depth (m)\n0,0\n1,9\n20,12\n21,0\n")
    told = cli.json("import", str(zoneless))["problems"][0]
    assert "--" not in told["what"]
    assert "--utc-offset" in told["to_do"]

"""`leadline statistics`: the figures of the whole logbook, in words and as JSON."""

from __future__ import annotations

from at_the_command_line import CommandLine


def test_statistics_say_each_part_under_its_heading(weekend: CommandLine) -> None:
    said = weekend("statistics").stdout
    assert said.startswith("All dives: 2 dives, ")
    for part in (
        "Longest dive",
        "By year\n  2026",
        "By month",
        "By greatest depth",
        "Coldest water",
        "Sites",
    ):
        assert part in said


def test_statistics_json_adds_up_to_the_dives(weekend: CommandLine) -> None:
    told, listed = weekend.json("statistics"), weekend.json("dives")
    ids = {dive["id"] for dive in listed}
    assert told["dives"] == len(listed) == 2
    assert {key for part in told["by_depth"] for key in part["dive_ids"]} == ids
    deepest = max(listed, key=lambda dive: dive["max_depth_m"])
    marks = {mark["kind"]: mark for mark in told["marks"]}
    assert marks["deepest"]["value"] == deepest["max_depth_m"]
    assert marks["deepest"]["dive_ids"] == [deepest["id"]]
    assert marks["last"]["on"] == "2026-11-14"
    assert told["minute_volume_l_min"][0]["median"] > 0


def test_a_period_that_is_none_is_refused(weekend: CommandLine) -> None:
    assert weekend.status("statistics", "--period", "forever") == 2
    assert weekend("statistics", "--period", "this-year").exit_code == 0

"""`leadline kit`: what is due, in words and as JSON."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from at_the_command_line import CommandLine

from logbook_app.dive.kit import CareRecord, Check, KitItem, KitSet, usual_care
from logbook_app.dive.record import Dive
from logbook_app.logbook import Logbook


def with_kit(cli: CommandLine) -> None:
    """Two dives, one of which used a regulator that was not serviced for years."""
    logbook = Logbook.open(cli.path)
    began = datetime(2026, 11, 14, 10, tzinfo=UTC)
    logbook.keep_dives(
        [
            Dive(began_at=began + timedelta(hours=later), duration_min=40.0, max_depth_m=18.0, estimate=True)
            for later in (0, 3)
        ]
    )
    logbook.kit.keep(KitItem(id="m", name="Mask", kind="mask"))
    regulator = KitItem(
        id="r", name="Cold regulator", kind="regulator", dives_before=90, intervals=usual_care("regulator")
    )
    logbook.kit.keep(regulator)
    logbook.kit.note_care(CareRecord(id="c", item_id="r", check=Check.SERVICE, done_on=date(2020, 5, 1)))
    logbook.kit.keep_set(KitSet(id="s", name="Cold water", item_ids=("r", "m", "gone")))
    dive = logbook.dives()[0]
    logbook.change_dive(dive.id, kit=(regulator.used,))
    logbook.close()


def test_kit_lists_the_most_urgent_first_with_the_caution_last(cli: CommandLine) -> None:
    with_kit(cli)
    lines = cli("kit", "--on", "2026-11-20").stdout.splitlines()
    assert lines[0].startswith("Cold regulator  Regulator · 91 dives")
    assert lines[1] == "    Service: overdue by 5 years · 99 dives left (every 12 months or 100 dives)"
    assert lines[2] == "Mask  Mask · 0 dives, 0.0 h"
    assert lines[3] == "Set Cold water: Cold regulator, Mask"
    assert "local rules" in lines[4]


def test_kit_json_has_every_figure(cli: CommandLine) -> None:
    with_kit(cli)
    told = cli.json("kit", "--on", "2026-11-20")
    regulator, mask = told["pieces"]
    (due,) = regulator["due"]
    assert (due["state"], due["due_on"], due["dives_left"]) == ("overdue", "2021-05-01", 99)
    assert due["since"]["dives"] == 1
    assert [care["on"] for care in regulator["care"]] == ["2020-05-01"]
    assert (mask["use"], mask["due"]) == ({"dives": 0, "hours": 0.0}, [])
    assert told["sets"] == [{"id": "s", "name": "Cold water", "pieces": ["r", "m", "gone"]}]


def test_a_dive_says_which_kit_it_used_and_keeps_it_when_the_piece_goes(cli: CommandLine) -> None:
    with_kit(cli)
    logbook = Logbook.open(cli.path)
    logbook.kit.delete("r")
    logbook.close()
    (first, _second) = cli.json("dives")
    told = cli.json("dive", first["id"])
    assert told["dive"]["kit"] == [{"id": "r", "name": "Cold regulator"}]
    assert [piece["id"] for piece in cli.json("kit")["pieces"]] == ["m"]


def test_an_empty_shelf_is_said(cli: CommandLine) -> None:
    assert cli("kit").stdout == "No piece of kit is written down yet.\n"


def test_reminders_come_once_a_day_and_not_where_they_are_not_wanted(cli: CommandLine) -> None:
    with_kit(cli)
    logbook = Logbook.open(cli.path)
    assert [line.item.id for line in logbook.kit.to_remind_of()] == ["r"]
    assert logbook.kit.to_remind_of() == []
    logbook.kit.set_reminders(False)
    assert not logbook.kit.reminds()
    assert logbook.kit.to_remind_of() == []
    logbook.kit.set_reminders(True)
    logbook.kit.keep(replace(logbook.kit.view().line("r").item, retired=True))
    assert logbook.kit.to_remind_of() == []
    logbook.close()

"""Correcting a dive from the command line, its history, and the way back: the record is then equal."""

from __future__ import annotations

import pytest


def dive(cli, named="#213"):
    return cli.json("dive", named)["dive"]


@pytest.mark.parametrize(
    ("words", "field", "after"),
    [
        ("weights_kg=6.5", "weights_kg", 6.5),
        ("weights_kg=", "weights_kg", None),
        ("rating=8", "rating", 8),
        ("number=400", "number", 400),
        ("notes=Two = pike", "notes", "Two = pike"),
        ("buddies=Imke R., Tom", "buddies", ["Imke R.", "Tom"]),
        ("tags=night,wreck", "tags", ["night", "wreck"]),
        ("water=sea", "water", "sea"),
        ("trip=Gannock week", "trip", "Gannock week"),
        ("supervised_by=Imke R.", "supervised_by", "Imke R."),
        ("role=in training", "role", "in training"),
        ("environments=night, cold water", "environments", ["night", "cold water"]),
        ("began_at=2026-11-14T09:15+02:00", "began_at", "2026-11-14T09:15:00+02:00"),
        ("began_at=2026-11-14T08:15", "began_at", "2026-11-14T08:15:00+01:00"),
    ],
)
def test_a_field_is_changed_and_put_back_from_the_history(weekend, words, field, after):
    before = dive(weekend)
    changed = weekend.json("edit", "#213", words)
    assert weekend.json("dive", before["id"])["dive"][field] == after
    lines = [line for line in weekend.json("history", before["id"]) if line["change"] == changed["change"]]
    assert field in {line["field"] for line in lines}
    weekend.json("put-back", before["id"], *(str(line["id"]) for line in lines))
    assert dive(weekend) == before
    assert weekend.json("history", before["id"])[0]["why"] == "put back"


def test_cylinders_are_changed_added_and_taken_away(weekend):
    before = dive(weekend)["cylinders"]
    count = len(before)
    new = f"cylinder{count + 1}"
    weekend.json("edit", "#213", "cylinder1.end_bar=40", f"{new}.gas=18/45", f"{new}.volume_l=7")
    after = dive(weekend)["cylinders"]
    assert after[0] == before[0] | {"end_bar": 40.0}
    assert (after[-1]["gas"]["name"], after[-1]["volume_l"]) == ("trimix 18/45", 7.0)
    weekend.json("edit", "#213", f"{new}=", f"cylinder1.end_bar={before[0]['end_bar']}")
    assert dive(weekend)["cylinders"] == before


def test_a_site_is_changed_here_or_for_all_dives_there(weekend):
    sites = {named: dive(weekend, named)["site"] for named in ("#213", "#214")}
    weekend.json("edit", "#214", f"site={sites['#213']['name']}")
    assert dive(weekend, "#214")["site"] == sites["#213"]
    weekend.json("edit", "#213", "site.region=Nordmark", "site.latitude_deg=46.5", "--all-dives-there")
    for named in ("#213", "#214"):
        assert dive(weekend, named)["site"] == sites["#213"] | {"region": "Nordmark", "latitude_deg": 46.5}


def test_what_changes_nothing_says_so(weekend):
    weight = dive(weekend)["weights_kg"]
    assert weekend.json("edit", "#213", f"weights_kg={weight or ''}") == {"dives": [], "change": None}
    assert "Nothing changed" in weekend("edit", "#213", f"weights_kg={weight or ''}").stdout


def test_words_say_how_to_take_it_back_and_take_back_does(weekend):
    before = dive(weekend)
    said = weekend("edit", "#213", "rating=8", "suit=7 mm").stdout
    assert said.splitlines()[0] == "Changed 1 dive."
    number = said.split("leadline take-back ")[1].strip()
    told = weekend("history", "#213").stdout
    assert "Rating: " in told
    assert " -> 8 of 10" in told
    assert f"leadline put-back {before['id']} " in told
    assert "Import of a recording" in told
    weekend.json("take-back", number)
    assert dive(weekend) == before


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("edit", "#213", "weights_kg"), "Write FIELD=VALUE"),
        (("edit", "#213", "weights_kg=six"), "not a number"),
        (("edit", "#213", "rating=8.5"), "not a whole number"),
        (("edit", "#213", "rating=11"), "A rating of 11"),
        (("edit", "#213", "colour=red"), "colour is no field that can be changed"),
        (("edit", "#213", "duration_min=20"), "follow its recording"),
        (("edit", "#213", "duration_min="), "cannot be left out"),
        (("edit", "#213", "began_at=yesterday"), "not a time"),
        (("edit", "#213", "water=beer"), "recorder, fresh or sea"),
        (("edit", "#213", "cylinder9.gas=32"), "cylinders; the next one is"),
        (("edit", "#213", "cylinder1.colour=red"), "a cylinder has no such field"),
        (("edit", "#213", "cylinder1.start_bar=10", "cylinder1.end_bar=200"), "end pressure is above"),
        (("edit", "#213", "cylinder1.gas=beer"), "beer"),
        (("edit", "#213", "site.depth=3"), "a site has no such field"),
        (("edit", "#213", "notes=x", "--all-dives-there"), "site alone"),
        (("edit", "#213", "extra.wave=small"), "no text that can be changed"),
        (("edit", "nobody", "notes=x"), "nobody"),
        (("history", "nobody"), "nobody"),
        (("put-back", "#213", "999"), "no such line"),
        (("take-back", "999"), "no change 999"),
    ],
)
def test_what_cannot_be_done_is_one_sentence_and_changes_nothing(weekend, capfd, arguments, words):
    before = weekend.json("dives"), weekend.json("history", "#213")
    assert weekend.status(*arguments) == 2
    said = capfd.readouterr().err
    assert words in said
    assert "Traceback" not in said
    assert (weekend.json("dives"), weekend.json("history", "#213")) == before

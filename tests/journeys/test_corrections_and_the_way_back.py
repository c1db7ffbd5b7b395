"""A dive is corrected, its history is read, and what was changed is put back: the record is then equal.

Every way in which the logbook changes a dive leaves its line. Dives and recordings are invented.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.kit import UsedKit
from logbook_app.dive.problems import RefusedRecord, UnknownChange, UnknownDive
from logbook_app.dive.record import Dive, Site, Water
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import AIR, BreathingGas

pytestmark = pytest.mark.law

NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)
QUARRY = Site.named("Old quarry", elevation_m=420.0, water=Water.FRESH)

# One value for each field that can be changed, other than a hand entry has.
EDITS: dict[str, Any] = {
    "number": 77,
    "began_at": NOON + timedelta(minutes=25),
    "utc_offset_min": 120,
    "duration_min": 51.0,
    "max_depth_m": 23.4,
    "mean_depth_m": 11.5,
    "site": QUARRY,
    "buddies": ("Imke R.", "Tom"),
    "cylinders": (Cylinder(BreathingGas(0.32), 12.0, 210.0, 60.0), Cylinder(AIR)),
    "kit": (UsedKit("fins", "Long fins"),),
    "weights_kg": 6.5,
    "suit": "drysuit",
    "air_temperature_c": 21.0,
    "lowest_temperature_c": 9.5,
    "visibility_m": 8.0,
    "current": "weak",
    "conditions": "calm",
    "purpose": "training",
    "notes": "Two pike under the jetty.",
    "rating": 8,
    "tags": ("night",),
    "trip": "Gannock week",
    "diver": "Imke R.",
    "surface_bar": 0.965,
    "elevation_m": 430.0,
    "water": Water.SEA,
}


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    at = [NOON + timedelta(days=20)]

    def clock() -> datetime:
        at[0] += timedelta(seconds=1)
        return at[0]

    with closing(Logbook.open(tmp_path / "logbook.leadline", now=clock)) as opened:
        yield opened


def written(logbook: Logbook, began: datetime = NOON, **more: Any) -> Dive:
    entry = HandEntry(began_local=began, duration_min=45.0, max_depth_m=18.0, **more)
    return logbook.add_by_hand(entry)[0]


@pytest.mark.parametrize("field", EDITS)
def test_a_field_is_changed_and_put_back_from_the_history(logbook: Logbook, field: str) -> None:
    dive = written(logbook)
    changes = logbook.change_dive(dive.id, **{field: EDITS[field]})
    assert getattr(logbook.dive(dive.id), field) == EDITS[field]
    lines = [line for line in logbook.history(dive.id) if line.change == changes.change_id]
    assert field in {line.field for line in lines}
    logbook.put_back(dive.id, [line.id for line in lines])
    assert logbook.dive(dive.id) == dive
    assert logbook.history(dive.id)[-1].why == "put back"


def test_the_same_value_again_is_no_change(logbook: Logbook) -> None:
    dive = written(logbook)
    assert logbook.change_dive(dive.id, notes=dive.notes).change_id == 0
    assert len(logbook.history(dive.id)) == 1


def test_undo_takes_back_what_nobody_changed_since(logbook: Logbook) -> None:
    dive = written(logbook)
    both = logbook.change_dive(dive.id, notes="first", rating=5)
    logbook.change_dive(dive.id, notes="second")
    logbook.take_back(both.change_id)
    assert logbook.dive(dive.id) == replace(dive, notes="second")
    with pytest.raises(UnknownChange, match="no change 999"):
        logbook.take_back(999)


@pytest.mark.parametrize("sent", ["undo", "put back"])
def test_deleting_and_restoring_are_lines_and_have_a_way_back(logbook: Logbook, sent: str) -> None:
    dive = written(logbook)
    gone = logbook.delete_dive(dive.id)
    assert logbook.dives() == []
    if sent == "undo":
        logbook.take_back(gone.change_id)
    else:
        logbook.put_back(dive.id, [logbook.history(dive.id)[-1].id])
    assert logbook.dives() == [dive]
    back = logbook.delete_dive(dive.id), logbook.restore_dive(dive.id)
    assert [line.why for line in logbook.history(dive.id)] == ["hand", "delete", sent, "delete", "restore"]
    logbook.take_back(back[1].change_id)
    assert logbook.dives() == []


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"began_at": NOON + timedelta(days=300)}, "still to come"),
        ({"began_at": NOON + timedelta(hours=3, minutes=20)}, "would overlap dive 2"),
        ({"duration_min": 300.0}, "would overlap dive 2"),
        ({"rating": 0}, "rating"),
        ({"cylinders": (Cylinder(AIR, 12.0, 50.0, 100.0),)}, "end pressure"),
        ({"colour": "red"}, "colour is no field"),
    ],
)
def test_what_cannot_be_changes_nothing(logbook: Logbook, given: dict[str, Any], words: str) -> None:
    dive = written(logbook)
    written(logbook, NOON + timedelta(hours=3))
    with pytest.raises(RefusedRecord, match=words):
        logbook.change_dive(dive.id, **given)
    assert logbook.dive(dive.id) == dive
    assert len(logbook.history(dive.id)) == 1


def test_another_divers_dive_may_lie_beside_but_not_become_the_owners(logbook: Logbook) -> None:
    """Derived: a buddy is down at the same time; the owner himself is in one place."""
    written(logbook)
    buddys = replace(written(logbook, NOON + timedelta(hours=2)), diver="Imke", began_at=NOON)
    logbook.keep_dives([buddys])
    with pytest.raises(RefusedRecord, match="would overlap dive 1"):
        logbook.change_dive(buddys.id, diver="")


def test_a_corrected_depth_changes_what_the_next_dive_carried(logbook: Logbook) -> None:
    first = written(logbook)
    second = written(logbook, NOON + timedelta(hours=2))
    before = logbook.dive_view(second.id).analysis
    changes = logbook.change_dive(first.id, max_depth_m=30.0)
    after = logbook.dive_view(second.id).analysis
    assert after.load_end > before.load_end
    logbook.take_back(changes.change_id)
    assert logbook.dive_view(second.id).analysis.load_end == before.load_end


def test_a_corrected_gas_changes_the_state_at_the_surface(logbook: Logbook) -> None:
    dive = written(logbook, NOON + timedelta(days=19, hours=23))
    on_air = logbook.surface().load_now
    logbook.change_dive(dive.id, cylinders=(Cylinder(BreathingGas(0.36)),))
    assert logbook.surface().load_now < on_air


def test_a_site_is_corrected_here_or_everywhere(logbook: Logbook) -> None:
    one, two = (written(logbook, NOON + timedelta(hours=h), site=QUARRY) for h in (0, 3))
    away = written(logbook, NOON + timedelta(hours=6), site=Site.named("Pier"))
    assert logbook.dives_at_site_of(one.id) == 2
    logbook.change_site(one.id, replace(QUARRY, elevation_m=440.0))
    assert [_elevation(logbook, dive) for dive in (one, two)] == [440.0, 420.0]
    changes = logbook.change_site(
        two.id, replace(QUARRY, name="Quarry lake", region="Nordmark"), everywhere=True
    )
    assert changes.dives == {one.id, two.id}
    sites = [logbook.dive(dive.id).site for dive in (one, two, away)]
    assert [site.name for site in sites if site] == ["Quarry lake", "Quarry lake", "Pier"]
    assert _elevation(logbook, one) == 440.0  # what was said of this dive alone stays
    logbook.take_back(changes.change_id)
    assert logbook.dive(two.id) == two


def _elevation(logbook: Logbook, dive: Dive) -> float | None:
    return logbook.dive(dive.id).surface_elevation_m


def test_a_site_in_the_bin_is_corrected_with_the_others(logbook: Logbook) -> None:
    one, two = (written(logbook, NOON + timedelta(hours=h), site=QUARRY) for h in (0, 3))
    logbook.delete_dive(two.id)
    logbook.change_site(one.id, replace(QUARRY, region="Nordmark"), everywhere=True)
    logbook.restore_dive(two.id)
    assert logbook.dive(two.id).site == logbook.dive(one.id).site


def test_an_unknown_dive_is_named(logbook: Logbook) -> None:
    asks: list[Callable[[], object]] = [
        lambda: logbook.change_dive("nowhere", notes=""),
        lambda: logbook.change_site("nowhere", None),
        lambda: logbook.history("nowhere"),
        lambda: logbook.put_back("nowhere", [1]),
    ]
    for ask in asks:
        with pytest.raises(UnknownDive):
            ask()
    dive = written(logbook)
    with pytest.raises(UnknownChange, match="no such line"):
        logbook.put_back(dive.id, [999])


TABLE = "# began: {began}\n# gas: air\ntime (s),depth (m)\n"


@pytest.fixture
def recorded(logbook: Logbook, tmp_path: Path) -> Dive:
    rows = [(0, 0.0), (120, 12.0), (600, 17.5), (1500, 18.1), (2400, 5.0), (2700, 0.0)]
    path = tmp_path / "wrist.csv"
    text = TABLE.format(began=NOON.isoformat()) + "\n".join(f"{s},{m}" for s, m in rows)
    path.write_text(text)
    (dive_id,) = logbook.import_files([path]).added
    return logbook.dive(dive_id)


def test_imports_joins_and_shifts_leave_their_lines_and_have_a_way_back(
    logbook: Logbook, recorded: Dive
) -> None:
    by_hand = replace(written(logbook, NOON + timedelta(hours=4), notes="By hand."), began_at=NOON)
    logbook.keep_dives([by_hand])
    logbook.join_dives(recorded.id, by_hand.id)
    lines = logbook.history(recorded.id)
    assert [line.why for line in lines[:1]] == ["import"]
    assert {line.why for line in lines[1:]} == {"join"}
    assert logbook.history(by_hand.id)[-1].why == "join"
    shift = logbook.shift_clock([recorded.id], 60)
    assert [line.why for line in logbook.history(recorded.id) if line.field == "began_at"] == ["shift"]
    logbook.put_back(recorded.id, [logbook.history(recorded.id)[-1].id])
    assert logbook.dive(recorded.id).began_at == NOON
    assert logbook.undo_import(shift.undo_id).dives == {recorded.id}  # nothing is left to take back
    assert logbook.dive(recorded.id).began_at == NOON


def test_two_records_made_one_are_parted_again_from_the_history(logbook: Logbook, recorded: Dive) -> None:
    by_hand = replace(written(logbook, NOON + timedelta(hours=4), notes="By hand."), began_at=NOON)
    logbook.keep_dives([by_hand])
    logbook.join_dives(by_hand.id, recorded.id)  # the recording leads the record that was written
    assert len(logbook.dives()) == 1
    lines = [line for line in logbook.history(by_hand.id) if line.why == "join"]
    assert "recordings" in {line.field for line in lines}
    logbook.put_back(by_hand.id, [line.id for line in lines])
    assert {dive.id: dive for dive in logbook.dives()} == {by_hand.id: by_hand, recorded.id: recorded}


def test_what_a_recorder_measured_is_not_put_back_to_what_was_written(
    logbook: Logbook, recorded: Dive
) -> None:
    by_hand = replace(written(logbook, NOON + timedelta(hours=4)), began_at=NOON)
    logbook.keep_dives([by_hand])
    for minutes in (46.0, 47.0):
        logbook.change_dive(by_hand.id, duration_min=minutes)
    line = logbook.history(by_hand.id)[-1]
    logbook.join_dives(by_hand.id, recorded.id)
    with pytest.raises(RefusedRecord, match="follow its recording"):
        logbook.put_back(by_hand.id, [line.id])

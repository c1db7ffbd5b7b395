"""What a logbook shows the club, what comes of it in another member's, and what the club refuses."""

# ruff: noqa: F811  (fixtures of another module are taken by their names)

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import NoClub, RefusedRecord
from logbook_app.dive.profile import GasSwitch, Profile, Remark, profile_digest, profile_to_bytes
from logbook_app.dive.record import Recording, Site
from logbook_app.physics.breathing_gas import AIR
from logbook_app.sync.merging import values_of
from logbook_app.sync.shown_dives import PARTS, ShownDive, shown_name
from tests.dive.strategies import plain_dive
from tests.server.test_logbooks_and_a_club import address, home, invited, logbook, quick  # noqa: F401

pytestmark = pytest.mark.law

PROFILE = Profile(
    np.arange(0.0, 1200.0, 10.0),
    np.concatenate([np.linspace(0, 18, 40), np.full(40, 18.0), np.linspace(18, 0, 40)]),
    {"temperature_c": np.full(120, 11.0), "heart_rate_min": np.full(120, 81.0)},
    (GasSwitch(0.0, 0),),
    (Remark(60.0, "felt unwell"),),
)


def with_samples(dive_id: str, **more: Any) -> tuple[Any, list[Profile]]:
    data = profile_to_bytes(PROFILE)
    dive = plain_dive(
        id=dive_id,
        max_depth_m=18.0,
        duration_min=20,
        recordings=(Recording(f"f-{dive_id}", profile_digest(data), "wrist", "ada-wrist.uddf"),),
        site=Site("s", "Wreck of the Ada", latitude_deg=46.1234, longitude_deg=9.4321),
        cylinders=(Cylinder(AIR, 12.0, 200.0, 60.0, "the rented one"),),
        notes="unwell, and so was Bo",
        buddies=("Bo",),
        estimate=False,
        **more,
    )
    return dive, [PROFILE]


@pytest.fixture
def ada(logbook, home, address):
    ada = logbook("ada")
    ada._store.save([with_samples("d1")])
    ada.club.join(address, invited(home, "Ada"))
    ada.club.sync()
    return ada


@pytest.fixture
def bo(logbook, home, address):
    bo = logbook("bo")
    bo.club.join(address, invited(home, "Bo"))
    bo.club.sync()
    return bo


def synced(*logbooks: Any) -> None:
    for each in logbooks:
        outcome = each.club.sync().outcome
        assert outcome.counts_agree
        assert not outcome.not_accepted


def everything_in(one: Any) -> bytes:
    one._store._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return one.path.read_bytes()


def test_nothing_is_shown_before_the_diver_says_so(ada, bo):
    synced(ada, bo)
    assert bo.for_others.of_others() == []
    assert not ada.for_others.showing("d1").shown
    assert b"Wreck" not in everything_in(bo)


def test_a_shown_dive_arrives_as_somebody_else_s_and_counts_nowhere(ada, bo):
    ada.for_others.show(["d1"])
    synced(ada, bo)
    (dive,) = bo.for_others.of_others()
    assert (dive.diver, dive.site.name, dive.max_depth_m, dive.estimate) == (
        "Ada",
        "Wreck of the Ada",
        18.0,
        False,
    )
    assert dive.site.latitude_deg is None
    assert bo.dives() == []
    assert bo.own_dives() == []
    assert bo.surface().last_dive_id is None
    assert bo.rows() == []
    assert bo.check() == []
    assert bo.dive_view(dive.id).profile.depth_m.max() == 18.0
    told = everything_in(bo)
    for secret in (b"unwell", b"46.1234", b"rented", b"wrist", b"heart", b'"d1"', b'"Bo"'):
        assert secret not in told


def test_samples_that_are_shown_hold_time_depth_temperature_and_gas_alone(ada, bo):
    ada.for_others.show(["d1"])
    synced(ada, bo)
    (dive,) = bo.for_others.of_others()
    shown = bo.profile_of(dive)
    assert set(shown.channels) == {"temperature_c"}
    assert shown.remarks == ()
    assert shown.switches == PROFILE.switches
    assert (shown.depth_m == PROFILE.depth_m).all()
    ada.for_others.show(["d1"], ["place"])
    synced(ada, bo)
    (dive,) = bo.for_others.of_others()
    assert (dive.profile_sha256, dive.cylinders, dive.estimate) == (None, (), True)


def test_the_diver_sees_exactly_what_others_get(ada, bo):
    would = ada.for_others.showing("d1")
    assert would.joined
    assert would.parts == ("place", "gas", "samples")
    ada.for_others.show(["d1"], PARTS)
    synced(ada, bo)
    showing = ada.for_others.showing("d1")
    assert showing.shown
    (key,) = [key for key in bo._store.sync.decided_keys() if ":d1" in key]
    got = values_of(bo._store.sync.decided(key))
    assert {name: got[name] for name in ("site", "buddies", "diver", "parts")} == {
        "site": showing.sees.site, "buddies": ["Bo"], "diver": "Ada", "parts": list(PARTS),
    }  # fmt: skip
    assert set(got) - {"readers"} == set(ShownDive.__slots__)


def test_what_is_shown_follows_the_dive_and_goes_to_the_bin_with_it(ada, bo):
    ada.for_others.show(["d1"])
    ada.change_dive("d1", site=Site("s2", "The quarry"), notes="still unwell")
    synced(ada, bo)
    assert [dive.site.name for dive in bo.for_others.of_others()] == ["The quarry"]
    ada.delete_dive("d1")
    synced(ada, bo)
    assert bo.for_others.of_others() == []
    ada.restore_dive("d1")
    synced(ada, bo)
    assert [dive.site.name for dive in bo.for_others.of_others()] == ["The quarry"]


def test_what_is_withdrawn_is_forgotten_with_its_samples_and_can_be_shown_again(ada, bo):
    ada.for_others.show(["d1"])
    synced(ada, bo)
    (dive,) = bo.for_others.of_others()
    withdrawn = ada.for_others.withdraw(["d1"])
    synced(ada, bo)
    assert bo.for_others.of_others() == []
    assert bo._store.sync.blob_size(dive.profile_sha256) is None
    assert bo.check() == []
    ada.for_others.put_back(withdrawn)
    synced(ada, bo)
    (again,) = bo.for_others.of_others()
    assert bo.profile_of(again) == bo.profile_of(dive)


def test_another_device_of_the_diver_knows_what_is_shown_and_can_withdraw_it(ada, bo, logbook, home, address):
    ada.for_others.show(["d1"])
    ada.club.sync()
    tablet = logbook("tablet")
    tablet.club.join(address, invited(home, "Ada"))
    synced(tablet, bo)
    assert tablet.for_others.shown_ids() == {"d1"}
    assert tablet.dives() == ada.dives()
    assert tablet.for_others.of_others() == []
    assert tablet.check() == []
    tablet.for_others.withdraw(["d1"])
    synced(tablet, ada, bo)
    assert ada.for_others.shown_ids() == set()
    assert bo.for_others.of_others() == []


def test_new_dives_are_shown_where_the_diver_wants_that_and_older_ones_are_not(ada, bo):
    ada.change_settings(replace(ada.settings(), shows_new_dives=True, shown_parts="place", name="Ada B."))
    ada._store.save([with_samples("d2"), with_samples("d3", diver="Cy")])
    synced(ada, bo)
    assert [(dive.diver, dive.profile_sha256) for dive in bo.for_others.of_others()] == [("Ada B.", None)]
    ada.change_settings(replace(ada.settings(), name="A."))
    synced(ada, bo)
    assert [dive.diver for dive in bo.for_others.of_others()] == ["A."]


def test_two_devices_that_edit_a_shown_dive_show_what_the_dive_says(ada, bo, logbook, home, address):
    ada.for_others.show(["d1"])
    ada.club.sync()
    tablet = logbook("tablet")
    tablet.club.join(address, invited(home, "Ada"))
    tablet.club.sync()
    ada.change_dive("d1", site=Site("a", "North wall"))
    tablet.change_dive("d1", site=Site("b", "South wall"))
    synced(ada, tablet, ada, tablet)
    assert [name for _key, name in ((key, each.name) for key, each in ada.club.conflicts())] == ["site"]
    (found,) = ada.club.two_sides()
    wanted = next(side for side in found.sides if side.value.name == "South wall")
    ada.club.choose(found.key, found.name, wanted.change)
    synced(ada, tablet, bo)
    assert [dive.site.name for dive in bo.for_others.of_others()] == ["South wall"]
    assert not tablet.club.conflicts()
    synced(ada, tablet)
    for each in (ada, tablet):
        assert each.club.sync().outcome.sent == 0


def test_only_the_owner_s_dives_can_be_shown_and_only_to_a_club(ada, logbook):
    alone = logbook("alone")
    alone._store.save([with_samples("d1")])
    assert not alone.for_others.showing("d1").joined
    with pytest.raises(NoClub, match="join a club"):
        alone.for_others.show(["d1"])
    ada._store.save([with_samples("d9", diver="Cy")])
    with pytest.raises(RefusedRecord, match="somebody else's"):
        ada.for_others.show(["d9"])
    assert set(ada.for_others.show(["d1", "d9"]).before) == {"d1"}


def test_a_shown_dive_is_compared_with_one_s_own(ada, bo):
    ada.for_others.show(["d1"])
    bo._store.save([with_samples("mine")])
    synced(ada, bo)
    (pair,) = bo.buddies.likely()
    assert (pair.own.id, pair.other.diver) == ("mine", "Ada")
    assert {dive.diver for dive in bo.buddies.to_choose_from("mine")} == {"", "Ada"}
    assert [each.side.dive_id for each in bo.compare(["mine", pair.other.id]).others] == [pair.other.id]


def test_who_leaves_the_club_forgets_what_others_showed(ada, bo):
    ada.for_others.show(["d1"])
    synced(ada, bo)
    bo.club.leave()
    assert bo.for_others.of_others() == []
    assert b"Wreck" not in everything_in(bo)


# What the club refuses


@pytest.fixture
def refused(ada, home):
    """A dive that the club has removed for good while this device was away, edited twice."""
    member = ada._store.sync.state().member
    home.ledger.write_removed(f"{member}/dive:d1")
    with home.store.change():
        home.club._drop(f"{member}/dive:d1")
    ada.change_dive("d1", notes="calm")
    ada.change_dive("d1", tags=("wreck",))
    assert ada.club.sync().outcome.not_accepted == 2
    return ada


def test_a_refused_change_is_told_with_what_it_holds(refused):
    (found,) = refused.refused.all()
    assert (found.kind, found.verdict, found.can_keep) == ("dive", "gone", True)
    assert (found.dive.notes, found.dive.tags) == ("calm", ("wreck",))
    assert refused.club.state().not_accepted == 1


def test_what_was_refused_is_kept_as_a_new_dive_and_that_is_undone(refused):
    (found,) = refused.refused.all()
    dealt = refused.refused.keep(found.changes)
    (dive,) = refused.dives()
    assert dive.id != "d1"
    assert (dive.notes, dive.tags, dive.profile_sha256) == ("calm", ("wreck",), found.dive.profile_sha256)
    assert refused.refused.all() == []
    with pytest.raises(RefusedRecord, match="settled meanwhile"):
        refused.refused.keep(found.changes)
    synced(refused)
    refused.refused.take_back(dealt)
    assert [each.id for each in refused.dives()] == ["d1"]
    assert refused.refused.all() == [found]
    synced(refused)


def test_what_was_refused_is_let_go_and_that_is_undone(refused):
    (found,) = refused.refused.all()
    dealt = refused.refused.let_go(found.changes)
    assert refused.refused.all() == []
    assert refused.club.state().not_accepted == 0
    synced(refused)
    refused.refused.take_back(dealt)
    assert refused.refused.all() == [found]


def test_the_record_that_shows_a_dive_has_a_name_of_its_own():
    assert shown_name("d1") == "shown:d1"
    assert shown_name("größer").startswith("shown:")
    assert shown_name("größer") == shown_name("größer") != shown_name("kleiner")

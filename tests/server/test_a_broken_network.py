"""Three devices of two divers and the real server, through a network that loses, repeats, delays and cuts.

Everything is real but the network: logbook files, the device's core with its patience, HTTP on
127.0.0.1, the server. Whatever the network did, in the end every device has everything that is its own
or shown to it, once, and nothing that was deleted or withdrawn.
"""

# ruff: noqa: F811  (fixtures of another module are taken by their names)

from __future__ import annotations

import contextlib
import random
from collections import Counter
from functools import partial
from typing import Any

import pytest

from logbook_app.dive.problems import LeadlineError
from tests.server.test_dives_for_others import with_samples
from tests.server.test_logbooks_and_a_club import address, home, invited, logbook, quick  # noqa: F401
from tests.sync.bad_network import BadNetwork

pytestmark = pytest.mark.law

FAULTS = (
    "refuse", "busy", "swallow", "twice", "late", "delayed", "old",
    *(f"cut {length}" for length in (1, 20, 90, 140, 250, 400)),
)  # fmt: skip
MOST_TRIES = 60


def until_it_works(work: Any) -> None:
    for _again in range(MOST_TRIES):
        try:
            if not getattr(work(), "trouble", ""):
                return
        except LeadlineError:
            continue
    raise AssertionError("it never worked")


def once(work: Any) -> None:
    """Try; whatever comes of it the diver goes on."""
    with contextlib.suppress(LeadlineError):
        work()


@pytest.mark.parametrize("seed", range(4))
def test_nothing_is_lost_and_all_are_equal_in_the_end(home, address, logbook, seed):
    chance = random.Random(seed)
    happened: Counter[str] = Counter()

    def fault(_number: int) -> str:
        chosen = chance.choice(FAULTS) if chance.random() < 0.4 else ""
        happened[chosen.split()[0] if chosen else ""] += 1
        return chosen

    network = BadNetwork(address, fault)
    phone, tablet, bo = logbook("phone"), logbook("tablet"), logbook("bo")
    phone._store.save([with_samples(f"d{number}") for number in range(5)])
    bo._store.save([with_samples("b1")])
    for each, name in ((phone, "Ada"), (tablet, "Ada"), (bo, "Bo")):
        until_it_works(partial(each.club.join, network.address, invited(home, name)))
    phone.for_others.show(["d0", "d1"])
    bo.for_others.show(["b1"])
    for each in (phone, tablet, bo):
        once(each.club.sync)
    phone.change_dive("d2", notes="calm", tags=("wreck",))
    phone.delete_dive("d3")
    phone.for_others.withdraw(["d1"])
    once(phone.club.sync)
    if any(dive.id == "d2" for dive in tablet.dives()):
        tablet.change_dive("d2", suit="dry")
    once(tablet.club.sync)
    for each in (bo, phone, tablet):
        until_it_works(each.club.sync)

    network.fault = lambda _number: ""
    network.deliver_late()
    for _round in range(2):
        for each in (phone, tablet, bo):
            assert each.club.sync().outcome.counts_agree
    network.close()

    assert phone.dives() == tablet.dives()
    assert {dive.id for dive in phone.dives()} == {"d0", "d1", "d2", "d4"}
    assert (phone.dive("d2").notes, phone.dive("d2").tags) == ("calm", ("wreck",))
    assert phone.club.conflicts() == []
    assert [each.diver for each in bo.for_others.of_others()] == ["Ada"]
    for each in (phone, tablet):
        assert [(shown.diver, shown.estimate) for shown in each.for_others.of_others()] == [("Bo", False)]
        assert each.for_others.shown_ids() == {"d0"}
    for each in (phone, tablet, bo):
        assert each.club.state().waiting == 0
        assert each.refused.all() == []
        assert each.check() == []
    lines = Counter(line.change for line in home.store.lines(0, 10**6) if line.change)
    assert max(lines.values()) == 1
    assert sum(happened.values()) > happened[""] > 0

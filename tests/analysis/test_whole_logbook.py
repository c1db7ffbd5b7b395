"""Many dives together leave what each leaves alone; what is kept is worked out no more than it must be."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from dives_by_hand import NITROX_50, NOON, dive_of

import logbook_app.analysis.chain_of_dives as chain_of_dives
from logbook_app.analysis.chain_of_dives import ChainOfDives
from logbook_app.analysis.dive_analysis import Rules, analyse
from logbook_app.analysis.repetitive_dives import carried_into, end_state
from logbook_app.analysis.whole_logbook import left_by_each
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.profile import GasSwitch, Profile
from logbook_app.dive.record import Water
from logbook_app.physics.breathing_gas import AIR, BreathingGas

RULES = Rules()
TRIMIX = BreathingGas(0.18, 0.45)


def recorded(random, minutes: float, deepest_m: float, step_s: float = 10.0, **fields) -> Profile:
    time_s = np.arange(0.0, minutes * 60 + 1, step_s)
    along = time_s / time_s[-1]
    depth_m = deepest_m * np.interp(along, [0, 0.08, 0.5, 0.8, 0.9, 1], [0, 1, 0.9, 0.4, 0.2, 0])
    depth_m[1:-1] += random.uniform(0.0, 0.2, len(depth_m) - 2)
    return Profile(time_s, np.round(depth_m, 1), **fields)


def two_weeks(seed: int = 1, dives: int = 14) -> list[tuple]:
    """Return dives of all kinds a few hours or days apart."""
    random, book, at = np.random.default_rng(seed), [], NOON
    for number in range(dives):
        minutes, deepest_m = random.uniform(20.0, 60.0), random.uniform(8.0, 48.0)
        if number % 9 == 4:
            samples = None
            dive = dive_of(None, at, duration_min=minutes, max_depth_m=min(deepest_m, 18.0))
        else:
            switches = (GasSwitch(minutes * 45.0, 1),) if number % 4 == 1 else ()
            channels = {}
            samples = recorded(random, minutes, deepest_m, step_s=random.choice([1.0, 10.0, 20.0]))
            if number % 11 == 7:
                on = np.ones(len(samples))
                channels = {"on_loop": on, "set_ppo2_bar": 1.2 * on}
            samples = Profile(samples.time_s, samples.depth_m, channels, switches)
            gas = TRIMIX if number % 13 == 6 else random.choice([AIR, BreathingGas(0.32)])
            dive = dive_of(
                samples,
                at,
                cylinders=(Cylinder(gas), Cylinder(NITROX_50)),
                surface_bar=float(random.choice([1.01325, 0.95])),
                water=Water.SEA if number % 5 == 0 else Water.RECORDER,
            )
        book.append((dive, samples))
        at += timedelta(minutes=minutes + random.choice([5.0, 60.0, 200.0, 900.0, 3000.0]))
    far = book[-1][0]
    later = replace(far, id="later", began_at=far.began_at + timedelta(days=40))
    return [*book, (later, book[-1][1])]


def one_by_one(book, before=None):
    for dive, samples in book:
        carried = carried_into(dive, before)
        before = end_state(dive, analyse(dive, samples, carried, RULES))
        yield carried, before


@pytest.mark.law
@pytest.mark.parametrize("seed", range(3))
def test_many_dives_together_leave_what_each_leaves_alone(seed):
    book = two_weeks(seed)
    together = left_by_each(book, None, RULES)
    for found, (carried, alone) in zip(together, one_by_one(book), strict=True):
        assert np.abs(found.state.tensions.n2_bar - alone.tensions.n2_bar).max() < 1e-9
        assert np.abs(found.state.tensions.he_bar - alone.tensions.he_bar).max() < 1e-9
        assert np.abs(found.carried.tensions.n2_bar - carried.tensions.n2_bar).max() < 1e-9
        assert found.state.cns_fraction == pytest.approx(alone.cns_fraction, abs=1e-9)
        assert found.state.day_oxygen_fraction == pytest.approx(alone.day_oxygen_fraction, abs=1e-9)
        assert found.state.otu == pytest.approx(alone.otu, abs=1e-7)
        for name in ("began_at", "ended_at", "state_at", "required_stops", "table", "estimate", "dive_id"):
            assert getattr(found.state, name) == getattr(alone, name), name


@pytest.mark.law
def test_a_dive_leaves_the_same_to_the_last_bit_whichever_dives_it_is_looked_at_with():
    book = two_weeks(3)
    together, before = left_by_each(book, None, RULES), None
    for found, pair in zip(together, book, strict=True):
        (alone,) = left_by_each([pair], before, RULES)
        assert (alone.state.tensions.n2_bar == found.state.tensions.n2_bar).all()
        assert (alone.state.tensions.he_bar == found.state.tensions.he_bar).all()
        assert alone.state.cns_fraction == found.state.cns_fraction
        before = alone.state


@pytest.fixture
def counted(monkeypatch):
    """Return the dives that were worked out, as they are."""
    worked: list[str] = []

    def count(dives, before, rules):
        worked.extend(dive.id for dive, _ in dives)
        return left_by_each(dives, before, rules)

    monkeypatch.setattr(chain_of_dives, "left_by_each", count)
    return worked


def chain_over(book, kept=None) -> ChainOfDives:
    samples = {dive.id: profile for dive, profile in book}
    return ChainOfDives(RULES, lambda dive: samples[dive.id], kept or {})


def test_a_chain_is_worked_out_once_and_kept(counted, monkeypatch):
    monkeypatch.setattr(chain_of_dives, "DIVES_AT_ONCE", 4)
    book = two_weeks()
    dives = [dive for dive, _ in book]
    chain = chain_over(book)
    first = chain.end_states(dives)
    kept = chain.to_keep()
    assert chain.end_states(dives[:10]) == first[:10]
    assert len(counted) == len(set(counted)) == len(dives)
    assert not chain.to_keep()
    again = chain_over(book, kept).end_states(dives)
    assert len(counted) == len(dives)
    assert all((a.tensions.n2_bar == b.tensions.n2_bar).all() for a, b in zip(first, again, strict=True))


def test_a_changed_first_dive_is_felt_until_its_load_has_gone(counted):
    """1e-9 bar of a hundredth of a bar is 23 half-times of 635 min, which is ten days.

    The dives are 26 h apart, so that the tables, which look back 24 h, do not carry the change on.
    """
    random = np.random.default_rng(2)
    samples = recorded(random, 40.0, 20.0)
    book = [(dive_of(samples, NOON + timedelta(hours=26 * day)), samples) for day in range(19)]
    chain = chain_over(book)
    before = chain.end_states([dive for dive, _ in book])
    counted.clear()
    deeper = recorded(random, 40.0, 30.0)
    changed = [(replace(book[0][0], max_depth_m=30.0), deeper), *book[1:]]
    kept = {dive_id: data for dive_id, data in chain.to_keep().items() if dive_id != book[0][0].id}
    after = chain_over(changed, kept).end_states([dive for dive, _ in changed])
    exact = [state for _, state in one_by_one(changed)]
    assert 5 < len(counted) < 19
    assert counted == [dive.id for dive, _ in book[: len(counted)]]
    assert np.abs(after[1].tensions.n2_bar - before[1].tensions.n2_bar).max() > 1e-3
    for found, expected in zip(after, exact, strict=True):
        assert np.abs(found.tensions.n2_bar - expected.tensions.n2_bar).max() < 2e-9


def test_a_dive_taken_out_of_the_middle_changes_what_rests_on_it(counted):
    book = two_weeks(dives=6)
    chain = chain_over(book)
    chain.end_states([dive for dive, _ in book])
    counted.clear()
    without = book[:2] + book[3:]
    found = chain_over(book, chain.to_keep()).end_states([dive for dive, _ in without])
    assert counted
    assert counted[0] == without[2][0].id
    for state, (_, expected) in zip(found, one_by_one(without), strict=True):
        assert np.abs(state.tensions.n2_bar - expected.tensions.n2_bar).max() < 2e-9
        assert state.table == expected.table

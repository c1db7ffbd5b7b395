"""Thousands of dives at once must say what the exact functions say of each dive alone."""

import dataclasses

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from invented_logbook import OneDive, joined, wandering, with_switches, years_of_diving

from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.ceiling import signed_ceiling_m
from logbook_app.physics.consecutive_dives import Chain, chained, figures_along
from logbook_app.physics.dive_uptake import Uptake, ends_along_chain, followed_by, uptake_along
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.physics.many_dives import ManyDives
from logbook_app.physics.no_stop_limit import no_stop_min
from logbook_app.physics.oxygen_exposure import cns_fraction_along, otu_along
from logbook_app.physics.residual_load import load_by_compartment
from logbook_app.physics.tissue_loading import Tensions, after_constant, load_along, saturated_on_air

FACTORS = GradientFactors()

# Double precision is carried from dive to dive; the figures are single.
TENSION_BAR = 1e-9
CEILING_M, LOAD, NO_STOP_MIN, PPO2_BAR, CNS, OTU = 1e-4, 1e-5, 0.01, 1e-6, 1e-4, 0.01


def carried_one_by_one(dives: ManyDives):
    """Yield start tensions and the tensions at every sample, dive after dive by the exact functions."""
    end = None
    for dive in range(len(dives)):
        surface_bar, at = dives.surface_bar[dive], dives.samples(dive)
        if end is None or np.isinf(dives.interval_min[dive]):
            start = saturated_on_air(surface_bar)
        else:
            start = after_constant(end, dives.surface_bar[dive - 1], AIR, dives.interval_min[dive])
        n2_bar, he_bar = load_along(
            start, dives.time_min[at], dives.ambient_bar[at], dives.n2_fraction[at], dives.he_fraction[at]
        )
        end = Tensions(n2_bar[-1], he_bar[-1])
        yield at, start, n2_bar, he_bar


def largest_gap(found, exact) -> float:
    assert (np.isnan(found) == np.isnan(exact)).all()
    return float(np.nanmax(np.abs(found - exact), initial=0.0))


def no_stop_gap_min(found, exact) -> float:
    """Return the largest gap beyond the rounding that a long time brings, 1e-5 of it."""
    one_says_none = np.isnan(found) != np.isnan(exact)
    assert (np.fmax(found, exact)[one_says_none] > 1430.0).all()  # at the very end of the day they may differ
    return float(np.nanmax(np.abs(found - exact) - 1e-5 * exact, initial=0.0))


def assert_agrees_with_the_exact_way(dives: ManyDives, chain: Chain) -> None:
    figures = figures_along(chain, FACTORS)
    for dive, (at, start, n2_bar, he_bar) in enumerate(carried_one_by_one(dives)):
        surface_bar, ambient_bar = dives.surface_bar[dive], dives.ambient_bar[at]
        n2, he = dives.n2_fraction[at], dives.he_fraction[at]
        oxygen, into = 1.0 - n2 - he, figures.of(dive)
        assert np.abs(chain.start_n2_bar[dive] - start.n2_bar).max() < TENSION_BAR
        assert np.abs(chain.end_n2_bar[dive] - n2_bar[-1]).max() < TENSION_BAR
        assert np.abs(chain.start_he_bar[dive] - start.he_bar).max() <= TENSION_BAR
        assert np.abs(chain.end_he_bar[dive] - he_bar[-1]).max() <= TENSION_BAR
        ceiling_m = signed_ceiling_m(n2_bar, he_bar, surface_bar, FACTORS.low, dives.density_kg_m3[dive])
        assert largest_gap(figures.ceiling_m[into], ceiling_m) < CEILING_M
        load = load_by_compartment(n2_bar, he_bar, surface_bar, FACTORS.high).max(axis=1)
        assert largest_gap(figures.load[into], load) < LOAD
        limit_min = no_stop_min(n2_bar, he_bar, ambient_bar, surface_bar, n2, he, FACTORS.high)
        assert no_stop_gap_min(figures.no_stop_min[into], limit_min) < NO_STOP_MIN
        assert largest_gap(figures.ppo2_bar[into], ambient_bar * oxygen) < PPO2_BAR
        doses = dives.time_min[at], ambient_bar[:-1] * oxygen[:-1], ambient_bar[1:] * oxygen[:-1]
        assert largest_gap(figures.cns_fraction[into], cns_fraction_along(*doses)) < CNS
        assert largest_gap(figures.otu[into], otu_along(*doses)) < OTU


@pytest.mark.law
@pytest.mark.parametrize("seed", range(6))
def test_years_of_diving_agree_with_the_exact_way(seed):
    dives = years_of_diving(seed)
    assert_agrees_with_the_exact_way(dives, chained(dives))


@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(
    samples=st.integers(1, 70),
    slots=st.integers(1, 33),
    switches=st.lists(st.integers(1, 69), max_size=3, unique=True).map(sorted),
    step_s=st.sampled_from([1.0, 10.0, 60.0]),
)
@example(samples=17, slots=1, switches=[1, 2, 3], step_s=1.0)  # pure oxygen beyond 30 m
def test_a_switch_at_any_place_of_a_lane(samples, slots, switches, step_s):
    shares = (0.5, 0.32, 1.0)
    dive = wandering(np.random.default_rng(samples), step_s, samples)
    changed = with_switches(dive, *zip(switches, shares, strict=False))
    dives = joined([changed, wandering(np.random.default_rng(slots), step_s, 40, interval_min=45.0)])
    assert_agrees_with_the_exact_way(dives, chained(dives, slots))


@pytest.mark.law
@pytest.mark.parametrize(("slots", "lanes_at_once"), [(8, 10_000), (16, 37), (32, 1), (64, 500)])
def test_lanes_of_any_length_and_number_say_the_same(slots, lanes_at_once):
    dives = years_of_diving(7)
    usual, other = chained(dives), chained(dives, slots, lanes_at_once)
    assert np.abs(usual.end_n2_bar - other.end_n2_bar).max() < 1e-12
    figures, again = figures_along(usual, FACTORS), figures_along(other, FACTORS)
    for dive in range(len(dives)):
        ceiling_m = figures.ceiling_m[figures.of(dive)]
        assert np.abs(ceiling_m - again.ceiling_m[again.of(dive)]).max() < CEILING_M


@pytest.mark.law
def test_dives_that_do_not_follow_one_another_may_stand_in_any_order():
    random = np.random.default_rng(3)
    book = [wandering(random, random.choice([2.0, 10.0]), 90) for _ in range(12)]
    there, back = (figures_along(chained(joined(dives)), FACTORS) for dives in (book, book[::-1]))
    for dive in range(12):
        there_m, back_m = there.ceiling_m[there.of(dive)], back.ceiling_m[back.of(11 - dive)]
        assert np.abs(there_m - back_m).max() < CEILING_M


@pytest.mark.law
def test_helium_counts_in_the_dives_after_it_and_lets_go_in_the_end():
    random = np.random.default_rng(4)
    deep = wandering(random, 10.0, 200)
    deep.oxygen, deep.helium = 0.18, 0.45
    later = [wandering(random, 10.0, 200, interval_min=minutes) for minutes in (60.0, 60.0, 9000.0)]
    dives = joined([deep, *later])
    chain = chained(dives)
    assert chain.alone.tolist() == [True, True, True, False]
    assert_agrees_with_the_exact_way(dives, chain)


@pytest.mark.law
@pytest.mark.parametrize("held_bar", [0.599, 0.6, 0.601, 1.6, 1.605])
def test_an_oxygen_pressure_held_at_a_step_of_the_table(held_bar):
    """The clock starts with a jump at 0.60 bar and has a corner at 1.60: both must be met exactly."""
    depth_m = np.full(181, (held_bar / 0.4 - 1.0) * 10.0)
    dives = joined([OneDive(np.arange(181) / 6, depth_m, 0.4, surface_bar=1.0)])
    found = figures_along(chained(dives), FACTORS)
    exact = cns_fraction_along(dives.time_min, np.full(180, held_bar), np.full(180, held_bar))
    assert np.abs(found.cns_fraction[found.of(0)] - exact).max() < 3e-3 * exact.max() + 1e-7


@pytest.mark.law
def test_the_maps_of_two_dives_join_into_the_map_of_both():
    dives = years_of_diving(11, dives=2)
    at = [dives.samples(0), dives.samples(1)]
    fields = dives.time_min, dives.ambient_bar, dives.n2_fraction, dives.he_fraction
    first, second = ([uptake_along(*(field[samples] for field in fields))[0]] for samples in at)
    start_bar = np.linspace(0.5, 3.0, 16)
    one_by_one = second[0].end_bar(first[0].end_bar(start_bar))
    assert np.allclose(followed_by(first[0], second[0]).end_bar(start_bar), one_by_one, rtol=0, atol=1e-14)


@pytest.mark.law
@settings(max_examples=50, deadline=None)
@given(st.lists(st.tuples(st.sampled_from([0.0, 0.3, 0.9]), st.floats(0.0, 2.0)), min_size=1, max_size=60))
def test_a_chain_joined_in_pairs_is_the_chain_walked_step_by_step(steps):
    kept = np.array([[keeps] for keeps, _ in steps])
    gained = np.array([[gains] for _, gains in steps])
    kept[0] = 0.0
    walked, end = [], 0.0
    for keeps, gains in zip(kept[:, 0], gained[:, 0], strict=True):
        end = keeps * end + gains
        walked.append(end)
    assert np.allclose(ends_along_chain(Uptake(kept, gained))[:, 0], walked, rtol=0, atol=1e-13)


def test_a_field_of_another_length_is_refused():
    dives = years_of_diving(1, dives=3)
    with pytest.raises(ValueError, match="surface_bar has the shape"):
        dataclasses.replace(dives, surface_bar=np.ones(2))
    with pytest.raises(ValueError, match="needs a sample"):
        dataclasses.replace(dives, count=np.array([0, 0, 0]))

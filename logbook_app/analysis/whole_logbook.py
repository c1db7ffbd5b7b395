"""What each of many dives left, worked out for all of them together.

The first look at an imported logbook needs the end of every dive of a chain and none of its curves. One by
one that is a full analysis each; together the physics takes them a few hundred at a time
(`consecutive_dives`). Tensions and doses are as exact as in `dive_analysis`, to the rounding of doubles.

Closed circuits, whose inspired pressure is no share of the pressure around, are analysed one by one where
they stand in the chain. So is a dive that came so close to needing a stop that single precision cannot tell.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, groupby, pairwise
from operator import itemgetter

import numpy as np

from logbook_app.analysis.breathed_samples import Breathed, breathed_samples
from logbook_app.analysis.dive_analysis import Carried, Rules, analyse, dive_proper, instant_of, table_view
from logbook_app.analysis.oxygen_doses import oxygen_doses
from logbook_app.analysis.repetitive_dives import (
    FORGOTTEN_AFTER,
    EndState,
    carried_into,
    end_state,
    is_lower,
)
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.physics.consecutive_dives import Chain, chained, figures_along
from logbook_app.physics.dive_uptake import Uptake
from logbook_app.physics.many_dives import ManyDives
from logbook_app.physics.tissue_loading import Tensions
from logbook_app.physics.units import FloatArray

# Lanes of one length, so that a dive's map does not hang on how many others there are.
_SLOTS = 32

# A load this near to the limit in single precision may be on either side of it.
_TOO_NEAR = 1e-4


@dataclass(frozen=True, slots=True)
class Left:
    """What was carried into a dive, and what the dive left."""

    carried: Carried
    state: EndState


def left_by_each(
    dives: Sequence[tuple[Dive, Profile | None]], before: EndState | None, rules: Rules
) -> list[Left]:
    """Return what each dive of a chain left.

    dives    records with their samples, in order of their start; None takes a square profile
    before   what the dive before the first of them left, None where there was none
    """
    left: list[Left] = []
    looks = [_Look(dive, profile) for dive, profile in dives]
    # What is carried down to a lower place is no plain surface interval: the maps begin anew there.
    surfaces_bar = [look.breathed.surface_bar for look in looks]
    stays = accumulate((is_lower(now, last) for last, now in pairwise(surfaces_bar)), initial=0)
    kinds = [(look.breathed.loop is None, stay) for look, stay in zip(looks, stays, strict=True)]
    for (open_circuit, _), some in groupby(zip(kinds, looks, strict=True), key=itemgetter(0)):
        work = _together if open_circuit else _one_by_one
        left.extend(work([look for _, look in some], left[-1].state if left else before, rules))
    return left


class _Look:
    """A dive, its samples, and the samples as the physics takes them."""

    def __init__(self, dive: Dive, profile: Profile | None) -> None:
        self.dive, self.profile = dive, profile
        self.breathed: Breathed = breathed_samples(dive, profile)


def _one_by_one(looks: Sequence[_Look], before: EndState | None, rules: Rules) -> Iterator[Left]:
    for look in looks:
        carried = carried_into(look.dive, before)
        before = end_state(look.dive, analyse(look.dive, look.profile, carried, rules))
        yield Left(carried, before)


def _together(looks: Sequence[_Look], before: EndState | None, rules: Rules) -> Iterator[Left]:
    many = _laid_end_to_end(looks)
    chain = chained(many, slots=_SLOTS, start=carried_into(looks[0].dive, before).tensions)
    most = _largest_load(chain, rules)
    for place, look in enumerate(looks):
        carried = carried_into(look.dive, before)
        if abs(most[place] - 1.0) < _TOO_NEAR:
            before = end_state(look.dive, analyse(look.dive, look.profile, carried, rules))
        else:
            before = _state(
                look, carried, _end(chain, place, carried), required_stops=bool(most[place] > 1.0)
            )
        yield Left(carried, before)


def _end(chain: Chain, place: int, carried: Carried) -> Tensions:
    """Return a dive's end from its own map, the same to the last bit whichever dives it is looked at with."""
    n2, he = (Uptake(gas.kept[place], gas.gained_bar[place]) for gas in (chain.n2, chain.he))
    return Tensions(n2.end_bar(carried.tensions.n2_bar), he.end_bar(carried.tensions.he_bar))


def _state(look: _Look, carried: Carried, tensions: Tensions, *, required_stops: bool) -> EndState:
    dive, breathed = look.dive, look.breathed
    doses = oxygen_doses(breathed, carried.cns_fraction)
    begin, end = dive_proper(breathed)
    return EndState(
        dive_id=dive.id,
        began_at=instant_of(dive, breathed, begin),
        ended_at=instant_of(dive, breathed, end),
        state_at=instant_of(dive, breathed, -1),
        utc_offset_min=dive.utc_offset_min,
        surface_bar=breathed.surface_bar,
        tensions=tensions,
        cns_fraction=float(doses.cns_fraction[-1]),
        day_oxygen_fraction=doses.day_fraction,
        otu=doses.otu,
        required_stops=required_stops,
        estimate=look.profile is None,
        table=table_view(dive, breathed, begin, end, carried.table),
    )


def _laid_end_to_end(looks: Sequence[_Look]) -> ManyDives:
    samples = [look.breathed for look in looks]
    return ManyDives(
        count=np.array([len(one.time_s) for one in samples]),
        time_min=np.concatenate([one.time_s for one in samples]) / 60,
        ambient_bar=np.concatenate([one.ambient_bar for one in samples]),
        n2_fraction=np.concatenate([one.nitrogen for one in samples]),
        he_fraction=np.concatenate([one.helium for one in samples]),
        surface_bar=np.array([one.surface_bar for one in samples]),
        density_kg_m3=np.array([look.dive.water.density_kg_m3 for look in looks]),
        interval_min=np.array([np.inf, *(_interval_min(*pair) for pair in pairwise(looks))]),
    )


def _interval_min(earlier: _Look, later: _Look) -> float:
    """Return the time on air between two dives, infinite where the first is forgotten by then. [min]"""
    interval = later.dive.began_at - instant_of(earlier.dive, earlier.breathed, -1)
    return np.inf if interval > FORGOTTEN_AFTER else max(0.0, interval.total_seconds() / 60)


def _largest_load(chain: Chain, rules: Rules) -> FloatArray:
    """Return the largest load of the leading compartment along each dive. [fraction]"""
    figures = figures_along(chain, rules.factors)
    return np.array([figures.load[figures.of(dive)].max() for dive in range(len(chain.dives))])

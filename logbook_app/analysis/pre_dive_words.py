"""A pre-dive card in words: what is on it, what is not yet, and what a gas in it allows."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime
from typing import Final

from logbook_app.analysis.planned_and_dived import planned_words
from logbook_app.analysis.spoken_times import clock_time, moment
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.pre_dive_card import Fitness, GasAnalysis, KitCheck, PreDiveCard
from logbook_app.language import _, later, number
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.equivalent_depths import maximum_operating_depth_m
from logbook_app.physics.units import feet_from_metres, metres_from_feet

BY_DIVER: Final = "self"
"""Who analysed a gas, where it was the diver; any other text is a name."""

KIT_WORDS: Final = {
    KitCheck.VALVE: later("Cylinder valves open"),
    KitCheck.BREATHED: later("Breathed from every second stage while watching the gauge"),
    KitCheck.PRESSURE: later("Pressure read: enough for the dive and the reserve"),
    KitCheck.BUOYANCY: later("Jacket or wing fills, holds and empties"),
    KitCheck.WEIGHTS: later("Weights in place, and both know how they come off"),
    KitCheck.BUCKLES: later("Buckles closed, hoses and lights where they belong"),
}
FITNESS_WORDS: Final = {Fitness.FIT: later("Fit to dive"), Fitness.NOT_FIT: later("Not fit to dive")}
CAUTION: Final = later(
    "A card reminds and records; it makes no dive safe. Whether to dive is for you and your buddy to decide, "
    "by your training and the local rules. In doubt about your health, ask a physician who knows diving."
)


def greatest_depth_m(gas: BreathingGas, ppo2_limit_bar: float, units: SpokenUnits) -> float:
    """Return the greatest depth of a gas at a limit of oxygen, rounded to the surface: 0.1 m or 1 ft. [m]"""
    depth_m = float(maximum_operating_depth_m(gas, ppo2_limit_bar))
    if units.metric:
        return math.floor(depth_m * 10 + 1e-9) / 10
    return float(metres_from_feet(math.floor(feet_from_metres(depth_m) + 1e-9)))


def analysis_words(analysis: GasAnalysis, ppo2_limit_bar: float, units: SpokenUnits, here: datetime) -> str:
    """Return one analysis: the gas, how deep it may go, who read the analyser and when.

    here   any instant in the zone that the times are told in
    """
    gas = analysis.gas
    shares = _("{oxygen} % oxygen").format(oxygen=number(gas.oxygen * 100, ".1f"))
    if gas.helium:
        shares = _("{shares}, {percent} % helium").format(
            shares=shares, percent=number(gas.helium * 100, ".1f")
        )
    who = {"": _("nobody named"), BY_DIVER: _("the diver")}.get(analysis.by, analysis.by)
    return _(
        "{gas}: {shares}. Greatest depth {depth} at your limit of {limit} bar of oxygen. "
        "Analysed by {who}, {when}."
    ).format(
        gas=gas.name.capitalize(),
        shares=shares,
        depth=units.depth(greatest_depth_m(gas, ppo2_limit_bar, units)),
        limit=number(ppo2_limit_bar, ".2f"),
        who=who,
        when=clock_time(analysis.at.astimezone(here.tzinfo)),
    )


def card_lines(
    card: PreDiveCard, ppo2_limit_bar: float, units: SpokenUnits, *, with_contacts: bool = True
) -> Iterator[tuple[str, str]]:
    """Yield what is written on a card, each part with its name; what is not written is left out.

    with_contacts   False leaves the emergency contacts out: they are other people's, and a page goes round
    """
    yield _("Begun"), moment(card.begun_local)
    if card.site:
        yield _("Place"), card.site
    if card.kit_checked:
        yield _("Kit checked"), "\n".join(_kit_words(name) for name in card.kit_checked)
    for analysis in card.analyses:
        yield _("Gas"), analysis_words(analysis, ppo2_limit_bar, units, card.begun_local)
    if card.fitness:
        yield _("Fitness"), _(FITNESS_WORDS[card.fitness])
    if card.checked_with:
        yield _("Checked with"), ", ".join(card.checked_with)
    for name, words in (
        (_("Emergency contacts"), card.contacts if with_contacts else ""),
        (_("Nearest oxygen"), card.nearest_oxygen),
        (_("Emergency plan"), card.plan),
    ):
        if words.strip():
            yield name, words.strip()
    if card.planned_line is not None:
        yield _("Planned"), planned_words(card.planned_line, units)


def not_yet_words(card: PreDiveCard) -> str:
    """Return what a card does not say yet, in one sentence; empty where every part says something."""
    unchecked = len(KIT_WORDS) - sum(check in card.kit_checked for check in KIT_WORDS)
    kit = _("{count} of {all} checks of the kit").format(count=unchecked, all=len(KIT_WORDS))
    parts = (
        (bool(card.site), _("the place")),
        (not unchecked, kit),
        (bool(card.analyses), _("an analysis of the gas")),
        (bool(card.fitness), _("whether you are fit")),
        (bool(card.checked_with), _("whom you checked it with")),
        (bool(card.contacts.strip()), _("contacts")),
        (bool(card.nearest_oxygen.strip()), _("the nearest oxygen")),
        (bool(card.plan.strip()), _("the plan")),
    )
    lacking = [words for there, words in parts if not there]
    return _("Not on the card yet: {parts}.").format(parts=", ".join(lacking)) if lacking else ""


def _kit_words(name: str) -> str:
    """Return a check in words; one that a later program knows stays as it is named."""
    return _(KIT_WORDS[KitCheck(name)]) if name in set(KitCheck) else name

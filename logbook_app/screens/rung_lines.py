"""One rung of the ladder in words: what is dissolved in a compartment and when it is clear."""

from __future__ import annotations

from datetime import datetime

from logbook_app.analysis.compartment_state import CompartmentState
from logbook_app.analysis.dive_analysis import Rules
from logbook_app.analysis.spoken_units import percent
from logbook_app.language import _
from logbook_app.language import number as number_words
from logbook_app.physics.residual_load import CLEAR_LOAD
from logbook_app.screens import wording


def rung_words(number: int, compartment: CompartmentState, rules: Rules, at: datetime, now: datetime) -> str:
    """Return all that is known of a compartment, a sentence a line.

    number   1 to 16, fastest first
    at       the instant that is shown
    now      by the clock on the dock, whose zone the words use
    """
    half_times = _(
        "Compartment {number} of 16: half-time {nitrogen} min for nitrogen, {helium} min for helium."
    ).format(
        number=number,
        nitrogen=_half_time(compartment.n2_half_time_min),
        helium=_half_time(compartment.he_half_time_min),
    )
    tensions = _(
        "Nitrogen {nitrogen} bar, helium {helium} bar; it may surface with {limit} bar "
        "(gradient factor {factor})."
    ).format(
        nitrogen=number_words(compartment.n2_bar, ".2f"),
        helium=number_words(compartment.he_bar, ".2f"),
        limit=number_words(compartment.limit_bar, ".2f"),
        factor=percent(rules.factors.high),
    )
    load = _("Load {load}, {before} at surfacing.").format(
        load=_share(compartment.load), before=_share(compartment.load_at_surfacing)
    )
    return f"{half_times}\n{tensions}\n{load} {_clear(compartment, at, now)}"


def _half_time(minutes: float) -> str:
    return number_words(minutes, "g")


def _share(load: float) -> str:
    """Return a load as the page says it; under equilibrium it is none."""
    return percent(max(0.0, load))


def _clear(compartment: CompartmentState, at: datetime, now: datetime) -> str:
    if compartment.clear_at is None:
        return _("It is clear.")
    when = wording.soon(compartment.clear_at.astimezone(now.tzinfo), now)
    over = compartment.clear_at <= at
    said = (
        _("Clear since {when}: at or under {limit}.")
        if over
        else _("Clear from {when}: at or under {limit}.")
    )
    return said.format(when=when, limit=percent(CLEAR_LOAD))

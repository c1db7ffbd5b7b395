"""One rung of the ladder in words: what is dissolved in a compartment and when it is clear."""

from __future__ import annotations

from datetime import datetime

from logbook_app.analysis.compartment_state import CompartmentState
from logbook_app.analysis.dive_analysis import Rules
from logbook_app.analysis.spoken_units import percent
from logbook_app.physics.residual_load import CLEAR_LOAD
from logbook_app.screens import wording


def rung_words(number: int, compartment: CompartmentState, rules: Rules, at: datetime, now: datetime) -> str:
    """Return all that is known of a compartment, a sentence a line.

    number   1 to 16, fastest first
    at       the instant that is shown
    now      by the clock on the dock, whose zone the words use
    """
    return "\n".join(
        (
            f"Compartment {number} of 16: half-time {wording.half_time(compartment.n2_half_time_min)} min "
            f"for nitrogen, {wording.half_time(compartment.he_half_time_min)} min for helium.",
            f"Nitrogen {compartment.n2_bar:.2f} bar, helium {compartment.he_bar:.2f} bar; it may surface with "
            f"{compartment.limit_bar:.2f} bar (gradient factor {rules.factors.high:.0%}).".replace("%", " %"),
            f"Load {_share(compartment.load)}, {_share(compartment.load_at_surfacing)} at surfacing. "
            f"{_clear(compartment, at, now)}",
        )
    )


def _share(load: float) -> str:
    """Return a load as the page says it; under equilibrium it is none."""
    return percent(max(0.0, load))


def _clear(compartment: CompartmentState, at: datetime, now: datetime) -> str:
    if compartment.clear_at is None:
        return "It is clear."
    when = wording.soon(compartment.clear_at.astimezone(now.tzinfo), now)
    limit = f"at or under {percent(CLEAR_LOAD)}"
    return f"Clear since {when}: {limit}." if compartment.clear_at <= at else f"Clear from {when}: {limit}."

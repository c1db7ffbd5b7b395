"""When the diver may go up, rule by rule, as words: to an aircraft's cabin, and over a pass.

Each rule stands beside the others with its own answer, and the one that decides is marked.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.analysis.surface_state import FlyTime, SurfaceState
from logbook_app.language import _, later
from logbook_app.physics.flying_after_diving import FlyingRule
from logbook_app.screens import wording

LOWEST_M, HIGHEST_M = 100.0, 5500.0  # the standard atmosphere of the physics holds above it, too
USUAL_PASS_M = 1000.0
STEP_M, STEP_FT_IN_M = 100.0, 500 * 0.3048
NO_ANSWER = later("no answer")

RULE_WORDS = {
    FlyingRule.SINGLE_DIVE: later("12 h after one dive"),
    FlyingRule.SEVERAL_DIVES: later("18 h after several dives"),
    FlyingRule.REQUIRED_STOPS: later("24 h after required stops"),
    FlyingRule.ABOVE_8000_FT: later("24 h after any dive, above 8,000 ft"),
}


@dataclass(frozen=True, slots=True)
class Answer:
    """What one rule says of one elevation; `decides` where it allows it latest of all."""

    words: str
    decides: bool = False


@dataclass(frozen=True, slots=True)
class RuleLine:
    """One rule with its answers."""

    rule: str
    cabin: Answer
    crossing: Answer


@dataclass(frozen=True, slots=True)
class GoingUp:
    """The rules side by side, and in sentences which of them decides."""

    cabin: str
    crossing: str
    rules: tuple[RuleLine, ...]
    sentences: str


def going_up(state: SurfaceState, crossing: FlyTime, now: datetime, units: SpokenUnits) -> GoingUp:
    """Return every rule's answer for the cabin and for a pass.

    state      after at least one dive
    crossing   the answers for the elevation of the pass
    """
    cabin = state.fly
    if cabin is None:
        raise ValueError("There is no dive to wait for.")
    return GoingUp(
        cabin=units.elevation(cabin.elevation_m),
        crossing=units.elevation(crossing.elevation_m),
        rules=tuple(
            RuleLine(words, _answer(name, cabin, now), _answer(name, crossing, now))
            for name, words in _rules(state).items()
        ),
        sentences=" ".join(_sentences(cabin, crossing, units)),
    )


def deciding_words(fly: FlyTime) -> str:
    """Return which rule decides, in a few words."""
    if fly.governed_by == "guideline":
        source = "FAA" if fly.guideline_rule is FlyingRule.ABOVE_8000_FT else _("guideline")
        return f"{_(RULE_WORDS[fly.guideline_rule])} ({source})"
    return {"model": _("every compartment tolerates it (model)"), "table": _("the US Navy table")}[
        fly.governed_by
    ]


def stepped_pass_m(elevation_m: float, steps: int, units: SpokenUnits) -> float:
    """Return the elevation after touches of plus or minus: 100 m each, or 500 ft, on round numbers.

    >>> stepped_pass_m(1000.0, 1, SpokenUnits("metric"))
    1100.0
    >>> round(stepped_pass_m(1000.0, 1, SpokenUnits("imperial")) / 0.3048)
    4000
    """
    step_m = STEP_M if units.metric else STEP_FT_IN_M
    wanted_m = (round(elevation_m / step_m) + steps) * step_m
    return wanted_m if LOWEST_M <= wanted_m <= HIGHEST_M else elevation_m


def _rules(state: SurfaceState) -> dict[str, str]:
    group = (
        _(", group {repetitive_group}").format(repetitive_group=state.repetitive_group)
        if state.repetitive_group
        else ""
    )
    return {
        "guideline": _("Guideline"),
        "table": _("US Navy table{group}").format(group=group),
        "model": _("Model alone"),
    }


def _answer(name: str, fly: FlyTime, now: datetime) -> Answer:
    at = {"guideline": fly.guideline_at, "table": fly.table_at, "model": fly.model_at}[name]
    decides = name == fly.governed_by
    if at is None:
        return Answer(_("never") if name == "model" else _(NO_ANSWER), decides)
    return Answer(wording.soon(at.astimezone(now.tzinfo), now), decides)


def _sentences(cabin: FlyTime, crossing: FlyTime, units: SpokenUnits) -> list[str]:
    """Say what decides, and why a rule has no answer."""
    said = [
        _("The filled mark decides. Cabin: {deciding_words}.").format(deciding_words=deciding_words(cabin))
    ]
    if crossing.at is None:
        said.append(
            _("The model never tolerates {elevation}.").format(
                elevation=units.elevation(crossing.elevation_m)
            )
        )
    elif deciding_words(crossing) != deciding_words(cabin):
        said.append(_("Pass: {deciding_words}.").format(deciding_words=deciding_words(crossing)))
    if crossing.guideline_at is None and crossing.table_at is None:
        said.append(_("No published rule speaks of so low a pass, and the model alone is too permissive."))
    if cabin.table_outside:
        said.append(
            _("US Navy table: {lower}{table_outside}").format(
                lower=cabin.table_outside[0].lower(), table_outside=cabin.table_outside[1:]
            )
        )
    return said

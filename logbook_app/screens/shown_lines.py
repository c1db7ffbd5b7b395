"""What the club sees of a dive, in words: exactly what a record that shows it holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from logbook_app.language import _, later

PART_WORDS = (
    ("place", later("Place, by its name")),
    ("gas", later("Gas and cylinders")),
    ("samples", later("Depth profile")),
    ("buddies", later("Buddies' names")),
)
AS_IN_THE_RECORD = (
    "began_at", "utc_offset_min", "duration_min", "max_depth_m", "mean_depth_m", "elevation_m", "surface_bar",
    "water", "lowest_temperature_c", "visibility_m", "environments", "role", "site", "cylinders", "buddies",
)  # fmt: skip
NEVER_SHOWN = later(
    "Notes, medical facts, the pre-dive card, the exact position, tags, trip, rating, weight, suit, kit with"
    " its prices, photos, remarks and every other field stay with you: what is shown has no place for them."
)


@dataclass(frozen=True, slots=True)
class SeenLine:
    """One thing that others see."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class ShownLines:
    """What a dive's page says of it.

    joined   whether there is a club
    shown    whether it sees the dive
    parts    that it sees, or would see
    state    in a sentence
    lines    what it sees, or would see
    signed   who signed it, and whether that was asked for; empty while the club sees nothing
    """

    dive_id: str
    joined: bool
    shown: bool
    parts: tuple[str, ...]
    state: str
    lines: tuple[SeenLine, ...]
    signed: str = ""


def part_answers() -> list[tuple[str, str]]:
    """Return the parts of a dive to choose from."""
    return [(part, _(words)) for part, words in PART_WORDS]


def shown_lines(logbook: Any, dive_id: str, parts: tuple[str, ...] | None = None) -> ShownLines | None:
    """Return what the club sees of a dive, None for one that is not the owner's. Runs in the worker.

    parts   that it would see where it sees nothing yet; the usual ones where None
    """
    from logbook_app.analysis.spoken_units import SpokenUnits

    if not logbook.has_club or not logbook.dive(dive_id).own:
        return None
    showing = logbook.for_others.showing(dive_id, parts)
    if not showing.joined:
        return None
    lines = tuple(_seen_lines(showing.sees, SpokenUnits(logbook.settings().units)))
    signed = _signed_words(logbook.signatures.of_dive(dive_id)) if showing.shown else ""
    return ShownLines(dive_id, True, showing.shown, showing.parts, _state_words(showing.shown), lines, signed)


def _signed_words(told: Any) -> str:
    """Say who signed a dive, one a line; where nobody did, whether somebody was asked."""
    from logbook_app.analysis.signature_words import signature_words

    lines = [signature_words(each) for each in told.signatures]
    if not lines:
        return _("Asked for a signature.") if told.asked else _("Nobody has signed this dive.")
    return "\n".join(lines)


def _state_words(shown: bool) -> str:
    if shown:
        return _("Every member of the club sees this of it, once you have synced:")
    return _("The club does not see this dive. Were it shown, every member would see this of it:")


def _seen_lines(sees: Any, units: Any) -> Iterator[SeenLine]:
    """Yield what others see, read as their devices read it."""
    from logbook_app.analysis.field_words import field_label, field_words
    from logbook_app.sync.shown_dives import dive_of_another

    dive = dive_of_another("", sees, samples_here=True)
    yield SeenLine(_("Diver"), sees.diver or _("a member without a name; write yours in Settings"))
    for name in AS_IN_THE_RECORD:
        if words := field_words(dive, name, getattr(dive, name), units):
            yield SeenLine(field_label(name), words)
    if sees.supervised:
        yield SeenLine(_("Supervised"), _("yes; by whom is not said"))
    yield SeenLine(_("Depth profile"), _profile_words(sees))


def _profile_words(sees: Any) -> str:
    if sees.samples is None:
        return _("not shown")
    gas = _("time, depth, temperature and changes of gas")
    return gas if "gas" in sees.parts else _("time, depth and temperature")

"""The club in words: where the logbook stands with it, what was tried, and fields with two sides."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from logbook_app.analysis.field_words import field_label, field_words
from logbook_app.analysis.same_dive import told_dive
from logbook_app.analysis.spoken_times import moment
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.language import _, ngettext

TRIES_SHOWN: Final = 5


@dataclass(frozen=True, slots=True)
class SideLine:
    """A value that can be chosen, in words, and the change that wrote it."""

    words: str
    change: str


@dataclass(frozen=True, slots=True)
class ConflictLine:
    """A field with two sides: whose it is, and what each side says."""

    key: str
    name: str
    heading: str
    sides: tuple[SideLine, ...]


@dataclass(frozen=True, slots=True)
class ClubWords:
    """All that the page shows.

    joined   whether there is a club
    """

    joined: bool
    state: str
    tries: str
    conflicts: tuple[ConflictLine, ...]


def club_words(logbook: Any, now: datetime) -> ClubWords:
    """Return what the page shows; runs in the worker."""
    club, units = logbook.club, SpokenUnits(logbook.settings().units)
    state = club.state()
    tries = "\n".join(_tried_words(each, now) for each in club.tries(TRIES_SHOWN))
    sides = tuple(_conflict_line(each, units) for each in club.two_sides())
    return ClubWords(state.joined, state_words(state, now), tries, sides)


def state_words(state: Any, now: datetime) -> str:
    """Return where a logbook stands with its club.

    state   a ClubState
    """
    if not state.joined:
        return _(
            "You have joined no club. A club that has a server gives you an address and a code; your other"
            " devices then have your dives as well. Nothing is sent before you sync."
        )
    told = [_("You have joined {club}, {address}.").format(club=state.club, address=state.address)]
    told.append(_waiting_words(state))
    if state.last_trouble and state.last_at:
        at = moment(state.last_at.astimezone(now.tzinfo))
        told.append(_("Last tried {at}: {why}").format(at=at, why=state.last_trouble))
    if state.not_accepted:
        words = ngettext(
            "The club did not accept {count} change; it is kept here.",
            "The club did not accept {count} changes; they are kept here.",
            state.not_accepted,
        )
        told.append(words.format(count=state.not_accepted))
    return " ".join(told)


def _waiting_words(state: Any) -> str:
    if state.last_at is None:
        return _("Nothing was sent yet.")
    if not state.waiting:
        return _("All is sent.")
    words = ngettext("{count} record to send.", "{count} records to send.", state.waiting)
    return words.format(count=state.waiting)


def synced_words(synced: Any) -> str:
    """Return what a sync came to, in one line."""
    if synced.trouble:
        return str(synced.trouble)
    return _("Synced: {sent} sent, {received} received.").format(
        sent=synced.outcome.sent, received=synced.outcome.received
    )


def _tried_words(tried: Any, now: datetime) -> str:
    at = moment(tried.at.astimezone(now.tzinfo))
    if tried.trouble:
        return _("{at}: {why}").format(at=at, why=tried.trouble)
    words = _("{at}: {sent} sent, {received} received")
    return words.format(at=at, sent=tried.sent, received=tried.received)


def _conflict_line(found: Any, units: SpokenUnits) -> ConflictLine:
    dive, label = found.dive, field_label(found.name)
    heading = f"{label}, {told_dive(dive)}" if dive else label
    sides = tuple(
        SideLine(_value_words(found, side, units) or _("nothing"), side.change) for side in found.sides
    )
    return ConflictLine(found.key, found.name, heading, sides)


def _value_words(found: Any, side: Any, units: SpokenUnits) -> str:
    if found.dive is None:
        return str(side.value)
    return field_words(found.dive, found.name, side.value, units)

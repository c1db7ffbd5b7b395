"""The club in words: where the logbook stands with it, what was tried, refused, and has two sides."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from logbook_app.language import _, ngettext

TRIES_SHOWN: Final = 5
OTHERS_SHOWN: Final = 12


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a logbook stands with its club, as far as every room has to know.

    words   in one line, empty where none was joined
    alone   whether the diver lets this device sync by itself
    waits   whether something is to send
    """

    words: str = ""
    alone: bool = False
    waits: bool = False


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
class RefusedLine:
    """What the club refused of one record: whose it is, why, what was written, and its changes."""

    changes: tuple[str, ...]
    heading: str
    why: str
    values: tuple[str, ...]
    can_keep: bool


@dataclass(frozen=True, slots=True)
class OtherLine:
    """A dive that another member shows: whose it is, and which."""

    dive_id: str
    heading: str
    line: str


@dataclass(frozen=True, slots=True)
class ClubWords:
    """All that the page shows.

    joined      whether there is a club
    alone       whether this device syncs by itself
    shows_new   whether the club sees every new dive
    parts       of a dive that it sees
    shown       how many dives it sees, in words
    any_shown   whether it sees any
    others      what its other members show, the newest first
    more        how many others there are beside these, in words
    """

    joined: bool
    state: str
    tries: str
    conflicts: tuple[ConflictLine, ...]
    refused: tuple[RefusedLine, ...] = ()
    alone: bool = False
    shows_new: bool = False
    parts: tuple[str, ...] = ()
    shown: str = ""
    any_shown: bool = False
    others: tuple[OtherLine, ...] = field(default=())
    more: str = ""


def standing_of(logbook: Any, now: datetime) -> Standing:
    """Return where a logbook stands with its club; runs in the worker."""
    if not logbook.has_club:
        return Standing()
    state = logbook.club.state()
    if not state.joined:
        return Standing()
    told = [_waiting_words(state)]
    if state.conflicts:
        words = ngettext(
            "{count} field was written on two devices.",
            "{count} fields were written on two devices.",
            state.conflicts,
        )
        told.append(words.format(count=state.conflicts))
    told += _trouble_words(state, now)
    return Standing(" ".join(told), logbook.settings().syncs_alone, bool(state.waiting))


def club_words(logbook: Any, now: datetime) -> ClubWords:
    """Return what the page shows; runs in the worker."""
    from logbook_app.analysis.spoken_units import SpokenUnits

    club, settings = logbook.club, logbook.settings()
    state, units = club.state(), SpokenUnits(settings.units)
    shown = len(logbook.for_others.shown_ids())
    others = logbook.for_others.of_others()[::-1]
    return ClubWords(
        joined=state.joined,
        state=state_words(state, now),
        tries="\n".join(_tried_words(each, now) for each in club.tries(TRIES_SHOWN)),
        conflicts=tuple(_conflict_line(each, units) for each in club.two_sides()),
        refused=tuple(_refused_line(each, units) for each in logbook.refused.all()),
        alone=settings.syncs_alone,
        shows_new=settings.shows_new_dives,
        parts=tuple(settings.shown_parts.split()),
        shown=_shown_words(shown),
        any_shown=bool(shown),
        others=tuple(_other_line(dive, units) for dive in others[:OTHERS_SHOWN]),
        more=_more_words(len(others) - OTHERS_SHOWN),
    )


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
    told += _trouble_words(state, now)
    return " ".join(told)


def _trouble_words(state: Any, now: datetime) -> list[str]:
    told = []
    if state.last_trouble and state.last_at:
        from logbook_app.analysis.spoken_times import moment

        at = moment(state.last_at.astimezone(now.tzinfo))
        told.append(_("Last tried {at}: {why}").format(at=at, why=state.last_trouble))
    if state.not_accepted:
        words = ngettext(
            "The club did not accept {count} record; it is kept here.",
            "The club did not accept {count} records; they are kept here.",
            state.not_accepted,
        )
        told.append(words.format(count=state.not_accepted))
    return told


def _waiting_words(state: Any) -> str:
    if state.last_at is None:
        return _("Nothing was sent yet.")
    if not state.waiting:
        return _("All is sent.")
    dives, rest = state.waiting_dives, state.waiting - state.waiting_dives
    told = []
    if dives:
        told.append(ngettext("{count} dive to send.", "{count} dives to send.", dives).format(count=dives))
    if rest:
        words = ngettext("{count} other record to send.", "{count} other records to send.", rest)
        told.append(words.format(count=rest))
    return " ".join(told)


def synced_words(synced: Any) -> str:
    """Return what a sync came to, in one line."""
    if synced.trouble:
        return str(synced.trouble)
    return _("Synced: {sent} sent, {received} received.").format(
        sent=synced.outcome.sent, received=synced.outcome.received
    )


def left_words(membership: Any, why: str) -> str:
    """Return whether a club knows that it was left, and why it does not."""
    if not why:
        return _("{club} knows that this device has left.").format(club=membership.club)
    return _("{club} does not know yet that you left: {why} It is told at the next start.").format(
        club=membership.club, why=why
    )


def _shown_words(count: int) -> str:
    if not count:
        return _("The club sees none of your dives.")
    words = ngettext("The club sees {count} of your dives.", "The club sees {count} of your dives.", count)
    return words.format(count=count)


def _other_line(dive: Any, units: Any) -> OtherLine:
    from logbook_app.screens.buddies_lines import choice_words

    return OtherLine(dive.id, dive.diver, choice_words(dive, units).removeprefix(f"{dive.diver} · "))


def _more_words(count: int) -> str:
    if count <= 0:
        return ""
    words = ngettext("{count} more is in Buddies.", "{count} more are in Buddies.", count)
    return words.format(count=count)


def _tried_words(tried: Any, now: datetime) -> str:
    from logbook_app.analysis.spoken_times import moment

    at = moment(tried.at.astimezone(now.tzinfo))
    if tried.trouble:
        return _("{at}: {why}").format(at=at, why=tried.trouble)
    words = _("{at}: {sent} sent, {received} received")
    return words.format(at=at, sent=tried.sent, received=tried.received)


def _conflict_line(found: Any, units: Any) -> ConflictLine:
    from logbook_app.analysis.field_words import field_label
    from logbook_app.analysis.same_dive import told_dive

    dive, label = found.dive, field_label(found.name)
    heading = f"{label}, {told_dive(dive)}" if dive else label
    sides = tuple(
        SideLine(_value_words(found.dive, found.name, side.value, units) or _("nothing"), side.change)
        for side in found.sides
    )
    return ConflictLine(found.key, found.name, heading, sides)


def _value_words(dive: Any, name: str, value: Any, units: Any) -> str:
    from logbook_app.analysis.field_words import field_words

    return str(value) if dive is None else field_words(dive, name, value, units)


def _refused_line(refused: Any, units: Any) -> RefusedLine:
    from logbook_app.analysis.field_words import field_label
    from logbook_app.analysis.same_dive import told_dive

    dive = refused.dive
    heading = told_dive(dive) if dive else _kind_words(refused.kind)
    values = []
    for name, value in refused.fields.items():
        read = getattr(dive, name, value) if dive else value
        words = _("deleted") if name == "deleted" else _value_words(dive, name, read, units) or _("nothing")
        values.append(f"{field_label(name)}: {words}")
    return RefusedLine(
        refused.changes,
        heading[:1].upper() + heading[1:],
        _why_words(refused.verdict),
        tuple(values),
        refused.can_keep,
    )


def _kind_words(kind: str) -> str:
    words = {
        "dive": _("a dive"),
        "kit": _("a piece of kit"),
        "set": _("a set of kit"),
        "care": _("something done for a piece of kit"),
        "settings": _("your settings"),
        "shown": _("what the club sees of a dive"),
        "shownrequest": _("a request for a signature"),
        "signoff": _("a sign-off"),
    }
    return words.get(kind) or kind


def _why_words(verdict: str) -> str:
    words = {
        "gone": _("It was deleted on another device and removed for good before this was sent."),
        "denied": _("It is not yours to change."),
        "invalid": _("It holds more than the club takes."),
    }
    return words.get(verdict) or verdict

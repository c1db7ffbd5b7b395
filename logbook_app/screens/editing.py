"""What an editor of one field is given: the dive, the diver's units and what is known to choose from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from logbook_app.analysis.field_words import field_label
from logbook_app.analysis.known_words import KnownWords
from logbook_app.dive.record import Dive
from logbook_app.language import _, ngettext
from logbook_app.screens.record_groups import CYLINDER, NEW

if TYPE_CHECKING:
    from logbook_app.logbook import Changes, Logbook

EVERYWHERE = "everywhere"


@dataclass(frozen=True, slots=True)
class Editing:
    """One dive that is being corrected.

    units         the diver's, as the settings keep them
    dives_there   how many dives were at its site, itself among them
    now           by the clock on the dock
    """

    dive: Dive
    units: str
    ppo2_limit_bar: float
    known: KnownWords
    dives_there: int
    now: datetime


def editing(logbook: Logbook, dive_id: str, now: datetime) -> Editing:
    """Ask the logbook for all that an editor needs; in the worker."""
    settings = logbook.settings()
    return Editing(
        logbook.dive(dive_id),
        settings.units,
        settings.ppo2_limit_bar,
        logbook.known_words(),
        logbook.dives_at_site_of(dive_id),
        now,
    )


def save_edit(logbook: Logbook, dive_id: str, values: dict[str, Any]) -> Changes:
    """Keep what an editor gave; in the worker. `everywhere` goes with a site. Raises RefusedRecord."""
    if EVERYWHERE in values:
        return logbook.change_site(dive_id, values["site"], everywhere=values[EVERYWHERE])
    return logbook.change_dive(dive_id, **values)


def editor_heading(name: str, given: Editing) -> str:
    """Return what stands over the editor of a field."""
    if not name.startswith(CYLINDER):
        return field_label(name)
    place = name.removeprefix(CYLINDER)
    number = len(given.dive.cylinders) if place == NEW else int(place)
    return _("Cylinder {number}").format(number=number + 1)


def saved_words(name: str, dives: int) -> str:
    """Return what is said once a field was changed."""
    label = _("Cylinders") if name.startswith(CYLINDER) else field_label(name)
    if dives < 2:
        return _("{field}: changed.").format(field=label)
    return ngettext("{field}: changed in {count} dive.", "{field}: changed in {count} dives.", dives).format(
        field=label, count=dives
    )

"""Correcting a dive from the command line, and reading what became of it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import click

from logbook_app.analysis.history_words import ToldHistory, told_history
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives
from logbook_app.commands.edited_fields import edited_fields
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.logbook import Changes, FieldChange, Logbook


def corrected(logbook: Logbook, dive_id: str, words: tuple[str, ...], everywhere: bool) -> Changes:
    """Change the fields of a dive that the words name; see `edited_fields`.

    everywhere   what is said of the site holds for every dive there
    """
    dive = logbook.dive(dive_id)
    given = edited_fields(dive, words, logbook.known_words().sites)
    if not everywhere:
        return logbook.change_dive(dive_id, **given)
    if set(given) != {"site"}:
        raise click.UsageError(
            _("--all-dives-there goes with changes of the site alone. Make the others apart.")
        )
    return logbook.change_site(dive_id, given["site"], everywhere=True)


def corrected_words(changes: Changes) -> Iterator[str]:
    """Yield what was changed and how to take it back."""
    if not changes.change_id:
        yield _("Nothing changed: this is what the record says already.")
        return
    yield _("Changed {dives}.").format(dives=spoken_dives(len(changes.dives)))
    yield _("To take it back: leadline take-back {change_id}").format(change_id=changes.change_id)


def history_words(dive: Dive, lines: list[FieldChange], units: SpokenUnits) -> Iterator[str]:
    """Yield what became of a dive, the newest change first, each field with what puts it back."""
    if not lines:
        yield _("Nothing was changed since the logbook keeps a history.")
    for told in told_history(dive, lines, units):
        yield f"{told.at}  {told.why}"
        yield from _changes(dive, told)


def _changes(dive: Dive, told: ToldHistory) -> Iterator[str]:
    whole = len({change.ids for change in told.changes}) < len(told.changes)
    for change in told.changes:
        yield f"    {change.label}: {change.before} -> {change.after}"
        if change.can_return and not whole:
            yield f"        leadline put-back {dive.id} {' '.join(map(str, change.ids))}"
    if whole and told.changes[0].can_return:
        yield f"        leadline put-back {dive.id} {' '.join(map(str, told.changes[0].ids))}"


def line_to_json(line: FieldChange) -> dict[str, Any]:
    """Return one line of a history; values are as the record has them."""
    return {
        "id": line.id,
        "change": line.change,
        "at": line.at.isoformat(),
        "why": line.why,
        "field": line.field,
        "before": json.loads(line.before),
        "after": json.loads(line.after),
        "origin": line.origin or None,
    }

"""What every verb shares: the logbook it works on, and how its answer is printed."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

import click

from logbook_app.catalogues import use_language
from logbook_app.language import _
from logbook_app.logbook import Logbook

as_json = click.option("--json", "as_json", is_flag=True, help="Report as JSON.")


def opened(context: click.Context) -> Logbook:
    """Open the logbook for this command and close it when the command ends.

    From here on the diver's language is spoken; what a machine reads is always the same.
    """
    logbook = context.obj.open_logbook(context.meta["logbook_path"])
    context.call_on_close(logbook.close)
    use_language("en" if context.params.get("as_json") else logbook.settings().language)
    if logbook.closed_because:
        click.echo(logbook.closed_because, err=True)
    return logbook  # type: ignore[no-any-return]


def dive_id_named(logbook: Logbook, named: str) -> str:
    """Return the id that `named` means: an id, or `#` and a dive number."""
    if not named.startswith("#"):
        return named
    found = [dive.id for dive in logbook.dives() if str(dive.number) == named[1:]]
    if len(found) != 1:
        raise click.UsageError(
            _("{count} dives have the number {named}. Name one by its id.").format(
                count=len(found), named=named[1:]
            )
        )
    return found[0]


def print_json(value: Any) -> None:
    """Print one JSON value."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=2, allow_nan=False))


def print_lines(lines: Iterable[str]) -> None:
    """Print sentences, one a line."""
    for line in lines:
        click.echo(line)

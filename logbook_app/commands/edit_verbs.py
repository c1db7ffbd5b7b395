"""Verbs that correct a dive, show what became of it, and put it back."""

from __future__ import annotations

import click

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.commands.correcting import corrected, corrected_words, history_words, line_to_json
from logbook_app.commands.opened import as_json, dive_id_named, opened, print_json, print_lines
from logbook_app.commands.report_json import edit_to_json
from logbook_app.logbook import Changes


@click.command()
@click.argument("dive_id", metavar="ID")
@click.argument("words", metavar="FIELD=VALUE...", nargs=-1, required=True)
@click.option("--all-dives-there", "everywhere", is_flag=True, help="Change the site for every dive there.")
@as_json
@click.pass_context
def edit_dive(
    context: click.Context, dive_id: str, words: tuple[str, ...], everywhere: bool, as_json: bool
) -> None:
    """Change fields of a dive, in the units of its record: weights_kg=6.5 buddies="Imke R., Tom" rating=

    Fields are those that `dive ID --json` shows; of a cylinder cylinder1.gas=32 and cylinder1.start_bar=200,
    of a site site=NAME and site.elevation_m=412.
    """
    logbook = opened(context)
    changes = corrected(logbook, dive_id_named(logbook, dive_id), words, everywhere)
    _print_edit(changes, as_json)


@click.command()
@click.argument("dive_id", metavar="ID")
@as_json
@click.pass_context
def show_history(context: click.Context, dive_id: str, as_json: bool) -> None:
    """Show every change of a dive, the newest first, with what each field said before."""
    logbook = opened(context)
    dive_id = dive_id_named(logbook, dive_id)
    lines = logbook.history(dive_id)
    if as_json:
        print_json([line_to_json(line) for line in reversed(lines)])
    else:
        print_lines(history_words(logbook.dive(dive_id), lines, SpokenUnits(logbook.settings().units)))


@click.command()
@click.argument("dive_id", metavar="ID")
@click.argument("lines", metavar="LINE...", nargs=-1, required=True, type=int)
@as_json
@click.pass_context
def put_back(context: click.Context, dive_id: str, lines: tuple[int, ...], as_json: bool) -> None:
    """Let fields say again what they said before; `history ID` names the lines."""
    logbook = opened(context)
    _print_edit(logbook.put_back(dive_id_named(logbook, dive_id), lines), as_json)


@click.command()
@click.argument("change", metavar="CHANGE", type=int)
@as_json
@click.pass_context
def take_back(context: click.Context, change: int, as_json: bool) -> None:
    """Take back one change of dives, in every field that nobody has changed since."""
    _print_edit(opened(context).take_back(change), as_json)


def _print_edit(changes: Changes, as_json: bool) -> None:
    if as_json:
        print_json(edit_to_json(changes))
    else:
        print_lines(corrected_words(changes))


VERBS: dict[str, click.Command] = {
    "edit": edit_dive,
    "history": show_history,
    "put-back": put_back,
    "take-back": take_back,
}

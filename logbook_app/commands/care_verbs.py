"""The verbs for the care of the logbook file: back it up, put a backup back, look it through."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from logbook_app.analysis.spoken_units import spoken_dives
from logbook_app.commands.opened import as_json, opened, print_json
from logbook_app.dive.problems import LogbookError, Problem
from logbook_app.language import _
from logbook_app.store.care import restore_unopened

a_path = click.argument("path", metavar="PATH", type=click.Path(path_type=Path))


@click.command()
@a_path
@as_json
@click.pass_context
def back_up(context: click.Context, path: Path, as_json: bool) -> None:
    """Write the whole logbook to one file. PATH is a file, or a folder for one named after the day."""
    made = opened(context).back_up(path)
    if as_json:
        told = {"path": str(made.path), "size_bytes": made.size_bytes, "dives": made.dives}
        print_json(_verdict(made.problems) | told)
    else:
        words = _("Wrote {dives} to {path}.")
        click.echo(words.format(dives=spoken_dives(made.dives), path=made.path))
        _tell(made.problems)
    context.exit(1 if made.problems else 0)


@click.command()
@a_path
@as_json
@click.pass_context
def restore(context: click.Context, path: Path, as_json: bool) -> None:
    """Put a backup in the place of the logbook. What was there is kept beside it."""
    try:
        logbook = opened(context)
    except LogbookError:
        aside = restore_unopened(context.meta["logbook_path"], path, datetime.now(UTC).astimezone())
    else:
        aside = logbook.restore(path).kept_aside
    if as_json:
        print_json(_verdict(()) | {"kept_aside": str(aside)})
        return
    click.echo(_("Put back {path}. What was there before is in {aside}.").format(path=path, aside=aside))


@click.command()
@a_path
@as_json
@click.pass_context
def salvage(context: click.Context, path: Path, as_json: bool) -> None:
    """Save what can be read of a damaged logbook into PATH, a new file. The damaged one is only read."""
    from logbook_app.store.salvage import salvage as save_what_is_there

    done = save_what_is_there(context.meta["logbook_path"], path)
    if as_json:
        told = {"path": str(done.path), "dives": done.dives, "samples": done.samples, "lost": list(done.lost)}
        print_json(told)
    else:
        words = _("Saved {dives} in {path}, with the samples of {samples} recordings.")
        click.echo(words.format(dives=spoken_dives(done.dives), path=done.path, samples=done.samples))
        for sentence in done.lost:
            click.echo(sentence, err=True)
    context.exit(1 if done.lost else 0)


@click.command()
@as_json
@click.pass_context
def check(context: click.Context, as_json: bool) -> None:
    """Look the logbook file through: pages, references, samples, dives, numbers. Changes nothing."""
    try:
        problems = opened(context).check()
    except LogbookError as refusal:
        problems = [Problem("", "", str(refusal))]
    if as_json:
        print_json(_verdict(problems))
    elif problems:
        _tell(problems)
    else:
        click.echo(_("The logbook is sound."))
    context.exit(1 if problems else 0)


def _verdict(problems: tuple[Problem, ...] | list[Problem]) -> dict[str, object]:
    told = [{"file": each.file, "where": each.where, "what": each.what} for each in problems]
    return {"ok": not problems, "problems": told}


def _tell(problems: tuple[Problem, ...] | list[Problem]) -> None:
    for problem in problems:
        click.echo(problem.sentence(), err=True)

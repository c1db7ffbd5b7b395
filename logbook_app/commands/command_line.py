"""The command line: the same logbook without a screen, for scripts and for people who prefer it.

Every command that reports takes `--json`. JSON keys carry their units, times are ISO 8601 with
offset. Trouble goes to standard error as one plain sentence. Exit status: 0 done, 1 some of it
could not be done and the rest was, 2 wrong usage or nothing could be done.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from logbook_app import __version__
from logbook_app.analysis.dive_analysis import MODEL_VERSION
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.commands.argument_types import Depths, Gas, Instant, UtcOffset
from logbook_app.commands.report_json import (
    limits_to_json,
    listed_dive_to_json,
    report_to_json,
    surface_to_json,
)
from logbook_app.commands.report_words import dive_line, dive_words, import_words, limits_words, surface_words
from logbook_app.dive.problems import LeadlineError
from logbook_app.files.logbook_json import analysis_to_json, dive_to_json
from logbook_app.logbook import Logbook, ReadOptions
from logbook_app.physics.breathing_gas import BreathingGas


@dataclass(frozen=True, slots=True)
class Tools:
    """What the commands are given from outside.

    open_logbook   opens the logbook file at a path
    open_app       opens the touch app on a logbook file, or on the demo where the path is None
    """

    open_logbook: Callable[[Path], Logbook]
    open_app: Callable[[Path | None], None]


as_json = click.option("--json", "as_json", is_flag=True, help="Report as JSON.")


@click.group(invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--logbook",
    "logbook_path",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The logbook file. Default: in the data folder of this system.",
)
@click.option("--demo", is_flag=True, help="Open the touch app on a throw-away copy of the demo logbook.")
@click.version_option(
    __version__, prog_name="leadline", message=f"%(prog)s %(version)s, model {MODEL_VERSION}"
)
@click.pass_context
def leadline(context: click.Context, logbook_path: Path | None, demo: bool) -> None:
    """Leadline, the logbook for the time between dives. Without a command it opens the touch app."""
    tools: Tools = context.obj
    path = logbook_path or default_logbook_path()
    if context.invoked_subcommand is None:
        tools.open_app(None if demo else path)
        return
    if demo:
        raise click.UsageError("--demo opens the touch app and takes no command. Leave one of them out.")
    context.obj = tools
    context.meta["logbook_path"] = path


def default_logbook_path() -> Path:
    """Return where the logbook lies unless the diver says otherwise."""
    from platformdirs import user_data_path

    return user_data_path("leadline", appauthor=False) / "logbook.leadline"


@leadline.command("import")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--csv-columns", metavar="SPEC", help="What each column of a depth table is, as in time=1:min,depth=3:ft."
)
@click.option("--utc-offset", type=UtcOffset(), help="Offset of start times that carry none.")
@click.option("--diver", default="", metavar="NAME", help="Whose dives these are, where they are not yours.")
@as_json
@click.pass_context
def import_files(
    context: click.Context,
    files: tuple[Path, ...],
    csv_columns: str | None,
    utc_offset: int | None,
    diver: str,
    as_json: bool,
) -> None:
    """Read recordings into the logbook. Reading the same file again adds nothing."""
    logbook = _opened(context)
    options = ReadOptions(utc_offset_min=utc_offset, csv_columns=csv_columns, diver=diver)
    progress = _progress_line() if sys.stderr.isatty() and not as_json else lambda _done, _all, _name: None
    report = logbook.import_files(files, options, progress)
    if as_json:
        _print_json(report_to_json(report))
    else:
        click.echo(import_words(report))
        for problem in report.problems:
            click.echo(problem.sentence(), err=True)
    context.exit(1 if report.problems else 0)


@leadline.command()
@as_json
@click.pass_context
def dives(context: click.Context, as_json: bool) -> None:
    """List the dives, oldest first."""
    logbook = _opened(context)
    listed = logbook.dives()
    if as_json:
        _print_json([listed_dive_to_json(dive) for dive in listed])
        return
    units = SpokenUnits(logbook.settings().units)
    for dive in listed:
        click.echo(dive_line(dive, units))


@leadline.command()
@click.argument("dive_id", metavar="ID")
@click.option("--series", is_flag=True, help="Add the figures at each sample (JSON only).")
@as_json
@click.pass_context
def dive(context: click.Context, dive_id: str, series: bool, as_json: bool) -> None:
    """Show one dive and what it did to the diver. ID is its id, or its number as in #41."""
    logbook = _opened(context)
    view = logbook.dive_view(_dive_id(logbook, dive_id))
    if as_json or series:
        analysis = analysis_to_json(view.analysis, view.gas, with_series=series)
        _print_json({"dive": dive_to_json(view.dive), "analysis": analysis})
        return
    _print_lines(dive_words(view, SpokenUnits(logbook.settings().units)))


@leadline.command()
@click.option("--at", type=Instant(), help="At another instant than now.")
@as_json
@click.pass_context
def surface(context: click.Context, at: datetime | None, as_json: bool) -> None:
    """Show the state between dives: interval, load, oxygen, when to fly."""
    logbook = _opened(context)
    state = logbook.surface(at)
    offset_min = state.after.utc_offset_min if state.after else 0
    if as_json:
        _print_json(surface_to_json(state, offset_min))
    else:
        _print_lines(surface_words(state, offset_min, SpokenUnits(logbook.settings().units)))


@leadline.command()
@click.option("--at", type=Instant(), help="At another instant than now.")
@click.option("--gas", type=Gas(), default="air", show_default=True, help="air, 32, 18/45 and so on.")
@click.option("--depths", "depths_m", type=Depths(), help="Depths in metres, as in 12,18,30.")
@as_json
@click.pass_context
def limits(
    context: click.Context,
    at: datetime | None,
    gas: BreathingGas,
    depths_m: list[float] | None,
    as_json: bool,
) -> None:
    """Show the next dive's no-stop limits by depth."""
    logbook = _opened(context)
    found = logbook.limits(at, gas, depths_m)
    if as_json:
        _print_json(limits_to_json(found))
        return
    _print_lines(limits_words(found, SpokenUnits(logbook.settings().units)))


@leadline.command()
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--dives", "dive_ids", metavar="ID,ID,...", help="Only these dives.")
@as_json
@click.pass_context
def export(context: click.Context, path: Path, dive_ids: str | None, as_json: bool) -> None:
    """Write dives to a file; its ending names the form: .json."""
    if path.suffix.lower() != ".json":
        raise click.UsageError(f"{path.name}: this ending is not written. Name a file that ends in .json.")
    logbook = _opened(context)
    chosen = None if dive_ids is None else [_dive_id(logbook, one) for one in dive_ids.split(",")]
    written = logbook.export_json(path, chosen)
    if as_json:
        _print_json({"written": written})
    else:
        click.echo(f"Wrote {written} dives to {path}.")


def run(arguments: Sequence[str] | None, tools: Tools) -> int:
    """Run the command line and return its exit status; trouble becomes one sentence."""
    try:
        status = leadline.main(args=arguments, prog_name="leadline", obj=tools, standalone_mode=False)
    except click.ClickException as error:
        error.show()
        return 2
    except click.exceptions.Abort:
        click.echo("Stopped; what was finished is kept.", err=True)
        return 1
    except BrokenPipeError:
        # Whoever read our output has seen enough; Python would complain again while closing it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except LeadlineError as error:
        click.echo(str(error), err=True)
        return 2
    return status if isinstance(status, int) else 0


def _opened(context: click.Context) -> Logbook:
    """Open the logbook for this command and close it when the command ends."""
    logbook = context.obj.open_logbook(context.meta["logbook_path"])
    context.call_on_close(logbook.close)
    return logbook  # type: ignore[no-any-return]


def _dive_id(logbook: Logbook, named: str) -> str:
    """Return the id that `named` means: an id, or `#` and a dive number."""
    if not named.startswith("#"):
        return named
    found = [dive.id for dive in logbook.dives() if str(dive.number) == named[1:]]
    if len(found) != 1:
        raise click.UsageError(f"{len(found)} dives have the number {named[1:]}. Name one by its id.")
    return found[0]


def _progress_line() -> Callable[[int, int, str], None]:
    def show(done: int, in_all: int, name: str) -> None:
        share = 100 if in_all == 0 else min(100, done * 100 // in_all)
        click.echo(f"\r{share:3d} %  {name[:50]:<50}", nl=share == 100, err=True)

    return show


def _print_json(value: Any) -> None:
    click.echo(json.dumps(value, ensure_ascii=False, indent=2, allow_nan=False))


def _print_lines(lines: Iterable[str]) -> None:
    for line in lines:
        click.echo(line)

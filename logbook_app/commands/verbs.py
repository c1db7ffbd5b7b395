"""What the command line can do: one function a verb, each asks the logbook and prints its answer."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives
from logbook_app.analysis.surface_view import left_out_words
from logbook_app.commands import (
    care_verbs,
    club_verbs,
    compare_verb,
    edit_verbs,
    experience_verb,
    hand_over_verb,
    kit_verb,
    plan_verb,
    serve_verb,
    showing_verbs,
    signature_verbs,
    statistics_verb,
)
from logbook_app.commands.argument_types import ClockShift, Depths, Elevation, Gas, Instant, UtcOffset
from logbook_app.commands.opened import as_json, dive_id_named, opened, print_json, print_lines
from logbook_app.commands.report_json import (
    changes_to_json,
    limits_to_json,
    listed_dive_to_json,
    mended_to_json,
    offer_to_json,
    past_change_to_json,
    report_to_json,
    sheet_to_json,
    surface_to_json,
    way_up_to_json,
)
from logbook_app.commands.report_words import (
    dive_line,
    dive_words,
    import_words,
    limits_words,
    offer_words,
    past_change_words,
    problem_words,
    sheet_words,
    surface_words,
)
from logbook_app.commands.wanted_dives import find_wanted, wanted_dives
from logbook_app.files.logbook_json import analysis_to_json, dive_to_json
from logbook_app.language import _
from logbook_app.logbook import PAPER_SIZES, Changes, Logbook, ReadOptions
from logbook_app.physics.breathing_gas import BreathingGas

paper_size = click.option(
    "--paper",
    type=click.Choice(list(PAPER_SIZES), case_sensitive=False),
    help="Size of printed pages. Default: letter where your units are imperial, else a4.",
)


@click.command()
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
    logbook = opened(context)
    options = ReadOptions(utc_offset_min=utc_offset, csv_columns=csv_columns, diver=diver)
    progress = _progress_line() if sys.stderr.isatty() and not as_json else lambda _done, _all, _name: None
    report = logbook.import_files(files, options, progress)
    if as_json:
        print_json(report_to_json(report))
    else:
        print_lines(import_words(report))
        for problem in report.problems:
            click.echo(problem_words(problem), err=True)
    context.exit(1 if report.problems else 0)


@click.command()
@wanted_dives
@as_json
@click.pass_context
def list_dives(context: click.Context, /, as_json: bool, **wanted: Any) -> None:
    """List the dives, all of them or those that are asked for.

    Names are found by the beginning of their words, whatever their case and accents. Where several
    things are asked for, all of them hold.
    """
    logbook = opened(context)
    listed = find_wanted(logbook, **wanted)
    if as_json:
        print_json([listed_dive_to_json(dive) for dive in listed])
        return
    units = SpokenUnits(logbook.settings().units)
    for dive in listed:
        click.echo(dive_line(dive, units))


@click.command()
@click.argument("dive_id", metavar="ID")
@click.option("--series", is_flag=True, help="Add the figures at each sample (JSON only).")
@as_json
@click.pass_context
def show_dive(context: click.Context, dive_id: str, series: bool, as_json: bool) -> None:
    """Show one dive and what it did to the diver. ID is its id, or its number as in #41."""
    logbook = opened(context)
    view = logbook.dive_view(dive_id_named(logbook, dive_id))
    if as_json or series:
        analysis = analysis_to_json(view.analysis, view.gas, with_series=series)
        analysis["mended"] = [mended_to_json(mended) for mended in view.mended]
        analysis["way_up"] = way_up_to_json(logbook.way_up(view), with_series=series)
        print_json({"dive": dive_to_json(view.dive), "analysis": analysis})
        return
    print_lines(dive_words(view, SpokenUnits(logbook.settings().units)))


@click.command()
@click.option("--at", type=Instant(), help="At another instant than now.")
@click.option("--pass", "pass_m", type=Elevation(), help="Elevation of a pass, in metres.")
@as_json
@click.pass_context
def show_surface(context: click.Context, at: datetime | None, pass_m: float | None, as_json: bool) -> None:
    """Show the state between dives: interval, load, oxygen, when to fly or cross a pass."""
    logbook = opened(context)
    state = logbook.surface(at)
    over = None if pass_m is None else logbook.time_to_go_up(pass_m, state.at)
    offset_min = state.after.utc_offset_min if state.after else 0
    left_out = _left_out(logbook, state.at)
    if as_json:
        print_json(surface_to_json(state, offset_min, over, left_out))
    else:
        print_lines(surface_words(state, offset_min, SpokenUnits(logbook.settings().units), over, left_out))


@click.command()
@click.option("--at", type=Instant(), help="At another instant than now.")
@click.option("--gas", type=Gas(), default="air", show_default=True, help="air, 32, 18/45 and so on.")
@click.option("--depths", "depths_m", type=Depths(), help="Depths in metres, as in 12,18,30.")
@click.option("--elevation", "elevation_m", type=Elevation(), help="Of the next dive, where it is another.")
@as_json
@click.pass_context
def show_limits(
    context: click.Context,
    at: datetime | None,
    gas: BreathingGas,
    depths_m: list[float] | None,
    elevation_m: float | None,
    as_json: bool,
) -> None:
    """Show the next dive's no-stop limits by depth."""
    logbook = opened(context)
    found = logbook.next_dive_table(at, gas, depths_m, elevation_m)
    if as_json:
        print_json(limits_to_json(found))
        return
    print_lines(filter(None, [_left_out(logbook, found.limits.at)]))
    print_lines(limits_words(found.limits, SpokenUnits(logbook.settings().units)))


@click.command()
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--dives", "dive_ids", metavar="ID,ID,...", help="Only these dives.")
@click.option("--contacts", is_flag=True, help="Print the emergency contacts of pre-dive cards as well.")
@click.option("--samples", is_flag=True, help="Write a folder instead, with the samples of each dive as CSV.")
@paper_size
@as_json
@click.pass_context
def export_dives(
    context: click.Context,
    path: Path,
    dive_ids: str | None,
    contacts: bool,
    samples: bool,
    paper: str | None,
    as_json: bool,
) -> None:
    """Write dives to a file; its ending names the form.

    The forms are .uddf, .csv (one row a dive), .json, and .pdf (pages to print and sign).
    """
    logbook = opened(context)
    chosen = (
        None if dive_ids is None else [dive_id_named(logbook, one.strip()) for one in dive_ids.split(",")]
    )
    if samples:
        written = logbook.export_samples(path, chosen)
    else:
        written = logbook.export(path, chosen, PAPER_SIZES[paper] if paper else None, with_contacts=contacts)
    if as_json:
        print_json({"written": written})
    else:
        form = _("Wrote the samples of {dives} to {path}.") if samples else _("Wrote {dives} to {path}.")
        click.echo(form.format(dives=spoken_dives(written), path=path))


@click.command()
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--at", type=Instant(), help="At another instant than now.")
@paper_size
@as_json
@click.pass_context
def write_sheet(
    context: click.Context, path: Path, at: datetime | None, paper: str | None, as_json: bool
) -> None:
    """Write one page (PDF) for those who treat a diver after an accident: the last 72 h, and what to ask."""
    if path.suffix.lower() != ".pdf":
        raise click.UsageError(
            _("{name}: the sheet is a PDF. Name a file that ends in .pdf.").format(name=path.name)
        )
    record = opened(context).accident_sheet(path, at, PAPER_SIZES[paper] if paper else None)
    if as_json:
        print_json(sheet_to_json(record))
    else:
        print_lines(sheet_words(record, path))


@click.command()
@as_json
@click.pass_context
def list_imports(context: click.Context, as_json: bool) -> None:
    """List what can be taken back: imports, joins and shifts of clocks, the latest first."""
    past = opened(context).imports()
    if as_json:
        print_json([past_change_to_json(change) for change in past])
    else:
        print_lines(map(past_change_words, past))


@click.command()
@click.argument("import_id", metavar="ID", type=int)
@as_json
@click.pass_context
def undo_import(context: click.Context, import_id: int, as_json: bool) -> None:
    """Take back an import, a join or a shift of clocks; dives that it added go to the bin."""
    changes = opened(context).undo_import(import_id)
    _print_changes(
        changes,
        as_json,
        _("Took it back; it touches {dives}.").format(dives=spoken_dives(len(changes.dives))),
    )


@click.command()
@click.argument("keep", metavar="KEEP")
@click.argument("other", metavar="OTHER")
@as_json
@click.pass_context
def same_dive(context: click.Context, keep: str, other: str, as_json: bool) -> None:
    """Make two records of one dive one, under the first one's id; the other goes to the bin."""
    logbook = opened(context)
    changes = logbook.join_dives(dive_id_named(logbook, keep), dive_id_named(logbook, other))
    _print_changes(changes, as_json, _("Made them one dive."))


@click.command(context_settings={"ignore_unknown_options": True})  # -01:00 is no option
@click.argument("shift", metavar="+HH:MM", type=ClockShift())
@click.argument("dive_ids", metavar="ID...", nargs=-1, required=True)
@as_json
@click.pass_context
def shift_clock(context: click.Context, shift: int, dive_ids: tuple[str, ...], as_json: bool) -> None:
    """Move the starts of dives whose recorder's clock was wrong."""
    logbook = opened(context)
    chosen = [dive_id_named(logbook, dive_id) for dive_id in dive_ids]
    changes = logbook.shift_clock(chosen, shift)
    offers = logbook.doubles(chosen)
    if as_json:
        print_json(changes_to_json(changes) | {"offers": [offer_to_json(offer) for offer in offers]})
        return
    _print_changes(
        changes, as_json, _("Moved the start of {dives}.").format(dives=spoken_dives(len(changes.dives)))
    )
    print_lines(map(offer_words, offers))


@click.command()
@click.argument("dive_id", metavar="ID")
@click.argument("fingerprint", metavar="RECORDING")
@as_json
@click.pass_context
def lead_with(context: click.Context, dive_id: str, fingerprint: str, as_json: bool) -> None:
    """Let another recording of a dive lead; `dive ID --json` names its recordings by their fingerprints."""
    logbook = opened(context)
    changes = logbook.lead_with(dive_id_named(logbook, dive_id), fingerprint)
    _print_changes(changes, as_json, _("This recording leads now."))


VERBS: dict[str, click.Command] = {
    "import": import_files,
    "dives": list_dives,
    "dive": show_dive,
    "compare": compare_verb.compare,
    "hand-over": hand_over_verb.hand_over,
    "plan": plan_verb.plan,
    "surface": show_surface,
    "limits": show_limits,
    "export": export_dives,
    "kit": kit_verb.show_kit,
    "statistics": statistics_verb.show_statistics,
    "experience": experience_verb.show_experience,
    "certificates": experience_verb.show_certificates,
    "sheet": write_sheet,
    "imports": list_imports,
    "undo-import": undo_import,
    "same-dive": same_dive,
    "shift-clock": shift_clock,
    "lead-with": lead_with,
    "backup": care_verbs.back_up,
    "restore": care_verbs.restore,
    "check": care_verbs.check,
    "salvage": care_verbs.salvage,
    "serve": serve_verb.serve,
    **club_verbs.VERBS,
    **showing_verbs.VERBS,
    **signature_verbs.VERBS,
    **edit_verbs.VERBS,
}


def _progress_line() -> Callable[[int, int, str], None]:
    def show(done: int, in_all: int, name: str) -> None:
        share = 100 if in_all == 0 else min(100, done * 100 // in_all)
        click.echo(f"\r{share:3d} %  {name[:50]:<50}", nl=share == 100, err=True)

    return show


def _left_out(logbook: Logbook, at: datetime) -> str:
    """Return what is to be said of dives that end later than the clock shows, and than `at`."""
    now = logbook.now()
    return left_out_words(logbook.dives_to_come(max(at, now)), now.astimezone())


def _print_changes(changes: Changes, as_json: bool, words: str) -> None:
    if as_json:
        print_json(changes_to_json(changes))
        return
    click.echo(words)
    if changes.undo_id:
        click.echo(_("To take it back: leadline undo-import {undo_id}").format(undo_id=changes.undo_id))

"""`leadline compare`: recordings of one dive beside each other."""

from __future__ import annotations

import click

from logbook_app.analysis.compared_dives import APART_M, APART_S, Limits
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.commands.comparison_report import comparison_to_json, comparison_words
from logbook_app.commands.opened import as_json, dive_id_named, opened, print_json, print_lines


@click.command()
@click.argument("leader", metavar="ID")
@click.argument("others", metavar="ID...", nargs=-1, required=True)
@click.option(
    "--apart-depth",
    type=click.FloatRange(0.5, 50),
    default=APART_M,
    show_default=True,
    metavar="M",
    help="Vertical gap from which two divers count as apart.",
)
@click.option(
    "--apart-time",
    type=click.FloatRange(0, 3600),
    default=APART_S,
    show_default=True,
    metavar="S",
    help="How long a gap has to last to count.",
)
@click.option("--series", is_flag=True, help="Add both depths at each second (JSON only).")
@as_json
@click.pass_context
def compare(
    context: click.Context,
    leader: str,
    others: tuple[str, ...],
    apart_depth: float,
    apart_time: float,
    series: bool,
    as_json: bool,
) -> None:
    """Compare recordings of one dive: two divers, or a group of up to eight with its leader first.

    Their clocks need not agree; the recordings are laid over each other by their shapes.
    """
    logbook = opened(context)
    dive_ids = [dive_id_named(logbook, named) for named in (leader, *others)]
    comparison = logbook.compare(dive_ids, Limits(apart_depth, apart_time))
    if as_json or series:
        print_json(comparison_to_json(comparison, with_series=series))
        return
    print_lines(comparison_words(comparison, SpokenUnits(logbook.settings().units)))

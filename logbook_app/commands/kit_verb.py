"""`leadline kit`: what of the kit is due."""

from __future__ import annotations

from datetime import datetime

import click

from logbook_app.commands.kit_report import kit_report, kit_to_json
from logbook_app.commands.opened import as_json, opened, print_json, print_lines


@click.command()
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="On another day than today, as in 2026-11-14.")
@as_json
@click.pass_context
def show_kit(context: click.Context, on: datetime | None, as_json: bool) -> None:
    """Show your kit: how much each piece was dived, and what of it is due, the most urgent first."""
    view = opened(context).kit.view(on.date() if on else None)
    if as_json:
        print_json(kit_to_json(view))
    else:
        print_lines(kit_report(view))

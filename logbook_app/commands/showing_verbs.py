"""The verbs for what the club sees: show dives to it or withdraw them, and the diver's devices there."""

from __future__ import annotations

from dataclasses import asdict

import click

from logbook_app.analysis.spoken_units import spoken_dives
from logbook_app.commands.opened import as_json, dive_id_named, opened, print_json
from logbook_app.language import _
from logbook_app.sync.shown_dives import PARTS


@click.command()
@click.argument("dive_ids", metavar="ID...", nargs=-1, required=True)
@click.option("--withdraw", is_flag=True, help="Let nobody see them any more.")
@click.option("--part", "parts", multiple=True, type=click.Choice(PARTS), help="Show this part of them.")
@as_json
@click.pass_context
def show_club(
    context: click.Context, dive_ids: tuple[str, ...], withdraw: bool, parts: tuple[str, ...], as_json: bool
) -> None:
    """Show dives to the members of your club, or withdraw them. It goes with the next sync."""
    logbook = opened(context)
    named = [dive_id_named(logbook, each) for each in dive_ids]
    sharing = logbook.for_others
    done = sharing.withdraw(named) if withdraw else sharing.show(named, parts or None)
    if as_json:
        print_json({"changed": sorted(done.before), "shown": sorted(sharing.shown_ids())})
        return
    words = _("Withdrawn: {dives}") if withdraw else _("Shown to the club with the next sync: {dives}")
    click.echo(words.format(dives=spoken_dives(len(done.before))))


@click.command()
@click.option(
    "--shut-out", metavar="DEVICE", help="Let this one, as it is listed, speak for nobody any more."
)
@as_json
@click.pass_context
def devices(context: click.Context, shut_out: str | None, as_json: bool) -> None:
    """List your devices as the club knows them, and shut out one that was lost."""
    club = opened(context).club
    found = club.devices() if shut_out is None else club.shut_out(shut_out)
    if as_json:
        print_json([asdict(each) for each in found])
        return
    for each in found:
        state = _("this one") if each.here else _("shut out") if each.standing else ""
        click.echo("  ".join(part for part in (each.id, each.name, state) if part))


VERBS = {"show-club": show_club, "devices": devices}

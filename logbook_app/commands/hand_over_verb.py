"""`leadline hand-over`: a dive as a picture code, for a device without a network."""

from __future__ import annotations

from pathlib import Path

import click

from logbook_app.commands.opened import as_json, dive_id_named, opened, print_json, print_lines


@click.command()
@click.argument("dive", metavar="ID")
@click.argument("path", metavar="PATH.png", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--name", default="", help="Whose dive it is, where it is your own; else the name in the settings."
)
@as_json
@click.pass_context
def hand_over(context: click.Context, dive: str, path: Path, name: str, as_json: bool) -> None:
    """Write a dive as a picture code, to be read from a photo: `leadline import PHOTO`.

    It carries times and depths, gases and pressures, the place and whose dive it is.
    """
    logbook = opened(context)
    code = logbook.hand_over(dive_id_named(logbook, dive), name)
    code.write_png(path)
    if as_json:
        print_json(
            {"path": str(path), "diver": code.diver, "version": code.version, "left_out": code.left_out}
        )
        return
    print_lines([f"{path}: {code.diver}", *code.words])

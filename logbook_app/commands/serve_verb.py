"""`leadline serve`: hands over to the club server, a program of its own that the app knows nothing of."""

from __future__ import annotations

import subprocess
import sys

import click


@click.command(
    add_help_option=False, context_settings={"ignore_unknown_options": True, "allow_interspersed_args": False}
)
@click.argument("arguments", nargs=-1, type=click.UNPROCESSED)
def serve(arguments: tuple[str, ...]) -> int:
    """Serve a club, or look after one: `leadline serve --help`."""
    try:
        return subprocess.run([sys.executable, "-m", "server", *arguments], check=False).returncode  # noqa: S603
    except KeyboardInterrupt:
        return 0

"""`leadline serve`: hands over to the club server, a program of its own that the app knows nothing of."""

from __future__ import annotations

import os
import subprocess
import sys

import click


@click.command(
    add_help_option=False, context_settings={"ignore_unknown_options": True, "allow_interspersed_args": False}
)
@click.argument("arguments", nargs=-1, type=click.UNPROCESSED)
def serve(arguments: tuple[str, ...]) -> int:
    """Serve a club, or look after one: `leadline serve --help`."""
    command = [sys.executable, "-m", "server", *arguments]
    if os.name == "posix":  # become the server, so that who ends this process ends it
        sys.stdout.flush()
        os.execv(sys.executable, command)  # noqa: S606
    try:
        return subprocess.run(command, check=False).returncode  # noqa: S603
    except KeyboardInterrupt:
        return 0

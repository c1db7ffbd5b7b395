"""Leadline, started: the real file, the real clock and the real window are handed in here."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from logbook_app.commands.command_line import Tools, run

if TYPE_CHECKING:
    from logbook_app.logbook import Logbook


def main() -> None:
    """Run the command line, or the touch app where no command is given."""
    sys.exit(run(None, Tools(open_logbook=_open_logbook, open_app=_open_app)))


def _open_logbook(path: Path, now: Callable[[], datetime] | None = None) -> Logbook:
    from logbook_app.logbook import Logbook  # the touch app opens it after its first frame

    return Logbook.open(path, now=now)


def _open_app(path: Path | None) -> None:
    """Open the touch app on a logbook file, or on the demo where there is no path."""
    if path is None:
        _open_demo()
    else:
        _show(path, lambda: datetime.now().astimezone())


def _open_demo() -> None:
    from logbook_app.demo_logbook import demo_clock, throw_away_demo

    click.echo("Making the demo logbook ...")
    with throw_away_demo() as path:
        if _has_screen():
            _show(path, demo_clock())
        else:
            _draw_rooms(path, demo_clock())


def _show(path: Path, now: Callable[[], datetime]) -> None:
    from logbook_app.screens.start import run_app

    run_app(lambda: _open_logbook(path, now), now, trouble_log=path.with_name("trouble.log"))


def _draw_rooms(path: Path, now: Callable[[], datetime]) -> None:
    from logbook_app.screens.portraits import render_rooms

    folder = Path.cwd() / "build" / "demo-rooms"
    click.echo(f"There is no screen here, so every room is drawn into {folder} instead:")
    for picture in render_rooms(lambda: _open_logbook(path, now), now, folder):
        click.echo(str(picture))


def _has_screen() -> bool:
    if not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


if __name__ == "__main__":
    main()

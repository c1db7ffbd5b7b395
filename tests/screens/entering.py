"""Goes into any room or page of the app with something in it to look at."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from driver import Driver

from logbook_app.shipped_files import shipped_folder

TABLE = "Zeit (min);Tiefe (m);Druck;Temperatur\n0;0;200;12\n1;9,5;195;11\n2;18;190;9\n"


def enter(app: Driver, room: str, folder: Path) -> None:
    """Show a room of an app that is open on the demo logbook; `folder` is for files that a room wants."""
    _DOORS.get(room, _by_name)(app, room, folder)
    app.idle()
    app.wait(0.3)


def asked(app: Driver, work: Any) -> Any:
    """Return what the logbook answers."""
    answers: list[Any] = []
    app.app.ask(work, then=answers.append)
    app.until(lambda: answers)
    return answers[0]


def _by_name(app: Driver, room: str, _folder: Path) -> None:
    app.app.go(room)


def _dive(app: Driver, _room: str, _folder: Path) -> None:
    app.app.open_dive(_last_dive(app))


def _hand_over(app: Driver, room: str, _folder: Path) -> None:
    app.app.go(room).show(_last_dive(app))


def _piece(app: Driver, _room: str, _folder: Path) -> None:
    piece = asked(app, lambda logbook: logbook.kit.view().lines[0].item.id)
    app.app.shell.rooms.room("kit").open(piece)


def _photo(app: Driver, room: str, _folder: Path) -> None:
    page = app.app.shell.rooms.room(room)
    page.ids.files.folder = shipped_folder("demo_data")  # whoever runs this has files of their own
    app.app.go(room).choose(_last_dive(app))


def _import(app: Driver, room: str, _folder: Path) -> None:
    app.app.shell.rooms.room(room).ids.files.folder = shipped_folder("demo_data")
    app.app.go(room)


def _columns(app: Driver, _room: str, folder: Path) -> None:
    table = folder / "table.csv"
    table.write_text(TABLE)
    app.app.go("import").look_at_columns(table)


def _help(app: Driver, _room: str, _folder: Path) -> None:
    app.app.open_help("surface")


def _last_dive(app: Driver) -> str:
    return str(asked(app, lambda logbook: logbook.dives()[-1].id))


_DOORS = {
    "dive": _dive,
    "hand-over": _hand_over,
    "kit-piece": _piece,
    "photo": _photo,
    "import": _import,
    "columns": _columns,
    "help": _help,
}

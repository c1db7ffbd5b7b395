"""The club server, and what its officers do: `python -m server --help`, or `leadline serve`."""

from __future__ import annotations

import json
import signal
import sys
from contextlib import closing
from pathlib import Path
from typing import Any, Final

import click

from logbook_app.dive.problems import LeadlineError
from server.club_home import ClubHome
from server.database import Database
from server.opening import database_at
from server.roles import Role, SignsAs
from server.sql_club import club_numbers, found_club, hosts, named
from server.tables import prepare

LONGEST_END_S: Final = 20  # for answers that are being given when the server is stopped


@click.group(invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--home",
    type=click.Path(path_type=Path, file_okay=False),
    help="The club's folder. Default: in the data folder of this system.",
)
@click.option(
    "--database",
    envvar="LEADLINE_DATABASE",
    help="postgresql://..., where clubs are kept instead of in a file of the folder.",
)
@click.option("--club", "number", type=int, help="Which one, where the database keeps several.")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8440, show_default=True, type=click.IntRange(0, 65535))
@click.option(
    "--workers", default=1, show_default=True, type=click.IntRange(1, 64), help="Processes that answer."
)
@click.option(
    "--open-clubs", default=20, show_default=True, type=click.IntRange(1), help="Of several, kept open."
)
@click.option("--name", default="A club of divers", show_default=True, help="What members see.")
@click.option("--certificate", type=click.Path(exists=True, dir_okay=False), help="For https, as PEM.")
@click.option("--key", type=click.Path(exists=True, dir_okay=False), help="Of the certificate, as PEM.")
@click.option(
    "--proxy", default="127.0.0.1", show_default=True, help="Whose word on a caller's address counts."
)
@click.pass_context
def club(
    context: click.Context, /, home: Path | None, database: str | None, number: int | None, **how: Any
) -> None:
    """Serve a club of divers; with a command, look after its members and its data instead.

    Without a certificate, listen only where somebody else encrypts: on this machine, behind a web server.
    """
    from platformdirs import user_data_path

    folder = home or user_data_path("leadline", appauthor=False) / "club"
    kept_in = database_at(database)
    asked = context.invoked_subcommand
    if asked in ("found", "clubs"):
        context.obj = (kept_in, folder)
        return
    if asked is None and number is None and kept_in and len(hosts(kept_in)) > 1:
        serve(
            folder, database, None, f"{len(hosts(kept_in))} clubs, each at its host, in the database.", **how
        )
        return
    opened = ClubHome(folder, database=kept_in, number=number, restoring=asked == "restore")
    context.obj = opened
    context.call_on_close(opened.close)
    if asked is None:
        greeting = _greeting(opened)
        opened.close()
        serve(folder, database, opened.store.number, greeting, **how)


def serve(
    folder: Path, database: str | None, number: int | None, greeting: str, *, host: str, port: int,
    name: str, workers: int, open_clubs: int, certificate: str | None, key: str | None, proxy: str,
) -> None:  # fmt: skip
    """Answer the members' devices until stopped. Raises LeadlineError where packages are missing."""
    uvicorn, worker, log_config = _server_packages()
    serving = worker.Serving(str(folder), database, number, name, open_clubs)
    click.echo(f"{name} answers at {'https' if certificate else 'http'}://{host}:{port}; Ctrl-C stops it.")
    click.echo(greeting)
    signal.signal(signal.SIGTERM, _end)  # what uvicorn raises again once it has answered everything
    worker.pass_on(serving)
    uvicorn.run(
        worker.APP if workers > 1 else serving.app(), factory=workers > 1, workers=workers,
        host=host, port=port, ssl_certfile=certificate, ssl_keyfile=key, forwarded_allow_ips=proxy,
        log_config=log_config(), access_log=False, server_header=False,
        timeout_graceful_shutdown=LONGEST_END_S,
    )  # fmt: skip


def _server_packages() -> tuple[Any, Any, Any]:
    try:
        import uvicorn

        from server import worker
        from server.logs import log_config
    except ImportError as error:
        words = f"The server needs more packages ({error}): pip install 'leadline[server]'"
        raise LeadlineError(words) from error
    return uvicorn, worker, log_config


def _greeting(home: ClubHome) -> str:
    where = f"The club's data lies in {home.folder.resolve()}."
    return "\n".join(filter(None, (where, _first_admin(home))))


def _first_admin(home: ClubHome) -> str:
    code = home.first_admin_code()
    words = "Nobody leads the club yet. Who comes in with this code does, within seven days:"
    return f"{words}\n{code}" if code else ""


def _end(_signal: int, _frame: object) -> None:
    sys.exit(0)


@club.command()
@click.pass_obj
def clubs(place: tuple[Database | None, Path]) -> None:
    """List the clubs of the database: the number that --club takes, the host and the name."""
    database = _prepared(place[0])
    for number in club_numbers(database):
        click.echo("  ".join(map(str, (number, *named(database, number)))).rstrip())


@club.command()
@click.option("--host", default="", help="At which it answers, where one server answers for several.")
@click.option("--name", default="", help="What its members see.")
@click.pass_obj
def found(place: tuple[Database | None, Path], host: str, name: str) -> None:
    """Found another club in the database; print its number and the code of who leads it."""
    database, folder = _prepared(place[0]), place[1]
    number = found_club(database, host, name).number
    with closing(ClubHome(folder, database=database, number=number)) as home:
        click.echo(f"{number}\n{_first_admin(home)}")


def _prepared(database: Database | None) -> Database:
    if database is None:
        raise LeadlineError("A file keeps one club; several are kept in PostgreSQL, see --database.")
    prepare(database)
    return database


@club.command()
@click.argument("name")
@click.option(
    "--role", type=click.Choice([each.value for each in Role]), default=Role.MEMBER.value, show_default=True
)
@click.option(
    "--signs-as",
    type=click.Choice([each.value for each in SignsAs if each]),
    help="Signs dives and requirements.",
)
@click.pass_obj
def invite(home: ClubHome, name: str, role: str, signs_as: str | None) -> None:
    """Print an invitation for one device of NAME, a new member unless there is one of this name."""
    member, code = home.invite(name, role=Role(role), signs_as=SignsAs(signs_as or ""))
    click.echo(f"{member.name} ({member.id}), good for one device and seven days:\n{code}")


@club.command()
@click.pass_obj
def members(home: ClubHome) -> None:
    """List the members and their devices."""
    for member in home.accounts.members():
        told = (member.name, member.role, member.signs_as, "left" if member.left_ms else "")
        click.echo(f"{member.id}  {', '.join(filter(None, told))}")
        for device, name in home.accounts.devices_of(member.id):
            click.echo(f"    {device[:16]}  {name}")


@club.command()
@click.argument("member")
@click.argument("device")
@click.pass_obj
def revoke(home: ClubHome, member: str, device: str) -> None:
    """Let a DEVICE of MEMBER, both as `members` lists them, speak for nobody any more."""
    found = [each for each, _ in home.accounts.devices_of(member) if each.startswith(device)]
    if len(found) != 1:
        raise LeadlineError(f"{member} has no device {device}; the command members lists them.")
    home.club.revoke(found[0])


@club.command()
@click.argument("member")
@click.pass_obj
def erase(home: ClubHome, member: str) -> None:
    """Take away MEMBER with every record of theirs, for good, on the server and on other devices."""
    if home.accounts.member(member) is None:
        raise LeadlineError(f"There is no member {member}; the command members lists them.")
    home.erase(member)


@club.command()
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_obj
def backup(home: ClubHome, path: Path) -> None:
    """Write the club's database into PATH, also while it is served. Keep the file `ledger` apart."""
    home.back_up(path)


@club.command()
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False, exists=True))
@click.pass_obj
def restore(home: ClubHome, path: Path) -> None:
    """Put a backup back: devices bring what it lacks, and who was erased stays erased."""
    home.restore(path)


@club.command()
@click.pass_obj
def tidy(home: ClubHome) -> None:
    """Remove what was deleted more than 400 days ago; once a month is enough."""
    home.club.tidy(home.now_ms())


@club.command()
@click.pass_obj
def openapi(home: ClubHome) -> None:
    """Print what is said to the club over HTTP, as an OpenAPI document."""
    _, worker, _ = _server_packages()
    click.echo(json.dumps(worker.make_app(home, "A club of divers").openapi(), indent=1))


def main() -> None:
    """Run the server's commands; trouble becomes one sentence."""
    try:
        club.main(prog_name="leadline serve", standalone_mode=False)
    except click.ClickException as error:
        error.show()
        sys.exit(2)
    except (LeadlineError, ValueError) as error:
        click.echo(str(error), err=True)
        sys.exit(2)


if __name__ == "__main__":
    main()

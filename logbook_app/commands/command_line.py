"""The command line: the same logbook without a screen, for scripts and for people who prefer it.

Every command that reports takes `--json`. JSON keys carry their units, times are ISO 8601 with
offset, whatever language the sentences are in. Trouble goes to standard error as one plain
sentence. Exit status: 0 done, 1 there were problems and what could be done was, 2 refused, with
the reason.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from logbook_app import __version__
from logbook_app.catalogues import use_language
from logbook_app.commands.said_help import said_command
from logbook_app.dive.problems import LeadlineError
from logbook_app.language import SYSTEM, _

if TYPE_CHECKING:
    from logbook_app.logbook import Logbook


@dataclass(frozen=True, slots=True)
class Tools:
    """What the commands are given from outside.

    open_logbook   opens the logbook file at a path
    open_app       opens the touch app on a logbook file, or on the demo where the path is None
    """

    open_logbook: Callable[[Path], Logbook]
    open_app: Callable[[Path | None], None]


class VerbsOnDemand(click.Group):
    """A group whose commands are imported when one is asked for: the touch app starts without them."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return sorted(_verbs())

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        command = _verbs().get(cmd_name)
        return said_command(command) if command else None


def _verbs() -> dict[str, click.Command]:
    from logbook_app.commands.verbs import VERBS

    return VERBS


def _print_version(context: click.Context, _option: click.Parameter, wanted: bool) -> None:
    if wanted:
        from logbook_app.analysis.dive_analysis import MODEL_VERSION

        click.echo(_("leadline {version}, model {model}").format(version=__version__, model=MODEL_VERSION))
        context.exit()


@click.group(
    cls=VerbsOnDemand, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]}
)
@click.option(
    "--logbook",
    "logbook_path",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The logbook file. Default: in the data folder of this system.",
)
@click.option("--demo", is_flag=True, help="Open the touch app on a throw-away copy of the demo logbook.")
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_version,
    help="Show the version.",
)
@click.pass_context
def leadline(context: click.Context, logbook_path: Path | None, demo: bool) -> None:
    """Leadline, the logbook for the time between dives. Without a command it opens the touch app."""
    tools: Tools = context.obj
    path = logbook_path or default_logbook_path()
    if context.invoked_subcommand is None:
        tools.open_app(None if demo else path)
        return
    if demo:
        raise click.UsageError(_("--demo opens the touch app and takes no command. Leave one of them out."))
    context.meta["logbook_path"] = path


def default_logbook_path() -> Path:
    """Return where the logbook lies unless the diver says otherwise."""
    from platformdirs import user_data_path

    return user_data_path("leadline", appauthor=False) / "logbook.leadline"


def run(arguments: Sequence[str] | None, tools: Tools) -> int:
    """Run the command line and return its exit status; trouble becomes one sentence."""
    use_language(SYSTEM)
    try:
        status = said_command(leadline).main(
            args=arguments, prog_name="leadline", obj=tools, standalone_mode=False
        )
    except click.ClickException as error:
        error.show()
        return 2
    except click.exceptions.Abort:
        click.echo(_("Stopped; what was finished is kept."), err=True)
        return 1
    except BrokenPipeError:
        # Whoever read our output has seen enough; Python would complain again while closing it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except LeadlineError as error:
        click.echo(str(error), err=True)
        return 2
    except OSError as error:
        click.echo(
            _("The output could not be written: {strerror}.").format(strerror=error.strerror), err=True
        )
        return 1
    return status if isinstance(status, int) else 0

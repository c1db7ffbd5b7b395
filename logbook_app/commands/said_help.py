"""The help of the commands in the language that is spoken.

A command is described where it stands, in English, by its docstring and by `help=`; both are in the
catalogue. What click itself says around them stays English.
"""

from __future__ import annotations

from copy import copy
from inspect import cleandoc
from typing import TypeVar

import click

from logbook_app.language import _

Command = TypeVar("Command", bound=click.Command)


def said_command(command: Command) -> Command:
    """Return a command whose help, and that of its options, is in the language that is spoken."""
    spoken = copy(command)
    spoken.help = _(cleandoc(command.help)) if command.help else command.help
    spoken.params = [_said_parameter(each) for each in command.params]
    return spoken


def _said_parameter(parameter: click.Parameter) -> click.Parameter:
    if not isinstance(parameter, click.Option) or not parameter.help:
        return parameter
    spoken = copy(parameter)
    spoken.help = _(parameter.help)
    return spoken

"""Which dives `leadline dives` lists: the options that say it, and what they come to in this logbook."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, TypeVar

import click

from logbook_app.analysis.dive_catalogue import DiveCatalogue
from logbook_app.analysis.dive_filter import DiveFilter, DiveOrder, Named, Whose
from logbook_app.commands.argument_types import Day, Depth, Gas
from logbook_app.dive.record import Dive
from logbook_app.language import _, later
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import BreathingGas

Command = TypeVar("Command", bound=Callable[..., Any])

_OPTIONS = (
    click.option(
        "--search", "text", default="", metavar="TEXT", help="With all these words written about them."
    ),
    click.option("--from", "first_day", type=Day(), help="Begun on this day or later."),
    click.option("--to", "last_day", type=Day(), help="Begun on this day or earlier."),
    click.option("--deeper-than", "least_m", type=Depth(), help="This deep or deeper."),
    click.option("--shallower-than", "most_m", type=Depth(), help="This deep or shallower."),
    click.option("--gas", "gases", type=Gas(), multiple=True, help="With this gas among their cylinders."),
    click.option("--site", "sites", multiple=True, metavar="NAME", help="At a site of this name."),
    click.option("--buddy", "buddies", multiple=True, metavar="NAME", help="With a buddy of this name."),
    click.option("--kit", multiple=True, metavar="NAME", help="With a piece of kit of this name."),
    click.option("--tag", "tags", multiple=True, metavar="NAME", help="With this tag."),
    click.option("--trip", "trips", multiple=True, metavar="NAME", help="Of a trip of this name."),
    click.option(
        "--whose", type=click.Choice([whose.value for whose in Whose]), default="all", help="Whose dives."
    ),
    click.option(
        "--order",
        type=click.Choice([order.value for order in DiveOrder]),
        default="oldest",
        help="What comes first. Default: the oldest.",
    ),
)
_NAMED = {
    Named.SITE: "site",
    Named.BUDDY: "buddy",
    Named.KIT: later("piece of kit"),
    Named.TAG: "tag",
    Named.TRIP: "trip",
}


def wanted_dives(command: Command) -> Command:
    """Give a command the options that say which dives; `find_wanted` takes them."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def find_wanted(
    logbook: Logbook,
    *,
    text: str,
    first_day: date | None,
    last_day: date | None,
    least_m: float | None,
    most_m: float | None,
    gases: tuple[BreathingGas, ...],
    whose: str,
    order: str,
    **named: tuple[str, ...],
) -> list[Dive]:
    """Return the dives that the options ask for. Of names given twice, one has to hold.

    Raises click.UsageError for a name that nothing in the logbook has.
    """
    catalogue = logbook.catalogue(pictures=False)
    wanted = DiveFilter(
        text, first_day, last_day, least_m, most_m, gases=tuple(gas.name for gas in gases), whose=Whose(whose)
    )
    for kind in _NAMED:
        if texts := named[kind.value]:
            wanted = wanted.with_names(kind, _names(catalogue, kind, texts))
    found = catalogue.find(wanted, DiveOrder(order), with_words=logbook.places_with(text))
    return [catalogue.dives[int(place)] for place in found.places]


def _names(catalogue: DiveCatalogue, kind: Named, texts: tuple[str, ...]) -> tuple[str, ...]:
    """Return the names that are meant: those with all words of a text, each from its beginning."""
    names: list[str] = []
    for text in texts:
        like = catalogue.names_like(kind, text)
        if not like:
            raise click.UsageError(
                _("No {named} in the logbook is called {text!r}. Try fewer letters.").format(
                    named=_NAMED[kind], text=text
                )
            )
        names += like
    return tuple(names)

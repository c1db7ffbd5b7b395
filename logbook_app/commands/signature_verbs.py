"""The verbs for signatures: ask the club for one, and list what was signed."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import click

from logbook_app.analysis.signature_words import signature_words
from logbook_app.commands.opened import as_json, dive_id_named, opened, print_json
from logbook_app.language import _
from logbook_app.signatures import Signature


@click.command()
@click.argument("dive_id", metavar="ID")
@click.option("--what", default="", help="What is to be confirmed, for example a skill.")
@as_json
@click.pass_context
def ask_signature(context: click.Context, dive_id: str, what: str, as_json: bool) -> None:
    """Ask the club's signers to sign the dive ID, which they must see. It goes with the next sync."""
    logbook = opened(context)
    asked = dive_id_named(logbook, dive_id)
    logbook.signatures.ask(asked, what)
    if as_json:
        print_json({"dive": asked, "what": what})
        return
    click.echo(_("Asked. It goes to the club with the next sync: leadline sync"))


@click.command()
@as_json
@click.pass_context
def signatures(context: click.Context, as_json: bool) -> None:
    """List what the club's signers signed for you, and whether it still says what was signed."""
    found = opened(context).signatures.signed()
    if as_json:
        print_json([_told(each) for each in found])
        return
    for each in found:
        click.echo(_words(each))
    if not found:
        click.echo(_("Nothing was signed for you yet."))


VERBS = {"ask-signature": ask_signature, "signatures": signatures}


def _told(each: Signature) -> dict[str, Any]:
    return asdict(each) | {"on": each.on.isoformat() if each.on else None}


def _words(each: Signature) -> str:
    about = each.dive_id or " ".join(filter(None, (each.rules, each.requirement)))
    return f"{about}: {signature_words(each)}"

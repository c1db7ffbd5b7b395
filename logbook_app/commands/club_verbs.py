"""The verbs for several devices: join a club, sync with it, leave it, and pass a file between two devices."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from logbook_app.commands.opened import as_json, opened, print_json
from logbook_app.divers_club import Synced
from logbook_app.language import _, ngettext
from logbook_app.sync.asking import Outcome

a_path = click.argument("path", metavar="PATH", type=click.Path(path_type=Path, dir_okay=False))


@click.command(context_settings={"ignore_unknown_options": True})  # a code may begin with a dash
@click.argument("address", metavar="URL")
@click.argument("code", metavar="CODE")
@click.option(
    "--unencrypted",
    is_flag=True,
    help="Talk to this host without TLS as well: anybody on the way can read along.",
)
@as_json
@click.pass_context
def join(context: click.Context, address: str, code: str, unencrypted: bool, as_json: bool) -> None:
    """Join the club at URL with the CODE that it gave you. Nothing is sent before the first sync."""
    joined = opened(context).club.join(address, code, unencrypted=unencrypted)
    if as_json:
        print_json({"address": joined.address, "club": joined.club, "member": joined.member})
        return
    click.echo(_("You have joined {club}. To send and receive: leadline sync").format(club=joined.club))


@click.command()
@as_json
@click.pass_context
def sync(context: click.Context, as_json: bool) -> None:
    """Send what is new to the club, receive what is new there, and compare both sides."""
    synced = opened(context).club.sync(_silent if as_json or not sys.stderr.isatty() else _show)
    if as_json:
        print_json(synced_to_json(synced))
    else:
        click.echo(_synced_words(synced.outcome))
    for trouble in _troubles(synced):
        click.echo(trouble, err=True)
    context.exit(1 if synced.trouble or synced.outcome.counts_agree is False else 0)


@click.command()
@as_json
@click.pass_context
def leave(context: click.Context, as_json: bool) -> None:
    """Leave the club: this device forgets it and its secret, and tells it so. Your logbook stays as it is."""
    club = opened(context).club
    there = club.leave() is not None
    untold = [why for _left, why in club.tell_left() if why]
    if as_json:
        print_json({"left": there, "told": there and not untold})
        return
    words = _("Left the club. What it has it keeps; ask it to remove your records.")
    click.echo(words if there else _("You had joined no club."))
    for why in untold:
        click.echo(
            _("The club does not know it yet: {why} Leave once more to tell it.").format(why=why), err=True
        )


@click.command()
@a_path
@as_json
@click.pass_context
def bundle(context: click.Context, path: Path, as_json: bool) -> None:
    """Write what another device of yours needs into PATH; there, leadline take-in reads it."""
    changes = opened(context).club.write_bundle(path)
    if as_json:
        print_json({"path": str(path), "changes": changes})
    else:
        click.echo(_("Wrote {path}. On your other device: leadline take-in {path}").format(path=path))


@click.command()
@a_path
@as_json
@click.pass_context
def take_in(context: click.Context, path: Path, as_json: bool) -> None:
    """Take in a file that another device of yours wrote. Taken in twice, it changes nothing more."""
    club = opened(context).club
    taken, changes = club.take_bundle(path)
    if as_json:
        told = {"changes": taken.changes, "records": taken.records, "samples": taken.blobs}
        print_json(told | {"dives": sorted(changes.dives), "kept_both": len(club.conflicts())})
        return
    count = len(changes.dives)
    words = ngettext("{count} dive is new or changed.", "{count} dives are new or changed.", count)
    click.echo(words.format(count=count))


VERBS = {"join": join, "sync": sync, "leave": leave, "bundle": bundle, "take-in": take_in}


def synced_to_json(synced: Synced) -> dict[str, Any]:
    """Return what a sync came to, for a machine."""
    outcome = synced.outcome
    return {
        "ended": outcome.ended,
        "sent": outcome.sent,
        "received": outcome.received,
        "kept_both": outcome.kept_both,
        "counts_agree": outcome.counts_agree,
        "not_accepted": outcome.not_accepted,
        "put_off": outcome.put_off,
        "held_back": outcome.held_back,
        "repaired": outcome.repaired,
        "samples_and_photos_sent": outcome.blobs_sent,
        "samples_and_photos_received": outcome.blobs_received,
        "unreadable": synced.unreadable,
        "clock_ahead_s": round(outcome.skew_ms / 1000, 1),
    }


def _synced_words(outcome: Outcome) -> str:
    sent = ngettext("Sent {count} change", "Sent {count} changes", outcome.sent).format(count=outcome.sent)
    received = ngettext("received {count} record", "received {count} records", outcome.received)
    agree = {
        True: _("both sides hold the same."),
        False: _("the two sides differ."),
        None: _("others are changing it just now."),
    }[outcome.counts_agree]
    return f"{sent}, {received.format(count=outcome.received)}: {agree}"


def _troubles(synced: Synced) -> list[str]:
    outcome, told = synced.outcome, [synced.trouble] if synced.trouble else []
    if outcome.held_back:
        told.append(_("The club asks for a newer Leadline; your changes wait until you update it."))
    if outcome.not_accepted:
        words = ngettext(
            "The club did not accept {count} change; it is kept here.",
            "The club did not accept {count} changes; they are kept here.",
            outcome.not_accepted,
        )
        told.append(words.format(count=outcome.not_accepted))
    if synced.unreadable:
        words = ngettext(
            "{count} record cannot be shown by this Leadline; update it.",
            "{count} records cannot be shown by this Leadline; update it.",
            synced.unreadable,
        )
        told.append(words.format(count=synced.unreadable))
    if outcome.clock_is_off:
        told.append(_("The clock of this device is wrong; set it right."))
    return told


def _silent(_asked: int, _outcome: Outcome) -> None:
    """Show nothing."""


def _show(asked: int, outcome: Outcome) -> None:
    words = _("question {asked}: {sent} sent, {received} received")
    told = words.format(asked=asked + 1, sent=outcome.sent, received=outcome.received)
    click.echo(f"\r{told:<70}\r", nl=False, err=True)

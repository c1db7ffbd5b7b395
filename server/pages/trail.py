"""The audit trail, as officers read it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Final

from logbook_app.analysis.spoken_times import clock_time, date_alone
from logbook_app.language import _, later
from server.pages.visit import Shown, Told, Visit

LINES: Final = 100
WHAT: Final = {
    each: each
    for each in (
        later("signed in"), later("accepted an invitation"), later("invited"),
        later("withdrew an invitation"),
        later("removed"), later("took back"), later("erased"), later("gave a role"), later("said who signs"),
        later("signed"), later("took back a signature"), later("changed the password"), later("left"),
        later("shut out a device"), later("took a backup"), later("entered a paper history"),
        later("wrote requirements"),
    )
}  # fmt: skip


def show_trail(visit: Visit) -> Told:
    """Show the latest lines, and whether the trail is whole."""
    before = visit.asked.query.get("before", "")
    lines = visit.home.trail.lines(LINES, int(before) if before.isdecimal() and len(before) < 12 else 2**62)
    values = {
        "lines": [
            {
                "number": each.number,
                "at": _instant(each.at_ms),
                "actor": visit.name_of(each.actor) if each.actor else _("at the server"),
                "what": _(WHAT.get(each.what, each.what)),
                "whom": visit.name_of(each.whom) if each.whom else "",
                "detail": each.detail,
            }
            for each in lines
        ],
        "earlier": lines[-1].number if len(lines) == LINES else 0,
        "broken": visit.home.trail.first_broken(),
    }
    return Shown("trail.html", values)


def _instant(at_ms: int) -> str:
    at = datetime.fromtimestamp(at_ms / 1000, UTC)
    return f"{date_alone(at)}, {clock_time(at)} UTC"

"""The safety digest: what the club's dives show month by month, with names for officers alone."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import Any, Final

from logbook_app.analysis.spoken_times import month_name
from logbook_app.language import _, later
from logbook_app.sync.shown_dives import SHOWN
from server.club_findings import ClubFindings, DiveFindings, Found
from server.pages.roster import dive_line
from server.pages.visit import Shown, Told, Visit
from server.roles import Role

COLUMNS: Final = {
    "fast_ascent": later("Fast ascent"),
    "required_stop": later("Stops were required"),
    "missed_stop": later("Stops were missed"),
    "low_gas": later("Little gas left"),
}


def show_safety(visit: Visit) -> Told:
    """Show one year."""
    asked = visit.asked.query.get("year", "")
    year = int(asked) if asked.isdecimal() and len(asked) == 4 else visit.today.year
    members = {each.id for each in visit.members()}
    entries = visit.register.on_days(SHOWN, f"{year}-01-01", f"{year}-12-31")
    shown = [each for each in entries if each.everybody and each.owner in members]
    found = ClubFindings(visit.home.store).of(shown)
    officer = visit.may(Role.OFFICER)
    values = {
        "year": year,
        "columns": [_(words) for words in COLUMNS.values()],
        "months": _months(found),
        "left": sum(each.findings is None for each in found),
        "officer": officer,
        "dives": [_line(visit, each) for each in found if each.findings and each.findings.anything]
        if officer
        else [],
    }
    return Shown("safety.html", values)


def _months(found: list[Found]) -> list[dict[str, Any]]:
    months: defaultdict[int, list[DiveFindings]] = defaultdict(list)
    for each in found:
        if each.findings is not None:
            months[int(each.entry.day[5:7])].append(each.findings)
    most = max((len(each) for each in months.values()), default=1)
    return [
        {
            "name": month_name(date(2000, month, 1)),
            "dives": len(told),
            "share": 100 * len(told) / most,
            "samples": sum(each.samples for each in told),
            "counts": [sum(getattr(each, name) for each in told) for name in COLUMNS],
        }
        for month, told in sorted(months.items())
    ]


def _line(visit: Visit, found: Found) -> dict[str, Any]:
    seen = visit.reading.dive(found.entry.key)
    line = dive_line(seen) if seen else {}
    words = [_(words) for name, words in COLUMNS.items() if getattr(found.findings, name)]
    return {**line, "name": visit.name_of(found.entry.owner), "words": ", ".join(words)}

"""A club day: who dived with whom, their profiles on one section, and who has been up for how long."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Any, Final

from logbook_app.analysis.spoken_times import clock_time, full_date
from logbook_app.analysis.spoken_units import spoken_duration
from logbook_app.language import _
from logbook_app.sync.shown_dives import SHOWN
from server.pages.dive import section_of
from server.pages.roster import UNITS, dive_path
from server.pages.visit import NotHere, Shown, Told, Visit
from server.reading import SeenDive

DAYS: Final = 60
UP_WITHIN: Final = timedelta(hours=48)


def show_days(visit: Visit) -> Told:
    """List the latest days on which members dived."""
    days = [
        {"day": day, "words": full_date(date.fromisoformat(day)), "dives": dives, "divers": divers}
        for day, dives, divers in visit.register.days(SHOWN, DAYS)
        if day
    ]
    return Shown("days.html", {"days": days})


def show_day(visit: Visit) -> Told:
    """Show one day."""
    try:
        day = date.fromisoformat(visit.asked.place["day"])
    except ValueError as error:
        raise NotHere from error
    members = {each.id for each in visit.members()}
    keys = [each.key for each in visit.register.on_days(SHOWN, day.isoformat(), day.isoformat())]
    dives = [each for each in visit.reading.dives(keys) if each.owner in members]
    dives.sort(key=lambda each: (each.dive.began_at, each.key))
    values = {
        "title": full_date(day),
        "groups": [_group(visit, each) for each in together(dives)],
        "up": list(_up(visit, dives)),
        "dives": len(dives),
    }
    return Shown("day.html", values)


def together(dives: list[SeenDive]) -> list[list[SeenDive]]:
    """Return dives in groups: at one place, where it is told, and under water at the same time.

    dives   in order of their start
    """
    groups: list[list[SeenDive]] = []
    for seen in dives:
        near = [group for group in groups if any(_met(seen, other) for other in group)]
        joined = sorted((each for group in near for each in group), key=lambda each: each.dive.began_at)
        groups = [group for group in groups if group not in near]
        groups.append([*joined, seen])
    return groups


def _met(one: SeenDive, other: SeenDive) -> bool:
    sites = {seen.shown.site.casefold() for seen in (one, other)} - {""}
    first, last = max(one.dive.began_at, other.dive.began_at), min(one.dive.ended_at, other.dive.ended_at)
    shorter = min(one.dive.duration_min, other.dive.duration_min)
    return len(sites) < 2 and one.owner != other.owner and last - first >= timedelta(minutes=shorter / 2)


def _group(visit: Visit, dives: list[SeenDive]) -> dict[str, Any]:
    site = next((each.shown.site for each in dives if each.shown.site), _("place not shown"))
    return {
        "title": f"{site}, {clock_time(dives[0].dive.began_local)}",
        "alone": len({each.owner for each in dives}) == 1,
        "section": section_of(visit, dives),
        "dives": [
            {
                "name": visit.name_of(each.owner),
                "path": dive_path(each.key),
                "began": clock_time(each.dive.began_local),
                "ended": clock_time(each.dive.began_local + timedelta(minutes=each.dive.duration_min)),
                "depth": UNITS.depth(each.dive.max_depth_m),
                "duration": spoken_duration(each.dive.duration_min),
                "buddies": ", ".join(each.shown.buddies),
            }
            for each in dives
        ],
    }


def _up(visit: Visit, dives: list[SeenDive]) -> Iterator[dict[str, Any]]:
    """Tell of each diver when they last came up that day, and for how long they have been up."""
    last: dict[str, SeenDive] = {}
    for each in dives:
        if each.owner not in last or each.dive.ended_at > last[each.owner].dive.ended_at:
            last[each.owner] = each
    for owner, each in sorted(last.items(), key=lambda item: item[1].dive.ended_at):
        yield {
            "name": visit.name_of(owner),
            "dives": sum(dive.owner == owner for dive in dives),
            "at": clock_time(each.dive.began_local + timedelta(minutes=each.dive.duration_min)),
            "long": _long(visit.now, each),
        }


def _long(now: datetime, seen: SeenDive) -> str:
    up = now - seen.dive.ended_at
    if timedelta(0) <= up <= UP_WITHIN:
        return spoken_duration(up.total_seconds() // 60)
    return _("more than 48 h") if up > UP_WITHIN else _("not yet")

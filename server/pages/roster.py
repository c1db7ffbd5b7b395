"""Who belongs to the club, what each shows of their diving, and one member on a page."""

from __future__ import annotations

from datetime import date
from typing import Any, Final
from urllib.parse import quote

from logbook_app.analysis.spoken_times import clock_time, date_alone
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives, spoken_duration
from logbook_app.language import _
from logbook_app.sync.shown_dives import SHOWN
from logbook_app.sync.sign_offs import SIGN_OFF
from server.club_progress import Experience
from server.pages.office import role_words
from server.pages.sign_words import signature_lines
from server.pages.visit import Shown, Told, Visit
from server.reading import SeenDive
from server.roles import Member

UNITS: Final = SpokenUnits()
MEMBERS_A_PAGE: Final = 50
DIVES_A_PAGE: Final = 100


def show_roster(visit: Visit) -> Told:
    """List the members with what their shown dives amount to."""
    members = visit.members()
    page, pages = one_page(members, visit.asked.query.get("page", ""), MEMBERS_A_PAGE)
    lines = [_line(visit, each) for each in page]
    return Shown("roster.html", {"members": lines, "count": len(members), "pages": pages})


def show_member(visit: Visit) -> Told:
    """Show one member: experience, dives that the viewer may see, signatures."""
    member = visit.member_named(visit.asked.place["member"])
    entries = visit.register.of_owner(SHOWN, member.id)
    visible = [each.key for each in entries if visit.reading.may_see(each.key)]
    keys, pages = one_page(visible, visit.asked.query.get("page", ""), DIVES_A_PAGE)
    signed = visit.reading.sign_offs(each.key for each in visit.register.for_whom(SIGN_OFF, member.id))
    values = {
        "member": member,
        "words": role_words(member),
        "experience": experience_words(visit.progress.experience(member)),
        "dives": [dive_line(each) for each in visit.reading.dives(keys)],
        "count": spoken_dives(len(visible)),
        "pages": pages,
        "signed": signature_lines(visit, signed),
        "first_set": visit.requirement_sets()[0].id,
    }
    return Shown("member.html", values)


def one_page(found: list[Any], asked: str, most: int) -> tuple[list[Any], list[dict[str, Any]]]:
    """Return the part of a list that a page shows, and the pages that there are; none where one is enough."""
    count = -(-len(found) // most)
    at = min(int(asked) if asked.isdecimal() and len(asked) < 7 else 1, max(count, 1))
    pages = [{"number": number, "here": number == at} for number in range(1, count + 1)] if count > 1 else []
    return found[(at - 1) * most : at * most], pages


def experience_words(told: Experience) -> dict[str, str]:
    """Say what dives amount to."""
    return {
        "dives": str(told.dives),
        "hours": spoken_duration(told.minutes) if told.dives else "",
        "deepest": UNITS.depth(told.deepest_m) if told.dives else "",
        "in_a_year": str(told.in_a_year),
        "last": date_alone(date.fromisoformat(told.last_day)) if told.last_day else _("none shown"),
    }


def dive_line(seen: SeenDive) -> dict[str, str]:
    """Say a dive in one line."""
    dive = seen.dive
    return {
        "key": seen.key,
        "path": dive_path(seen.key),
        "day": date_alone(dive.began_local),
        "time": clock_time(dive.began_local),
        "site": dive.site.name if dive.site else _("place not shown"),
        "depth": UNITS.depth(dive.max_depth_m),
        "duration": spoken_duration(dive.duration_min),
    }


def dive_path(key: str) -> str:
    """Return the path of a dive's page."""
    owner, _slash, name = key.partition("/")
    return f"/dives/{quote(owner)}/{quote(name, safe=':')}"


def _line(visit: Visit, member: Member) -> dict[str, Any]:
    return {"id": member.id, "name": member.name, "words": role_words(member)} | experience_words(
        visit.progress.experience(member)
    )

"""A paper history, typed into a table: dives of before, entered for oneself or by an officer for a member.

They become records of the member's own, with the day they were entered, and are shown to the club where
that was chosen. Entering the same table again adds nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Final

from logbook_app.dive.problems import LeadlineError, Problem, RefusedFile
from logbook_app.dive.record import Dive
from logbook_app.files.dive_list_csv import parse_dive_list
from logbook_app.files.read_dive import ReadOptions
from logbook_app.language import _, ngettext
from logbook_app.sync.changes import EVERYBODY
from logbook_app.sync.records import record_name, values_from, written_values
from logbook_app.sync.shown_dives import PLACE, shown_dive, shown_name
from server.pages.visit import NotDone, NotHere, Shown, Told, Visit
from server.pages.writing import write_for
from server.roles import Member, Role

MOST_DIVES: Final = 2_000
SOURCE: Final = "entered from"  # among the values that have no field of their own


def show_paper(visit: Visit) -> Told:
    """Show the form."""
    return _page(visit, _whose(visit))


def enter_paper(visit: Visit) -> Told:
    """Take in a table of dives, all that can be read of it."""
    member = _whose(visit)
    data = visit.asked.files.get("table", b"")
    if not data:
        raise NotDone(_("Choose a file first: a table with the columns date, depth and duration."))
    try:
        read = list(parse_dive_list([data], _("the table"), ReadOptions(utc_offset_min=0)))
    except RefusedFile as trouble:
        return _page(visit, member, wrong=str(trouble))
    except (LeadlineError, UnicodeDecodeError) as trouble:
        return _page(visit, member, wrong=_("The table cannot be read: {why}").format(why=trouble))
    dives = [each.dive for each in read if not isinstance(each, Problem)]
    if len(dives) > MOST_DIVES:
        raise NotDone(_("The table holds more than {most} dives; enter it in parts.").format(most=MOST_DIVES))
    added = sum(_enter(visit, member, dive) for dive in dives)
    with visit.home.store.change():
        visit.home.trail.write(
            visit.now_ms, visit.member.id, "entered a paper history", member.id, str(added)
        )
    words = ngettext("{count} dive was added.", "{count} dives were added.", added).format(count=added)
    return _page(visit, member, said=words, problems=list(_problems(read)))


def _enter(visit: Visit, member: Member, dive: Dive) -> bool:
    key = f"{member.id}/{record_name('dive', dive.id)}"
    if visit.home.store.record(key):
        return False
    own = replace(dive, diver="", extra={**dive.extra, SOURCE: "paper"})
    write_for(visit.home, member, record_name("dive", dive.id), written_values(own))
    if "show" in visit.asked.form:
        shown = shown_dive(own, member.name, (PLACE,), None)
        write_for(visit.home, member, shown_name(dive.id), {**values_from(shown), "readers": [EVERYBODY]})
    return True


def _problems(read: list[Any]) -> Iterator[str]:
    for each in read:
        if isinstance(each, Problem):
            yield f"{each.where}: {each.what}"


def _whose(visit: Visit) -> Member:
    member = visit.member_named(visit.asked.place["member"])
    if member.id != visit.member.id and not visit.may(Role.OFFICER):
        raise NotHere
    return member


def _page(visit: Visit, member: Member, *, said: str = "", wrong: str = "", problems: Any = ()) -> Shown:
    values = {"member": member, "own": member.id == visit.member.id, "problems": problems}
    return Shown("paper.html", values, said=said, wrong=wrong, status=400 if wrong else 200)

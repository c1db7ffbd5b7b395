"""What a page writes for the member who is signed in: a change of a record of theirs, as a device sends one.

It goes through the same rules as everything that comes from a device. Each change has an origin of its
own: pages count no changes, because nobody asks them whether one was lost.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping

from logbook_app.language import _
from logbook_app.sync.changes import Change
from logbook_app.sync.merging import Json, what_an_edit_sees
from logbook_app.sync.messages import SCHEMA, Push, Pushed, SentChange, Verdict
from server.club_home import ClubHome
from server.pages.visit import NotDone
from server.permissions import Caller
from server.roles import Member


def write_for(home: ClubHome, member: Member, name: str, fields: Mapping[str, Json]) -> str:
    """Write fields of a member's own record and return its key.

    Raises NotDone where the club's rules do not allow it.
    """
    key, now_ms = f"{member.id}/{name}", home.now_ms()
    record = home.store.record(key)
    state = home.store.state()
    change = Change(
        origin=uuid.uuid4().hex,
        number=1,
        owner="",
        record=name,
        stamp=state.clock.ticked(now_ms).stamp,
        fields=fields,
        saw={each: seen for each in fields if (seen := what_an_edit_sees(record, each))},
    )
    caller = Caller(member.id, f"pages of {member.id}", now_ms, member.signs_as, member.signs_for)
    told = home.club.answer(Push(state.epoch, SCHEMA, (SentChange(change),)), caller)
    if not isinstance(told, Pushed) or told.verdicts[0].verdict != Verdict.ACCEPTED:
        raise NotDone(_("The club’s rules do not allow this."))
    return key

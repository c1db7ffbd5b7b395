"""The club's end of the wire: bytes and a secret come in, bytes go out, whatever carries them.

Every answer is a message, a refusal too, so that a device needs to understand nothing else. The status
beside it is for whoever looks at the logs of a web server.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from logbook_app.dive.problems import RefusedMessage
from logbook_app.sync.messages import (
    Code,
    Join,
    Joined,
    Refusal,
    Reply,
    Request,
    message_name,
    parse_request,
    to_wire,
)
from server.club_home import ClubHome
from server.permissions import Caller

_STATUS: Final = {
    Code.UNREADABLE: 400,
    Code.UNKNOWN_DEVICE: 401,
    Code.REVOKED: 401,
    Code.BAD_INVITATION: 403,
    Code.MISSING: 404,
    Code.ACCOUNT_GONE: 410,
}


class Answer(NamedTuple):
    """A message on its way to a device."""

    status: int
    data: bytes


class SyncDesk:
    """One club, answering.

    name   of the club, shown to who joins
    """

    def __init__(self, home: ClubHome, name: str) -> None:
        self._home, self._name = home, name

    def answer(self, route: str, data: bytes, token: str) -> Answer:
        """Answer one request; `token` is empty where the device showed none."""
        try:
            request = parse_request(data)
        except RefusedMessage as refused:
            return _told(Refusal(Code.UNREADABLE, str(refused)))
        if message_name(request) != route:
            return _told(Refusal(Code.UNREADABLE, f"This is no message for {route[:40]}."))
        return _told(self._join(request) if isinstance(request, Join) else self._talk(request, token))

    def _join(self, asked: Join) -> Reply:
        with self._home.store.change():
            member = self._home.accounts.join(asked, self._home.now_ms())
        if member is None:
            words = "This invitation was used, is too old or was never made; ask the club for another."
            return Refusal(Code.BAD_INVITATION, words)
        return Joined(member.id, self._name)

    def _talk(self, request: Request, token: str) -> Reply:
        speaker = self._home.accounts.speaker(token)
        if speaker is None:
            return Refusal(Code.UNKNOWN_DEVICE, "This device has not joined the club, or not any more.")
        device, member_id = speaker
        member = self._home.accounts.member(member_id)
        instructor = member is not None and member.instructor
        return self._home.club.answer(request, Caller(member_id, device, self._home.now_ms(), instructor))


def _told(reply: Reply) -> Answer:
    status = _STATUS.get(reply.code, 409) if isinstance(reply, Refusal) else 200
    return Answer(status, to_wire(reply))

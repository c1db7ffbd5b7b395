"""The club's end of the wire: bytes and a secret come in, bytes go out, whatever carries them.

Every answer is a message, a refusal too, so that a device needs to understand nothing else. The status
beside it is for whoever looks at the logs of a web server.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from logbook_app.dive.problems import RefusedMessage
from logbook_app.sync.messages import (
    Code,
    DeviceList,
    Devices,
    Join,
    Joined,
    KnownDevice,
    Refusal,
    Reply,
    Request,
    RevokeDevice,
    message_name,
    parse_request,
    to_wire,
)
from server.club_home import ClubHome
from server.permissions import Caller

DEVICE_LETTERS: Final = 16  # enough to tell a member's devices apart, and of no use to who overhears it

_STATUS: Final = {
    Code.UNREADABLE: 400,
    Code.UNKNOWN_DEVICE: 401,
    Code.REVOKED: 401,
    Code.BAD_INVITATION: 403,
    Code.MISSING: 404,
    Code.ACCOUNT_GONE: 410,
}


class Answer(NamedTuple):
    """A message on its way to a device.

    code   of a refusal, empty for any other message
    """

    status: int
    data: bytes
    code: str = ""


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
        return Joined(member.id, self._name, member.name)

    def _talk(self, request: Request, token: str) -> Reply:
        speaker = self._home.accounts.speaker(token)
        if speaker is None:
            return Refusal(Code.UNKNOWN_DEVICE, "This device has not joined the club, or not any more.")
        device, member_id = speaker
        member = self._home.accounts.member(member_id)
        if member is not None and member.left_ms:
            return Refusal(Code.REVOKED, "The club's officers removed this member.")
        signing = (str(member.signs_as), member.signs_for) if member else ("", frozenset[str]())
        caller = Caller(member_id, device, self._home.now_ms(), *signing)
        if isinstance(request, Devices | RevokeDevice):
            return self._home.club.refusal(caller) or self._devices(request, caller)
        return self._home.club.answer(request, caller)

    def _devices(self, request: Devices | RevokeDevice, caller: Caller) -> Reply:
        """Tell the devices of who asks; shut one out first where that is asked. Never another member's."""
        found = dict(self._home.accounts.devices_of(caller.member))
        if isinstance(request, RevokeDevice):
            wanted = [each for each in found if each.startswith(request.device or caller.device)]
            if len(wanted) != 1:
                return Refusal(Code.MISSING, "You have no such device.")
            self._home.club.revoke(wanted[0])
        return DeviceList(tuple(self._known(each, name, caller) for each, name in found.items()))

    def _known(self, device: str, name: str, caller: Caller) -> KnownDevice:
        heard = self._home.store.device(device)
        seen_ms, standing = (heard.seen_ms, heard.standing) if heard else (0, "")
        return KnownDevice(device[:DEVICE_LETTERS], name, seen_ms, device == caller.device, standing)


def _told(reply: Reply) -> Answer:
    if isinstance(reply, Refusal):
        return Answer(_STATUS.get(reply.code, 409), to_wire(reply), reply.code)
    return Answer(200, to_wire(reply))

"""The real core against the real server in one process, over a real socket."""

from __future__ import annotations

import gzip
import hashlib
import threading
import time
from collections.abc import Iterator
from typing import Any

import pytest
import requests
import uvicorn

from logbook_app.sync import messages
from logbook_app.sync.merging import value_of
from logbook_app.sync.messages import (
    Code,
    Devices,
    Hello,
    Join,
    Joined,
    Refusal,
    RevokeDevice,
    Welcome,
    parse_reply,
    to_wire,
)
from server.app import make_app
from server.club_home import ClubHome
from server.roles import SignsAs
from tests.sync.desk import Desk, Device

pytestmark = pytest.mark.law

TOKEN = "ab" * 32


@pytest.fixture
def home(open_home) -> ClubHome:
    return open_home()


@pytest.fixture
def address(home) -> Iterator[str]:
    config = uvicorn.Config(make_app(home, "Divers of the quarry"), port=0, log_level="error")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join()


class FarClub(Desk):
    """A club that is asked over HTTP; every device has a secret of its own."""

    def __init__(self, address: str, home: ClubHome) -> None:
        super().__init__(home.store)
        self.address, self.home, self.club = address, home, home.club
        self.now_ms = home.now_ms()
        self.http = requests.Session()
        self.tokens: dict[str, str] = {}

    def joined(self, name: str, origin: str, **how: Any) -> Device:
        _, code = self.home.invite(name, **how)
        self.tokens[origin] = hashlib.sha256(origin.encode()).hexdigest()
        reply = self.post(Join(code, self.tokens[origin], origin))
        assert isinstance(reply, Joined)
        return self.device(reply.member, origin)

    def post(self, request: Any, token: str = "", route: str = "") -> Any:
        url = f"{self.address}/v1/{route or messages.message_name(request)}"
        headers = {"authorization": f"Bearer {token}"}
        return parse_reply(self.http.post(url, to_wire(request), headers=headers, timeout=10).content)

    def ask(self, request, _member, device="d", **_):
        return self.post(request, self.tokens[device])


@pytest.fixture
def far(address, home) -> FarClub:
    return FarClub(address, home)


def test_two_devices_of_one_diver_and_a_friend_over_a_socket(far):
    phone, tablet, bo = far.joined("Ada", "phone"), far.joined("Ada", "tablet"), far.joined("Bo", "bo")
    data = bytes(range(256)) * 3_000
    name = hashlib.sha256(data).hexdigest()
    phone.store.tables.blobs[name] = data
    phone.write("shownpage:1", notes="größer, 大", recordings=[{"profile_sha256": name}], readers=[bo.member])
    for device in (phone, tablet, bo):
        outcome = device.sync()
        assert outcome.counts_agree
        assert not outcome.clock_is_off
    key = f"{phone.member}/shownpage:1"
    for device in (tablet, bo):
        assert value_of(device.sees(key), "notes") == "größer, 大"
        assert device.store.tables.blobs == {name: data}
    assert phone.member == tablet.member != bo.member


def test_many_dives_go_through_packed(far):
    phone, tablet = far.joined("Ada", "phone"), far.joined("Ada", "tablet")
    for number in range(700):
        phone.write(f"dive:{number}", notes=f"dive {number}", depth=18.5)
    assert phone.sync().sent == 700
    assert tablet.sync().counts_agree
    assert len(tablet.store.decided_keys()) == 700


def test_an_invitation_is_good_once_and_again_for_the_same_device(far):
    _, code = far.home.invite("Ada")
    first = far.post(Join(code, TOKEN, "phone"))
    assert isinstance(first, Joined)
    assert far.post(Join(code, TOKEN, "phone")) == first
    assert far.post(Join(code, "cd" * 32, "thief")).code == Code.BAD_INVITATION
    assert far.post(Join("made up", "cd" * 32)).code == Code.BAD_INVITATION
    assert isinstance(far.post(Hello(1), TOKEN), Welcome)


def test_an_invitation_ends_after_seven_days(far):
    _, code = far.home.invite("Ada")
    started = far.home.now_ms()
    far.home.now_ms = lambda: started + 8 * 86_400_000
    assert far.post(Join(code, TOKEN)).code == Code.BAD_INVITATION


def test_who_has_no_secret_gets_no_answer(far):
    for token in ("", "made up", TOKEN):
        for request in (Hello(1), messages.Pull(1, 0), messages.Snapshot(1)):
            assert far.post(request, token).code == Code.UNKNOWN_DEVICE


def test_secrets_and_codes_are_not_kept(far, home):
    _, code = home.invite("Ada")
    far.post(Join(code, TOKEN))
    home.back_up(home.folder / "all.sqlite")
    kept = (home.folder / "all.sqlite").read_bytes()
    assert b"Ada" in kept
    assert TOKEN.encode() not in kept
    assert code.encode() not in kept


def test_a_revoked_device_and_an_erased_member_are_told_why(far):
    phone = far.joined("Ada", "phone")
    (device,) = far.home.accounts.devices_of(phone.member)
    far.home.club.revoke(device[0])
    assert phone.sync().ended == Code.REVOKED
    tablet = far.joined("Ada", "tablet")
    far.home.erase(tablet.member)
    assert tablet.sync().ended == Code.ACCOUNT_GONE


def test_a_member_sees_own_devices_and_shuts_one_out(far):
    phone, tablet, bo = far.joined("Ada", "phone"), far.joined("Ada", "tablet"), far.joined("Bo", "bo")
    tablet.sync()
    (bos,) = far.post(Devices(), far.tokens["bo"]).devices
    listed = {each.name: each for each in far.post(Devices(), far.tokens["phone"]).devices}
    assert set(listed) == {"phone", "tablet"}
    assert listed["phone"].here
    assert not listed["tablet"].here
    assert listed["tablet"].seen_ms
    assert far.post(RevokeDevice(bos.id), far.tokens["phone"]).code == Code.MISSING
    assert bo.sync().counts_agree
    for _again in range(2):
        left = far.post(RevokeDevice(listed["tablet"].id), far.tokens["phone"])
        assert {each.name: each.standing for each in left.devices} == {"phone": "", "tablet": Code.REVOKED}
    assert tablet.sync().ended == Code.REVOKED
    for request in (Devices(), RevokeDevice(listed["phone"].id)):
        assert far.post(request, far.tokens["tablet"]).code == Code.REVOKED
        assert far.post(request, TOKEN).code == Code.UNKNOWN_DEVICE
    assert phone.sync().counts_agree


def test_a_device_that_leaves_says_so_of_itself(far):
    phone = far.joined("Ada", "phone")
    assert far.post(RevokeDevice(), far.tokens["phone"]).devices[0].standing == Code.REVOKED
    assert far.post(RevokeDevice(), far.tokens["phone"]).code == Code.REVOKED
    assert phone.sync().ended == Code.REVOKED


def test_only_an_instructor_signs(far):
    teacher, pupil = far.joined("Tess", "t", signs_as=SignsAs.INSTRUCTOR), far.joined("Paul", "p")
    signed = dict.fromkeys(("what", "whom", "record", "names", "digest"), "x")
    for device in (teacher, pupil):
        device.write("signoff:1", **signed)
    assert (teacher.sync().sent, pupil.sync().not_accepted) == (1, 1)


def test_what_is_no_message_is_refused_in_one_way(far):
    phone = far.joined("Ada", "phone")
    token = far.tokens["phone"]
    url, headers = f"{far.address}/v1/hello", {"authorization": f"Bearer {token}"}
    for body in (b"", b"{}", b"\xff\xfe", b"[" * 10_000, to_wire(Welcome(0, 0, 0, "a"))):
        answer = far.http.post(url, body, headers=headers, timeout=10)
        assert (answer.status_code, parse_reply(answer.content).code) == (400, Code.UNREADABLE)
    assert far.post(Hello(1), token, route="pull").code == Code.UNREADABLE
    assert phone.sync().counts_agree


def test_a_body_that_is_too_long_or_unpacks_to_too_much_is_not_read(far):
    url = f"{far.address}/v1/push"
    bomb = gzip.compress(b" " * (100 * 2**20))
    assert len(bomb) < 200_000
    bodies = [(b" " * (messages.LARGEST_REQUEST + 1), {}), (bomb, {"content-encoding": "gzip"}),
              (b"not packed", {"content-encoding": "gzip"})]  # fmt: skip
    for body, headers in bodies:
        answer = far.http.post(url, body, headers=headers, timeout=10)
        assert (answer.status_code, parse_reply(answer.content).code) == (413, Code.UNREADABLE)


def test_a_packed_request_is_read(far):
    far.joined("Ada", "phone")
    headers = {"authorization": f"Bearer {far.tokens['phone']}", "content-encoding": "gzip"}
    answer = far.http.post(
        f"{far.address}/v1/hello", gzip.compress(to_wire(Hello(1))), headers=headers, timeout=9
    )
    assert isinstance(parse_reply(answer.content), Welcome)


def test_a_backup_is_put_back_while_the_club_is_served(far, open_home, tmp_path):
    phone, bo = far.joined("Ada", "phone"), far.joined("Bo", "bo")
    phone.write("dive:1", notes="calm")
    bo.write("dive:1", notes="bo's own")
    phone.sync()
    bo.sync()
    far.home.back_up(tmp_path / "backup.sqlite")
    phone.write(f"{phone.member}/dive:1", notes="rough")
    phone.sync()
    far.home.erase(bo.member)
    open_home(restoring=True).restore(tmp_path / "backup.sqlite")
    assert phone.sync().counts_agree
    assert value_of(far.store.record(f"{phone.member}/dive:1"), "notes") == "rough"
    assert far.store.state().epoch == 2
    assert bo.sync().ended == Code.ACCOUNT_GONE
    assert [member.name for member in far.home.accounts.members()] == ["Ada"]
    assert list(far.home.folder.glob("club.before-*.sqlite"))
    assert not list(far.home.folder.glob("club.restoring*"))


def test_a_refusal_is_a_message(far):
    assert far.post(messages.Pull(9, 0), TOKEN) == Refusal(
        Code.UNKNOWN_DEVICE, "This device has not joined the club, or not any more."
    )

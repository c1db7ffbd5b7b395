"""Logbook files and the real server over 127.0.0.1, through a network that breaks; and a club that lies."""

from __future__ import annotations

import gzip
import hashlib
import json
import random
import socket
import ssl
import stat
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from itertools import chain, repeat
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from logbook_app import divers_club
from logbook_app.dive.problems import Cancelled, LeadlineError, NoClub, RefusedMessage
from logbook_app.logbook import Logbook
from logbook_app.store.logbook_store import LogbookStore
from logbook_app.sync.membership import Membership, MembershipFile
from logbook_app.sync.messages import (
    LARGEST_BLOB,
    LARGEST_REPLY,
    Hello,
    Known,
    Pulled,
    Pushed,
    Records,
    Welcome,
    parse_request,
    to_wire,
)
from logbook_app.sync.transport import Patience, Transport, club_address
from server.club_home import ClubHome
from tests.dive.strategies import plain_dive
from tests.server.served import served
from tests.store.test_nothing_acknowledged_is_lost import numbered
from tests.sync.bad_network import BadNetwork, hostile, http

pytestmark = pytest.mark.law

QUICK = Patience(connect_s=1, read_s=0.4, answer_s=1.5, again=4, pause_s=0.01, longest_pause_s=0.02)


def now() -> datetime:
    return datetime.now(UTC)


@pytest.fixture
def home(tmp_path: Path) -> Iterator[ClubHome]:
    with closing(ClubHome(tmp_path / "club")) as home:
        yield home


@pytest.fixture
def address(home: ClubHome) -> Iterator[str]:
    with served(home) as address:
        yield address


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Any]:
    """Open logbooks by name; the divers are quick to lose patience."""
    with ExitStack() as stack:
        yield lambda name: stack.enter_context(closing(Logbook.open(tmp_path / f"{name}.leadline", now=now)))


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    def transport(membership: Membership, cancelled: Any) -> Transport:
        token = membership.token if membership.member else ""
        return Transport(membership.address, token, cancelled=cancelled, patience=QUICK)

    monkeypatch.setattr(divers_club, "_transport", transport)


def invited(home: ClubHome, name: str = "Ada") -> str:
    return home.invite(name)[1]


def test_two_devices_of_one_diver(home, address, logbook, tmp_path):
    phone, tablet = logbook("phone"), logbook("tablet")
    phone._store.save([numbered(1), numbered(2)])
    for each in (phone, tablet):
        assert each.club.join(address, invited(home)).club == "Quarry"
        assert stat.S_IMODE((tmp_path / f"{each.path.name}.club").stat().st_mode) == 0o600
    assert phone.club.state().waiting == 2
    synced = phone.club.sync()
    assert (synced.outcome.sent, synced.outcome.received, synced.outcome.counts_agree) == (2, 0, True)
    assert phone.club.state().waiting == 0
    synced = tablet.club.sync()
    assert (synced.outcome.received, synced.outcome.blobs_received) == (2, 2)
    assert synced.changes.dives == {dive.id for dive in phone.dives()}
    assert tablet.dives() == phone.dives()
    again = tablet.club.sync().outcome
    assert (again.sent, again.received, again.counts_agree) == (0, 0, True)


def test_the_secret_is_in_no_logbook_and_no_backup(home, address, logbook, tmp_path):
    phone = logbook("phone")
    phone.club.join(address, invited(home))
    phone.club.sync()
    token = MembershipFile(phone.path).read().token
    phone.back_up(tmp_path / "kept.leadline")
    phone.club.write_bundle(tmp_path / "passed")
    for path in tmp_path.iterdir():
        if path.is_file() and not path.name.endswith(".club"):
            assert token.encode() not in path.read_bytes()


def test_an_invitation_whose_answer_was_lost_is_good_again(home, address, logbook):
    phone, code = logbook("phone"), invited(home)
    network = BadNetwork(address, lambda _number: "swallow")
    with pytest.raises(NoClub):
        phone.club.join(network.address, code)
    assert not phone.club.state().joined
    network.fault = lambda _number: ""
    assert phone.club.join(network.address, code).club == "Quarry"
    with pytest.raises(NoClub, match="ask the club for another"):
        logbook("tablet").club.join(address, code)
    network.close()


def test_who_leaves_is_asked_nothing_and_keeps_everything(home, address, logbook):
    phone = logbook("phone")
    phone._store.save([numbered(1)])
    phone.club.join(address, invited(home))
    phone.club.sync()
    assert phone.club.leave()
    assert not phone.club.leave()
    assert len(phone.dives()) == 1
    with pytest.raises(NoClub, match="joined no club"):
        phone.club.sync()


@pytest.mark.parametrize("seed", range(12))
def test_through_a_network_that_breaks_everything_arrives_once(home, address, logbook, seed):
    chance = random.Random(seed)
    faults = ["refuse", "busy", "swallow", *(f"cut {length}" for length in (1, 20, 90, 140, 250, 400))]
    network = BadNetwork(address, lambda _n: chance.choice(faults) if chance.random() < 0.4 else "")
    phone, tablet = logbook("phone"), logbook("tablet")
    phone._store.save([numbered(number) for number in range(6)])
    for each in (phone, tablet):
        code = invited(home)
        _until_it_works(partial(each.club.join, network.address, code))
    _until_it_works(phone.club.sync)
    _until_it_works(tablet.club.sync)
    tablet._store.save([(replace(tablet.dives()[0], notes="calm"), ())])
    _until_it_works(tablet.club.sync)
    _until_it_works(phone.club.sync)
    network.close()
    assert phone.dives() == tablet.dives()
    assert len(phone.dives()) == 6
    assert phone.club.conflicts() == []


def _until_it_works(work: Any) -> None:
    for _again in range(40):
        try:
            result = work()
        except LeadlineError:
            continue
        if getattr(result, "trouble", "") == "":
            return
    raise AssertionError("it never worked")


def test_photos_come_and_one_that_is_too_large_holds_nothing_up(home, address, logbook, tmp_path):
    phone, tablet = logbook("phone"), logbook("tablet")
    Image.new("RGB", (640, 480), (20, 90, 120)).save(tmp_path / "reef.jpg")
    phone._store.save([(plain_dive(id="d1"), ())])
    phone.add_photos("d1", [tmp_path / "reef.jpg"])
    (photo,) = phone.dive("d1").photos
    large = bytes(LARGEST_BLOB + 1)
    with phone._store._change():
        phone._store.pictures.keep([(hashlib.sha256(large).hexdigest(), large, b"small")])
    for each in (phone, tablet):
        each.club.join(address, invited(home))
        assert each.club.sync().outcome.counts_agree
    assert tablet.dive("d1") == phone.dive("d1")
    assert tablet.photo(photo.sha256) == phone.photo(photo.sha256)
    assert tablet.thumbnails(tablet.dive("d1")) == phone.thumbnails(phone.dive("d1"))
    phone.club.write_bundle(tmp_path / "passed")
    third = logbook("third")
    third.club.take_bundle(tmp_path / "passed")
    assert third.photo(photo.sha256) == phone.photo(photo.sha256)


def test_what_was_tried_and_why_it_failed_is_told(home, address, logbook):
    phone = logbook("phone")
    network = BadNetwork(address, lambda _number: "")
    phone.club.join(network.address, invited(home))
    assert phone.club.state().last_at is None
    network.fault = lambda _number: "busy"
    with pytest.raises(NoClub):
        phone.club.sync()
    assert "it is busy" in phone.club.state().last_trouble
    network.fault = lambda _number: ""
    phone.club.sync()
    assert phone.club.state().last_trouble == ""
    network.close()


def test_a_silent_club_can_be_given_up_at_any_moment(home, address, logbook):
    phone = logbook("phone")
    network = BadNetwork(address, lambda _number: "")
    phone.club.join(network.address, invited(home))
    network.fault = lambda _number: "silence"
    until = time.monotonic() + 0.2
    with pytest.raises(Cancelled):
        phone.club.sync(cancelled=lambda: time.monotonic() > until)
    network.close()


def test_a_device_that_was_shut_out_is_told_and_can_join_again(home, address, logbook):
    phone = logbook("phone")
    member = phone.club.join(address, invited(home)).member
    phone.club.sync()
    phone._store.save([numbered(1)])
    ((device, _name),) = home.accounts.devices_of(member)
    home.club.revoke(device)
    assert "shut out" in phone.club.sync().trouble
    assert phone.club.state().waiting == 1
    phone.club.join(address, invited(home))
    assert phone.club.sync().outcome.sent == 1


def test_a_member_sees_own_devices_and_shuts_out_one_that_was_lost(home, address, logbook):
    phone, tablet = logbook("phone"), logbook("tablet")
    for each, name in ((phone, "Ada's phone"), (tablet, "Ada's tablet")):
        each.club.join(address, invited(home), device=name)
        each.club.sync()
    listed = {each.name: each for each in phone.club.devices()}
    assert [name for name, each in listed.items() if each.here] == ["Ada's phone"]
    left = phone.club.shut_out(listed["Ada's tablet"].id)
    assert {each.name: each.standing for each in left} == {"Ada's phone": "", "Ada's tablet": "revoked"}
    assert "shut out" in tablet.club.sync().trouble
    with pytest.raises(NoClub, match="shut out"):
        tablet.club.devices()
    assert phone.club.sync().trouble == ""


def test_a_club_that_is_left_is_told_so_and_listens_no_more(home, address, logbook, tmp_path):
    phone = logbook("phone")
    member = phone.club.join(address, invited(home)).member
    phone.club.sync()
    membership = phone.club.leave()
    assert stat.S_IMODE((tmp_path / "phone.leadline.club-left").stat().st_mode) == 0o600
    assert phone.club.tell_left() == [(membership, "")]
    assert phone.club.tell_left() == []
    assert not (tmp_path / "phone.leadline.club-left").exists()
    ((device, _name),) = home.accounts.devices_of(member)
    assert home.store.device(device).standing == "revoked"
    with pytest.raises(NoClub, match="new code"):
        phone.club.come_back(membership)
    phone.club.join(address, invited(home))
    assert phone.club.sync().trouble == ""


def test_a_club_that_is_not_reached_is_told_the_next_time(home, address, logbook):
    phone = logbook("phone")
    network = BadNetwork(address, lambda _number: "")
    phone.club.join(network.address, invited(home))
    membership = phone.club.leave()
    network.fault = lambda _number: "refuse"
    ((_left, why),) = phone.club.tell_left()
    assert "not reached" in why
    network.fault = lambda number: "swallow" if number % 2 else ""
    assert phone.club.tell_left() == [(membership, "")]
    network.close()


# A club that lies


def a_member(logbook: Any, address: str) -> Logbook:
    """A logbook with a dive, that believes it has joined the club at this address."""
    phone = logbook("phone")
    phone._store.save([(plain_dive(id="d1", notes="calm"), ())])
    MembershipFile(phone.path).write(Membership(address, "ab" * 32, "ada", "Quarry"))
    phone._store.begin_sharing()
    return phone


def contents(store: LogbookStore) -> list[Any]:
    tables = (
        "dives",
        "history",
        "profiles",
        "pictures",
        "settings",
        "kit_items",
        "sync_records",
        "sync_blobs",
    )
    return [store._connection.execute(f"SELECT * FROM {table}").fetchall() for table in tables]  # noqa: S608


def refused(logbook: Any, answer: Any, kind: type[LeadlineError] = LeadlineError) -> str:
    with hostile(answer) as address:
        phone = a_member(logbook, address)
        before = contents(phone._store)
        with pytest.raises(kind) as raised:
            phone.club.sync()
        assert contents(phone._store) == before
        assert phone.dive("d1").notes == "calm"
        return str(raised.value)


WELCOME = to_wire(Welcome(1_900_000_000_000, 1, 1, "ada"))


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        (b"<html>Please log in</html>", NoClub),
        (b"[" * 100_000, LeadlineError),
        (b'{"leadline":1,"say":"welcome","end":true}', RefusedMessage),
        (b'{"leadline":9,"say":"welcome","end":true}', RefusedMessage),
        (WELCOME.replace(b'"welcome"', b'"pulled"'), RefusedMessage),
        (WELCOME.replace(b"1900000000000", b"1e999"), RefusedMessage),
        (WELCOME.replace(b"1900000000000", b"9" * 5000), RefusedMessage),
        (WELCOME.replace(b'"ada"', b'"eve"'), RefusedMessage),
        (b"\xff\xfe\x00", LeadlineError),
        (b"", NoClub),
        (WELCOME[:-1], NoClub),
    ],
)
def test_what_is_no_answer_changes_nothing(logbook, body, kind):
    refused(logbook, lambda near: near.sendall(http(body)), kind)


def test_an_answer_without_end_is_not_read_to_its_end(logbook):
    def pour(near: socket.socket) -> None:
        near.sendall(b"HTTP/1.1 200 OK\r\ncontent-length: 99999999999\r\n\r\n{")
        while True:
            near.sendall(b"[" * 2**20)

    assert "longer than" in refused(logbook, pour, RefusedMessage)


def test_a_packed_answer_is_not_unpacked_beyond_what_one_may_be(logbook):
    bomb = gzip.compress(b" " * (8 * LARGEST_REPLY), 9)
    assert len(bomb) < 200_000
    answer = http(bomb, "content-encoding: gzip")
    assert "longer than" in refused(logbook, lambda near: near.sendall(answer), RefusedMessage)


@pytest.mark.parametrize("packing", ["gzip", "br", "gzip, gzip"])
def test_an_answer_that_is_not_packed_as_it_says(logbook, packing):
    refused(logbook, lambda near: near.sendall(http(WELCOME, f"content-encoding: {packing}")), RefusedMessage)


@pytest.mark.parametrize("beginning", [b"", b"HTTP/1.1 200 OK\r\ncontent-length: 500\r\n\r\n"])
def test_an_answer_that_drips_is_given_up(logbook, beginning):
    def drip(near: socket.socket) -> None:
        near.sendall(beginning)
        while True:
            near.sendall(b"H")
            time.sleep(0.05)

    began = time.monotonic()
    assert "too long" in refused(logbook, drip, NoClub)
    assert time.monotonic() - began < 10


def test_a_redirect_is_not_followed(logbook):
    asked: list[bytes] = []

    def elsewhere(near: socket.socket) -> None:
        asked.append(near.recv(10))
        near.sendall(http(WELCOME))

    with hostile(elsewhere) as other:
        answer = http(b"", f"location: {other}/v1/hello", status="307 Temporary Redirect")
        refused(logbook, lambda near: near.sendall(answer), NoClub)
    assert asked == []


@pytest.mark.parametrize("page", ["snapshot", "pull"])
def test_pages_without_end_are_refused(logbook, page):
    first = [WELCOME, to_wire(Records(1, 0, {})), to_wire(Pushed(1, ()))]
    more = to_wire(Records(1, 0, {}, more=True) if page == "snapshot" else Pulled(1, (), 0, more=True))
    answers = chain(first[: 1 if page == "snapshot" else 3], repeat(more))
    told = refused(logbook, lambda near: near.sendall(http(next(answers))), RefusedMessage)
    assert "again and again" in told


# Encryption


def test_a_secret_goes_nowhere_in_the_clear_but_to_this_machine():
    for fine in ("https://club.example", "http://127.0.0.1:8440", "http://[::1]:1", "http://localhost"):
        assert club_address(fine + "/") == fine
    assert club_address("club.example") == "https://club.example"
    assert club_address("http://hut.example", plain_host="hut.example") == "http://hut.example"
    for wrong in (
        "http://club.example", "http://127.0.0.1.example", "ftp://club.example", "https://", "https://a:b@c.example",
        "http://localhost.example", "https://c.example/?a", "https://c.example:99999", "http://[", "file:///etc",
    ):  # fmt: skip
        with pytest.raises(NoClub):
            club_address(wrong)


@pytest.fixture
def certified(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """A club over TLS with a certificate that only its own file vouches for."""
    certificate, key = tmp_path / "club.pem", tmp_path / "key.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
         "-nodes", "-days", "2", "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost",
         "-keyout", key, "-out", certificate],
        check=True, capture_output=True,
    )  # fmt: skip
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    listening = socket.create_server(("127.0.0.1", 0))

    def serve() -> None:
        while True:
            try:
                near, _ = listening.accept()
            except OSError:
                return
            try:
                with context.wrap_socket(near, server_side=True) as talk:
                    talk.recv(65536)
                    talk.sendall(http(WELCOME))
            except OSError:
                pass

    threading.Thread(target=serve, daemon=True).start()
    yield f"https://localhost:{listening.getsockname()[1]}", certificate
    listening.close()


def test_a_certificate_that_nobody_vouches_for_is_refused(certified):
    address, certificate = certified
    with pytest.raises(NoClub, match="certificate"):
        Transport(address, patience=QUICK).ask(Hello(1))
    assert isinstance(Transport(address, verify=str(certificate), patience=QUICK).ask(Hello(1)), Welcome)
    other = Transport(address.replace("localhost", "127.0.0.1"), verify=str(certificate), patience=QUICK)
    with pytest.raises(NoClub, match="certificate"):  # it is for another name
        other.ask(Hello(1))


def test_long_questions_travel_packed():
    seen: list[Any] = []

    def answer(near: socket.socket) -> None:
        near.sendall(http(WELCOME))

    with hostile(answer) as address:
        transport = Transport(address, patience=QUICK)
        original = transport._session.post

        def post(url: str, data: bytes, **how: Any) -> Any:
            seen.append((data, how["headers"].get("content-encoding")))
            return original(url, data, **how)

        transport._session.post = post
        asked = Known(1, tuple(f"a.{number}.{'0' * 16}" for number in range(1, 200)))
        transport.ask(asked)
    ((data, packing),) = seen
    assert packing == "gzip"
    assert parse_request(gzip.decompress(data)) == asked
    assert len(data) < len(json.dumps(asked.changes)) / 3

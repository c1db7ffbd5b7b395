"""One question to the club and its answer over HTTP, by a network and a club that may do anything.

What is asked may be asked again (see messages.py), so whatever breaks on the way is tried again a few
times, after a pause that grows and is never quite the same: phones that lost one network together do not
come back together. A club that says when to come back is not asked before. An answer is read up to its
limit, packed or not, and is an answer only with its end mark. It comes within its time or not at all: a
peer that sends a byte now and then would keep a timeout for every byte waiting for ever, so the question
is asked in a thread of its own that is left behind.

TLS, and its certificates looked at. Without it only to this machine, or to a host that the diver named
for it. No redirects: a secret is for the address it was made for. Nothing is taken from the environment.
"""

from __future__ import annotations

import gzip
import ipaddress
import math
import threading
import time
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from typing import Any, Final
from urllib.parse import urlsplit

import requests
from urllib3.exceptions import HTTPError, InvalidHeader, MaxRetryError, ProtocolError
from urllib3.util.retry import Retry

from logbook_app.dive.problems import Cancelled, NoClub, RefusedMessage
from logbook_app.language import _
from logbook_app.sync.messages import (
    LARGEST_REPLY,
    Reply,
    Request,
    message_name,
    parse_reply,
    to_wire,
)

PACKED_FROM: Final = 1_000  # bytes; below it packing costs more than it saves
_AT_ONCE: Final = 2**16
_POLL_S: Final = 0.05
_TRY_LATER: Final = frozenset({429, 502, 503, 504})


@dataclass(frozen=True, slots=True)
class Patience:
    """How long a device waits.

    connect_s, read_s   for a connection, and for the next bytes [s]
    answer_s            for one whole answer [s]
    again               how often a question is asked again
    pause_s, longest_pause_s   the first pause, which then doubles, and the longest [s]
    longest_wait_s   that a club may ask for; a longer one ends it [s]
    """

    connect_s: float = 10.0
    read_s: float = 20.0
    answer_s: float = 120.0
    again: int = 4
    pause_s: float = 0.5
    longest_pause_s: float = 15.0
    longest_wait_s: float = 60.0

    def retry(self) -> Retry:
        """Return how often and after which pauses a question is asked again."""
        return Retry(
            total=self.again,
            backoff_factor=self.pause_s,
            backoff_max=self.longest_pause_s,
            backoff_jitter=self.pause_s,
            allowed_methods=None,
        )


class _Broken(Exception):
    """Something broke on the way: asking again may help, after so many seconds if the club said any."""

    def __init__(self, words: str, wait_s: float = 0.0) -> None:
        super().__init__(words)
        self.wait_s = wait_s


def club_address(text: str, *, plain_host: str = "") -> str:
    """Return the address of a club as it is kept: with its scheme, without a slash at its end.

    plain_host   that may be talked to without TLS, as the diver named it

    Raises NoClub for what is no such address, or would send a secret in the clear.
    """
    address = (text if "://" in text else f"https://{text}").strip().rstrip("/")
    try:
        parts = urlsplit(address)
        host, _port = parts.hostname or "", parts.port
    except ValueError:
        parts, host = urlsplit(""), ""
    if parts.scheme not in ("http", "https") or not host or parts.query or parts.fragment or parts.username:
        raise NoClub(
            _("{address} is no address of a club; write it as https://club.example.").format(
                address=text[:80]
            )
        )
    if parts.scheme == "http" and not _is_this_machine(host) and host != plain_host:
        raise NoClub(
            _(
                "{address} is not encrypted: anybody on the way could read your logbook. Ask the club for an"
                " address that begins with https://."
            ).format(address=address)
        )
    return address


def _is_this_machine(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


class Transport:
    """The way to one club.

    address     see `club_address`; it is looked at again here
    token       the device's secret, empty before it has joined
    plain_host  that may be talked to without TLS
    verify      True, or a file with the certificates that are trusted
    cancelled   asked while waiting; True ends it with Cancelled
    """

    def __init__(
        self,
        address: str,
        token: str = "",
        *,
        plain_host: str = "",
        verify: bool | str = True,
        cancelled: Callable[[], bool] = lambda: False,
        patience: Patience = Patience(),
    ) -> None:
        self._address = club_address(address, plain_host=plain_host)
        self._cancelled, self._patience = cancelled, patience
        self._session = requests.Session()
        self._session.trust_env = False
        self._session.verify = verify
        self._session.headers.update({"user-agent": "leadline", "accept-encoding": "gzip"})
        if token:
            self._session.headers["authorization"] = f"Bearer {token}"

    def close(self) -> None:
        """Let go of the connections."""
        self._session.close()

    def ask(self, request: Request) -> Reply:
        """Return the club's answer to one question.

        Raises NoClub where none comes, RefusedMessage where what comes is none, and Cancelled.
        """
        retry = self._patience.retry()
        while True:
            try:
                return self._in_time(lambda: self._once(request))
            except _Broken as broken:
                try:
                    retry = retry.increment("POST", self._address, error=ProtocolError(str(broken)))
                except MaxRetryError:
                    raise NoClub(
                        _("The club at {address} is not reached: {reason}. Try again later.").format(
                            address=self._address, reason=broken
                        )
                    ) from broken
                self._pause(max(retry.get_backoff_time(), broken.wait_s))

    def _pause(self, seconds: float) -> None:
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            self._stop_where_cancelled()
            time.sleep(min(left, _POLL_S))

    def _stop_where_cancelled(self) -> None:
        if self._cancelled():
            raise Cancelled(_("Stopped; what was sent and received is kept."))

    def _in_time(self, asked: Callable[[], Reply]) -> Reply:
        """Return what a thread finds out, if it does so in time and nobody cancels."""
        told: SimpleQueue[tuple[Reply | None, Exception | None]] = SimpleQueue()

        def work() -> None:
            try:
                told.put((asked(), None))
            except Exception as error:
                told.put((None, error))

        self._stop_where_cancelled()
        threading.Thread(target=work, daemon=True, name="to the club").start()
        until = time.monotonic() + self._patience.answer_s
        while time.monotonic() < until:
            try:
                reply, error = told.get(timeout=_POLL_S)
            except Empty:
                self._stop_where_cancelled()
                continue
            if reply is None:
                raise error or NoClub(self._address)
            return reply
        raise NoClub(
            _("The club at {address} takes too long to answer. Try again later.").format(
                address=self._address
            )
        )

    def _once(self, request: Request) -> Reply:
        data, headers = to_wire(request), {"content-type": "application/json"}
        if len(data) > PACKED_FROM:
            data, headers = gzip.compress(data, 6), headers | {"content-encoding": "gzip"}
        try:
            with self._session.post(
                f"{self._address}/v1/{message_name(request)}",
                data,
                headers=headers,
                timeout=(self._patience.connect_s, self._patience.read_s),
                allow_redirects=False,
                stream=True,
            ) as response:
                if response.status_code in _TRY_LATER:
                    raise _Broken(_("it is busy"), self._wait_asked_for(response))
                return self._parsed(response, _read(response))
        except requests.exceptions.SSLError as error:
            raise NoClub(
                _(
                    "The certificate of {address} is not to be trusted; nothing was sent. Check the address,"
                    " and ask the club."
                ).format(address=self._address)
            ) from error
        except requests.exceptions.Timeout as error:
            raise _Broken(_("no answer came in time")) from error
        except (requests.exceptions.RequestException, HTTPError) as error:
            raise _Broken(_("the connection failed or broke off")) from error

    def _wait_asked_for(self, response: requests.Response) -> float:
        """Return the seconds that the club wants to be left alone. Raises NoClub for too many of them."""
        try:
            wait_s = Retry().parse_retry_after(response.headers.get("retry-after", "0"))
        except (InvalidHeader, ValueError, OverflowError):
            wait_s = 0.0
        if wait_s > self._patience.longest_wait_s:
            raise NoClub(
                _("The club at {address} was asked too much; it can be asked again in {minutes} min.").format(
                    address=self._address, minutes=math.ceil(wait_s / 60)
                )
            )
        return wait_s

    def _parsed(self, response: requests.Response, data: bytes) -> Reply:
        try:
            return parse_reply(data)
        except RefusedMessage as refused:
            if response.ok and (
                not data or (data[:1] == b"{" and not data.rstrip().endswith(b'"end":true}'))
            ):
                raise _Broken(_("its answer broke off")) from refused
            if data[:1] == b"{":
                raise
            raise NoClub(
                _(
                    "There is no club at {address} (it answers {status}). Check the address; a network that"
                    " wants you to log in answers so as well."
                ).format(address=self._address, status=response.status_code)
            ) from refused


def _read(response: requests.Response) -> bytes:
    """Return the body, unpacked. Raises RefusedMessage beyond the limit, or for another packing."""
    packing = response.headers.get("content-encoding", "identity").strip().casefold()
    if packing not in ("identity", "gzip"):
        raise RefusedMessage(f"An answer is packed as {packing[:20]!r}, which was not asked for.")
    unpacked = zlib.decompressobj(wbits=31) if packing == "gzip" else None
    data, arrived = bytearray(), 0
    raw: Any = response.raw
    while chunk := raw.read(_AT_ONCE, decode_content=False):
        arrived += len(chunk)
        try:
            data += unpacked.decompress(chunk, LARGEST_REPLY + 1 - len(data)) if unpacked else chunk
        except zlib.error as error:
            raise RefusedMessage(_("An answer is not packed as it says; try again.")) from error
        if len(data) > LARGEST_REPLY or arrived > LARGEST_REPLY:
            raise RefusedMessage(
                _("The club's answer is longer than {most} MB, and none may be.").format(
                    most=LARGEST_REPLY // 2**20
                )
            )
    return bytes(data)

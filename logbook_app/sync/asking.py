"""One question to the club and its answer, and what a whole conversation came to."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from typing import TypeVar

from logbook_app.dive.problems import RefusedMessage
from logbook_app.sync.messages import Refusal, Reply, Request
from logbook_app.sync.stamps import PATIENCE_MS

Answer = TypeVar("Answer")
Talk = Generator[Request, Reply, Answer]


class HeardNo(Exception):
    """The club refused what it was asked; `code` says why."""

    def __init__(self, code: str) -> None:
        super().__init__(code)
        self.code = code


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a conversation came to.

    ended          "" where it went all the way, else the code of the club's refusal
    sent           changes that the club accepted
    not_accepted   changes that it refused; they are kept
    put_off        changes that it cannot take yet
    held_back      True where this program is too old to push: its changes stay and wait
    received       records in which something came that was not known here
    kept_both      records that came with two sides of a conflict
    counts_agree   both sides hold the same; None where somebody else kept changing it
    repaired       records in which both sides differed, and that were put right
    skew_ms        the device's clock ahead of the club's
    """

    ended: str = ""
    sent: int = 0
    not_accepted: int = 0
    put_off: int = 0
    held_back: bool = False
    received: int = 0
    kept_both: int = 0
    counts_agree: bool | None = None
    repaired: int = 0
    blobs_sent: int = 0
    blobs_received: int = 0
    skew_ms: int = 0

    @property
    def clock_is_off(self) -> bool:
        """Whether the diver should be told that the device's clock is wrong."""
        return abs(self.skew_ms) > PATIENCE_MS


def ask(request: Request, kind: type[Answer]) -> Talk[Answer]:
    """Yield a request and return its answer. Raises HeardNo where the club refuses it."""
    reply = yield request
    if isinstance(reply, Refusal):
        raise HeardNo(reply.code)
    if not isinstance(reply, kind):
        raise RefusedMessage(f"The club answered {type(request).__name__} with {type(reply).__name__}.")
    return reply

"""How much may be asked at once and how soon again, by a device, by an address, by who tries to join.

Kept in memory, for each process of its own: a limit that forgets at a restart still limits.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

MOST_KEYS: Final = 20_000
_OWN_NETWORK: Final = 64  # bits of an IPv6 address that one customer has for all of it


@dataclass(frozen=True, slots=True)
class Rate:
    """So many at once, and after that one every so many seconds."""

    at_once: int
    every_s: float


@dataclass(frozen=True, slots=True)
class Rates:
    """The limits of a club.

    A first sync of ten thousand dives is some hundred messages, and a club evening one address.

    device, address   messages of each
    join              invitations that were not good, by an address: nobody guesses 128 bits, but a
                      flood of guesses is told to stop; a good invitation costs nothing
    most_inside       messages that are answered at the same time
    body_s            for the whole body of a message
    """

    device: Rate = Rate(2_000, 0.05)
    address: Rate = Rate(10_000, 0.01)
    join: Rate = Rate(5, 360.0)
    most_inside: int = 200
    body_s: float = 60.0


class Turns:
    """Who has how many turns left of a rate; who has all of them is not remembered.

    Of each is kept when all turns are there again. A turn moves that by `every_s`, and is refused where
    it would lie further ahead than all turns take.
    """

    def __init__(self, rate: Rate, now_s: Callable[[], float]) -> None:
        self._rate, self._now_s = rate, now_s
        self._all_back_s: dict[str, float] = {}

    def take(self, key: str) -> float:
        """Take a turn and return 0, or take none and return the seconds until there is one."""
        now_s, rate = self._now_s(), self._rate
        back_s = max(self._all_back_s.get(key, now_s), now_s) + rate.every_s
        wait_s = back_s - now_s - rate.at_once * rate.every_s
        if wait_s > 1e-9:
            return wait_s
        self._all_back_s[key] = back_s
        if len(self._all_back_s) > MOST_KEYS:
            self._forget(now_s)
        return 0.0

    def give_back(self, key: str) -> None:
        """Give back a turn that was taken."""
        if key in self._all_back_s:
            self._all_back_s[key] -= self._rate.every_s

    def _forget(self, now_s: float) -> None:
        """Forget who has all turns; where that is hardly anybody, who has most of them."""
        keep = sorted(
            (item for item in self._all_back_s.items() if item[1] > now_s), key=lambda item: item[1]
        )
        self._all_back_s = dict(keep[-MOST_KEYS // 2 :])


def who_calls(address: str) -> str:
    """Return an address, or the network that one customer has, as limits count them.

    >>> who_calls("192.0.2.7"), who_calls("2001:db8:1:2:3:4:5:6")
    ('192.0.2.7', '2001:db8:1:2::')
    """
    if ":" not in address:
        return address
    try:
        network = ipaddress.ip_network((address.partition("%")[0], _OWN_NETWORK), strict=False)
    except ValueError:
        return address
    return str(network.network_address)

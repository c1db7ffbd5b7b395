"""When an edit was made, by clocks that nobody can trust.

A stamp is a hybrid logical clock (Kulkarni and others, 2014): milliseconds of the device's clock,
and a count for what happens within one of them. It never falls behind a stamp that its device has
seen, so that what was written after reading is stamped after it, however wrong the clock.

Stamps only choose between edits that did not know of each other (see merging.py). A device in the
year 2046 must still not win all of those for twenty years: the club stamps again whatever lies
further ahead than its patience, and the device brings its clock back once it hears the time.

The clock is a value. It is read and kept in the same transaction as the edit that it stamps: one
that lived in memory alone would give the same stamp twice after a crash.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

PATIENCE_MS: Final = 5 * 60_000  # clocks of phones are within seconds; minutes are somebody's hand
STAMP: Final = re.compile("[0-9a-f]{16}")
_LAST_MS: Final = 0xFFFF_FFFF_FFFF
_LAST_COUNT: Final = 0xFFFF


@dataclass(frozen=True, slots=True, order=True)
class StampClock:
    """The latest stamp that a device has given or seen.

    ms      milliseconds since 1970, UTC
    count   of stamps within that millisecond
    """

    ms: int = 0
    count: int = 0

    @property
    def stamp(self) -> str:
        """The clock as text, which sorts as the clock does.

        >>> StampClock(1_790_000_000_000, 2).stamp
        '01a0c4506c000002'
        """
        return f"{self.ms:012x}{self.count:04x}"

    def ticked(self, now_ms: int) -> StampClock:
        """Return the clock one stamp later, at the device's time now."""
        now_ms = min(max(now_ms, 0), _LAST_MS)
        if now_ms > self.ms:
            return StampClock(now_ms)
        if self.count < _LAST_COUNT:
            return StampClock(self.ms, self.count + 1)
        return StampClock(min(self.ms + 1, _LAST_MS))

    def observing(self, stamp: str, now_ms: int) -> StampClock:
        """Return the clock not behind a stamp that was received; one far ahead of now is passed over."""
        if stamp_ms(stamp) > now_ms + PATIENCE_MS:
            return self
        return max(self, StampClock(stamp_ms(stamp), int(stamp[12:], 16)))

    def brought_back(self, now_ms: int) -> StampClock:
        """Return the clock at the club's time, where it had run further ahead than its patience."""
        return StampClock(now_ms) if self.ms > now_ms + PATIENCE_MS else self


def stamp_ms(stamp: str) -> int:
    """Return the milliseconds since 1970 that a stamp says."""
    return int(stamp[:12], 16)


def settled(stamp: str, clock: StampClock, now_ms: int) -> tuple[str, StampClock]:
    """Return the stamp that the club gives an edit, and the club's clock after it.

    An honest stamp is left alone. One far ahead of the club's time is given again from the club's
    own clock, in the order of arrival.
    """
    if stamp_ms(stamp) > now_ms + PATIENCE_MS:
        clock = clock.brought_back(now_ms).ticked(now_ms)
        return clock.stamp, clock
    return stamp, clock.observing(stamp, now_ms)

"""One quantity as a recorder sampled it, with nothing where it wrote nothing."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from logbook_app.analysis.physics_sentences import gas_words
from logbook_app.language import _
from logbook_app.physics.units import FloatArray

if TYPE_CHECKING:
    from logbook_app.dive.profile import Profile
    from logbook_app.dive.record import Dive

_PRESSURE = "pressure_bar_"


@dataclass(frozen=True, eq=False, repr=False)
class Sampled:
    """A quantity along a dive.

    time_s, values   the samples that have a value, time increasing, (m,) each, m at least 1
    words            what it is called where there are several alike, as with cylinders; else empty
    """

    time_s: FloatArray
    values: FloatArray
    words: str = ""

    @cached_property
    def _times_s(self) -> list[float]:
        return list(self.time_s.tolist())  # a bisection of a list is the quickest there is

    def nearest(self, time_s: float) -> float:
        """Return the value of the sample nearest in time."""
        return float(self.values[nearest_sample(self._times_s, time_s)])


def sampled(time_s: FloatArray, values: FloatArray | None, words: str = "") -> Sampled | None:
    """Return the samples that have a value, None where none has."""
    if values is None:
        return None
    known = ~np.isnan(values)
    return Sampled(time_s[known], values[known], words) if known.any() else None


def nearest_sample(times_s: Sequence[float], time_s: float) -> int:
    """Return the number of the sample nearest to an instant; the earlier one of two as near.

    >>> nearest_sample([0.0, 10.0, 20.0], 15.0), nearest_sample([0.0], 99.0)
    (1, 0)
    """
    after = min(max(1, bisect_left(times_s, time_s)), len(times_s) - 1)
    if after < 1:
        return 0
    return after - 1 if time_s - times_s[after - 1] <= times_s[after] - time_s else after


def sampled_tanks(dive: Dive, profile: Profile | None) -> tuple[Sampled, ...]:
    """Return the pressure of every cylinder that was measured, in the order of the dive's cylinders.

    Where there are several, each is called by its place and its gas.
    """
    if profile is None:
        return ()
    places = sorted(
        int(name.removeprefix(_PRESSURE))
        for name in profile.channels
        if name.startswith(_PRESSURE) and name.removeprefix(_PRESSURE).isdecimal()
    )
    found = (
        sampled(
            profile.time_s,
            profile.channels[f"{_PRESSURE}{place}"],
            _tank_words(dive, place) if len(places) > 1 else "",
        )
        for place in places
    )
    return tuple(tank for tank in found if tank is not None)


def _tank_words(dive: Dive, place: int) -> str:
    gas = dive.cylinders[place].gas if place < len(dive.cylinders) else None
    tank = _("tank {number}").format(number=place + 1)
    return f"{tank} {gas_words(gas)}" if gas else tank

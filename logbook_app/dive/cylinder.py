"""A cylinder as a diver writes it down: what was in it, how large, from what pressure to what."""

from __future__ import annotations

from dataclasses import dataclass

from logbook_app.dive.problems import refuse_outside
from logbook_app.language import later
from logbook_app.physics.breathing_gas import BreathingGas

LARGEST_CYLINDER_L = 100.0
HIGHEST_CYLINDER_BAR = 450.0


@dataclass(frozen=True, slots=True)
class Cylinder:
    """One cylinder carried on a dive.

    gas         what was in it; None where nobody wrote it down (air is then assumed for the
                loading, and every figure that rests on it says so)
    volume_l    water volume [L]
    start_bar   gauge pressure before the dive [bar]
    end_bar     gauge pressure after it [bar]
    name        the diver's or the file's name for it

    Raises RefusedRecord for a volume or pressure that cannot be.
    """

    gas: BreathingGas | None = None
    volume_l: float | None = None
    start_bar: float | None = None
    end_bar: float | None = None
    name: str = ""

    def __post_init__(self) -> None:
        refuse_outside(later("A cylinder"), self.volume_l, "L", 0, LARGEST_CYLINDER_L, least_can_be=False)
        refuse_outside(later("A start pressure"), self.start_bar, "bar", 0, HIGHEST_CYLINDER_BAR)
        refuse_outside(later("An end pressure"), self.end_bar, "bar", 0, HIGHEST_CYLINDER_BAR)

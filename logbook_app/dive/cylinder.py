"""A cylinder as a diver writes it down: what was in it, how large, from what pressure to what."""

from __future__ import annotations

from dataclasses import dataclass

from logbook_app.dive.problems import RefusedRecord
from logbook_app.physics.breathing_gas import BreathingGas


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
        if self.volume_l is not None and not 0 < self.volume_l <= 100:
            raise RefusedRecord(f"A cylinder of {self.volume_l:g} L is outside 0 to 100 L.")
        for words, pressure_bar in (("start", self.start_bar), ("end", self.end_bar)):
            if pressure_bar is not None and not 0 <= pressure_bar <= 450:
                raise RefusedRecord(f"A {words} pressure of {pressure_bar:g} bar is outside 0 to 450 bar.")

    @property
    def used_bar(self) -> float | None:
        """Pressure breathed away [bar], None where it was not written down or makes no sense."""
        if self.start_bar is None or self.end_bar is None or self.end_bar > self.start_bar:
            return None
        return self.start_bar - self.end_bar

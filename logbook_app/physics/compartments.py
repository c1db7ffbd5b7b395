"""The sixteen compartments of Buehlmann's ZH-L16C, with compartment 1b in first place.

Each stands for tissue that takes up gas at its own pace. With P the ambient pressure, the inert gas
pressure it tolerates is `a + P / b`.

Source: recalled from memory of A. A. Buehlmann, E. B. Voellm, P. Nussberger,
Tauchmedizin, 5th edition, Springer 2002, table 25, p. 158; the page itself has not been before us.
What could be confirmed:

* nitrogen half-times: also read in a transcription, except the 8 min of compartment 2;
* nitrogen b: the formula b = 1.005 - t^(-1/2) gives every value to the last digit, except compartment 4,
  where the table has 0.7825 and the formula 0.7725;
* nitrogen a: the formula a = 2 t^(-1/3) gives the unmodified set (A); set C, made stricter for use in
  instruments, equals it in compartments 1 to 4 and 16 and is lower between. The lower values
  rest on memory alone;
* helium half-times: nitrogen's divided by 2.645, within 0.05 min;
* helium a: 2 t^(-1/3) of the helium half-time for compartments 2 to 8; the rest, and helium b, on memory
  alone.

Compartment 1b (5 min) stands instead of compartment 1 (4 min), never beside it.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from logbook_app.physics.units import FloatArray

COMPARTMENT_COUNT: Final = 16
LN2: Final = math.log(2.0)


@dataclass(frozen=True, eq=False)
class Compartments:
    """Half-times and tolerance coefficients, one array of shape (16,) each.

    n2_half_time_min, he_half_time_min  time to close half the gap to the inspired pressure [min]
    n2_a_bar, he_a_bar                  tolerated pressure extrapolated to no ambient pressure [bar]
    n2_b, he_b                          ambient over tolerated pressure, its slope turned over [fraction]
    """

    n2_half_time_min: FloatArray
    n2_a_bar: FloatArray
    n2_b: FloatArray
    he_half_time_min: FloatArray
    he_a_bar: FloatArray
    he_b: FloatArray

    @property
    def n2_rate_per_min(self) -> FloatArray:
        """Decay rate of the nitrogen gap, ln 2 / half-time, shape (16,). [1/min]"""
        return LN2 / self.n2_half_time_min

    @property
    def he_rate_per_min(self) -> FloatArray:
        """Decay rate of the helium gap, ln 2 / half-time, shape (16,). [1/min]"""
        return LN2 / self.he_half_time_min


def _column(*values: float) -> FloatArray:
    column = np.array(values, dtype=np.float64)
    column.setflags(write=False)
    return column


# fmt: off
ZHL16C: Final = Compartments(
    n2_half_time_min=_column(
        5.0, 8.0, 12.5, 18.5, 27.0, 38.3, 54.3, 77.0,
        109.0, 146.0, 187.0, 239.0, 305.0, 390.0, 498.0, 635.0,
    ),
    n2_a_bar=_column(
        1.1696, 1.0000, 0.8618, 0.7562, 0.6200, 0.5043, 0.4410, 0.4000,
        0.3750, 0.3500, 0.3295, 0.3065, 0.2835, 0.2610, 0.2480, 0.2327,
    ),
    n2_b=_column(
        0.5578, 0.6514, 0.7222, 0.7825, 0.8126, 0.8434, 0.8693, 0.8910,
        0.9092, 0.9222, 0.9319, 0.9403, 0.9477, 0.9544, 0.9602, 0.9653,
    ),
    he_half_time_min=_column(
        1.88, 3.02, 4.72, 6.99, 10.21, 14.48, 20.53, 29.11,
        41.20, 55.19, 70.69, 90.34, 115.29, 147.42, 188.24, 240.03,
    ),
    he_a_bar=_column(
        1.6189, 1.3830, 1.1919, 1.0458, 0.9220, 0.8205, 0.7305, 0.6502,
        0.5950, 0.5545, 0.5333, 0.5189, 0.5181, 0.5176, 0.5172, 0.5119,
    ),
    he_b=_column(
        0.4770, 0.5747, 0.6527, 0.7223, 0.7582, 0.7957, 0.8279, 0.8553,
        0.8757, 0.8903, 0.8997, 0.9073, 0.9122, 0.9171, 0.9217, 0.9267,
    ),
)
# fmt: on

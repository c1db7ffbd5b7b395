"""Many numbers at once, each the very same as if it had been read by itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from logbook_app.dive.profile import FloatArray

_LARGEST_SURE: Final = 2.0**40  # a product up to here is off by less than 2**-13
_SURE_FROM_HALF: Final = 0.01


def floats(texts: Sequence[str]) -> FloatArray:
    """Return the numbers that texts are (n,).

    Raises ValueError where one is none.
    """
    return np.fromiter(map(float, texts), np.float64, len(texts))


def rounded(values: FloatArray, places: int) -> FloatArray:
    """Return numbers rounded to decimal places as `round` does it, to the last bit.

    numpy's own rounding multiplies, rounds and divides. The product is off in its last bit, which
    matters where it lies half way between two integers; only there each number is rounded by itself.
    Elsewhere the quotient of two exact integers is the double nearest to the decimal that is meant.

    >>> rounded(np.array([287.15 - 273.15, 2.675]), 2).tolist()
    [14.0, 2.67]
    """
    with np.errstate(over="ignore", invalid="ignore"):  # what is too large is rounded by itself
        scaled = values * 10.0**places
        whole = np.rint(scaled)
        off_by = np.abs(scaled - whole)
    result: FloatArray = whole / 10.0**places
    sure = (np.abs(scaled) < _LARGEST_SURE) & (off_by < 0.5 - _SURE_FROM_HALF)
    if not sure.all():
        result[~sure] = [round(value, places) for value in values[~sure].tolist()]
    return result

"""Which part of a dive a chart shows: closer, wider, along, the whole of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

SHORTEST_S: Final = 60.0
BEYOND_END: Final = 1.03  # a view of the whole dive goes a little beyond its end
CLOSER: Final = 1.6  # one step of the buttons, of a key, of a wheel's notch; about a factor of 10 in five


@dataclass(frozen=True, slots=True)
class ChartView:
    """A stretch of the dive, kept within it and never shorter than a minute.

    from_s, to_s   first and last instant shown [s]
    whole_s        length of the whole dive's view, which begins at 0 [s]
    """

    from_s: float
    to_s: float
    whole_s: float

    @classmethod
    def whole(cls, end_s: float) -> ChartView:
        """Return the view of a whole dive whose line ends at `end_s`."""
        whole_s = max(SHORTEST_S, end_s * BEYOND_END)
        return cls(0.0, whole_s, whole_s)

    @property
    def length_s(self) -> float:
        """How much is shown [s]."""
        return self.to_s - self.from_s

    @property
    def is_whole(self) -> bool:
        """True where there is nothing more to show."""
        return self.length_s >= self.whole_s * (1 - 1e-9)

    @property
    def is_closest(self) -> bool:
        """True where nothing shorter can be shown."""
        return self.length_s <= min(SHORTEST_S, self.whole_s) * (1 + 1e-9)

    def showing(self, from_s: float, to_s: float) -> ChartView:
        """Return the view of this stretch, or the nearest one that may be shown.

        >>> ChartView.whole(1000).showing(900, 1100)
        ChartView(from_s=830.0, to_s=1030.0, whole_s=1030.0)
        """
        length_s = min(max(to_s - from_s, SHORTEST_S), self.whole_s)
        first_s = min(max(0.0, from_s), self.whole_s - length_s)
        return replace(self, from_s=first_s, to_s=first_s + length_s)

    def zoomed(self, factor: float, about_s: float) -> ChartView:
        """Return the view that shows things `factor` times as long, with one instant where it was.

        >>> ChartView.whole(1000).zoomed(2, about_s=515.0).length_s
        515.0
        """
        share = (about_s - self.from_s) / self.length_s
        length_s = min(max(self.length_s / factor, SHORTEST_S), self.whole_s)
        first_s = about_s - share * length_s
        return self.showing(first_s, first_s + length_s)

    def moved(self, by_s: float) -> ChartView:
        """Return the view of as much, that much later."""
        return self.showing(self.from_s + by_s, self.to_s + by_s)

    def with_instant(self, time_s: float) -> ChartView:
        """Return this view moved no further than needed for an instant to be in it."""
        return self.moved(min(0.0, time_s - self.from_s) + max(0.0, time_s - self.to_s))

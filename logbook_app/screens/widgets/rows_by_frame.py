"""Many rows put into their boxes a few a frame, so that a long page opens without holding one up."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping
from typing import Any

from kivy.clock import Clock

A_FRAME_S = 0.004  # for making rows; laying out and drawing them takes about as long again


class RowsByFrame:
    """Fills boxes with rows that are made when their turn comes."""

    def __init__(self) -> None:
        self._waiting: Iterator[tuple[Any, Any]] = iter(())
        self._more = Clock.create_trigger(lambda _dt: self._fill_some())

    def fill(self, boxes: Mapping[Any, Iterator[Any]]) -> None:
        """Put these rows in place of what the boxes hold, box by box, the first of them at once."""
        for box in boxes:
            box.clear_widgets()
        self._waiting = ((box, row) for box, rows in boxes.items() for row in rows)
        self._fill_some()

    def _fill_some(self) -> None:
        end = time.perf_counter() + A_FRAME_S
        for box, row in self._waiting:
            box.add_widget(row)
            if time.perf_counter() > end:
                self._more()
                return

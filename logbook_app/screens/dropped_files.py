"""Files dropped on the window of a desktop: gathered until the last of them has come.

Kivy tells of one file at a time between a begin and an end; older window systems send no end, so
a moment without another file ends it as well.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.clock import Clock
from kivy.core.window import Window

LAST_CAME_S = 0.3


class DroppedFiles:
    """Listens to the window and hands over all files of one drop together.

    dropped   called with the paths, on the drawing thread
    """

    def __init__(self, dropped: Callable[[list[Path]], None]) -> None:
        self._dropped = dropped
        self._paths: list[Path] = []
        self._last_came = Clock.create_trigger(lambda _dt: self._end(), LAST_CAME_S)

    def start(self) -> None:
        """Listen to the window."""
        Window.bind(on_drop_begin=self._begin, on_drop_file=self._take, on_drop_end=self._end)

    def stop(self) -> None:
        """Listen no more."""
        self._last_came.cancel()
        Window.unbind(on_drop_begin=self._begin, on_drop_file=self._take, on_drop_end=self._end)

    def _begin(self, *_args: Any) -> None:
        self._paths = []

    def _take(self, _window: Any, name: bytes, *_place: Any) -> None:
        self._paths.append(Path(os.fsdecode(name)))
        self._last_came.cancel()
        self._last_came()

    def _end(self, *_args: Any) -> None:
        self._last_came.cancel()
        paths, self._paths = self._paths, []
        if paths:
            self._dropped(paths)

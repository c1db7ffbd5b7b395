"""What is half written goes to the logbook file at once, and the drawing thread never waits for it.

While one state is on its way to the disk only the newest one waits behind it: a fast typist writes as often
as the disk can, and at a loss of power no more is gone than what was on its way.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.app import App


class KeptSoon:
    """Keeps the newest of many states.

    work   makes of a state what the worker does with the logbook to keep it
    """

    def __init__(self, work: Callable[[Any], Callable[[Any], Any]]) -> None:
        self._work = work
        self._on_its_way = False
        self._next: list[Any] = []

    @property
    def waits(self) -> bool:
        """True while something is not yet on the disk."""
        return self._on_its_way

    def keep(self, state: Any) -> None:
        """Keep a state, or let it wait as the newest one."""
        if self._on_its_way:
            self._next = [state]
            return
        self._on_its_way = True
        App.get_running_app().ask(self._work(state), then=lambda _: self._kept(), failed=self._refused)

    def _kept(self) -> None:
        self._on_its_way = False
        if self._next:
            self.keep(self._next.pop())

    def _refused(self, error: Exception) -> None:
        """Say why; what is written next is tried again."""
        self._on_its_way = False
        App.get_running_app().say_trouble(error)

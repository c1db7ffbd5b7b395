"""How far long work has come, and a button to stop it."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.properties import NumericProperty, StringProperty

from logbook_app.language import _
from logbook_app.screens.widgets.fold import Fold
from logbook_app.screens.worker import LongTask

LOOKS_PER_S = 10


class ProgressBarWithCancel(Fold):
    """Watches one task ten times a second; hidden while there is none."""

    words = StringProperty("")
    """What is being done; empty hides the bar."""

    note = StringProperty("")
    """What the work says it is at."""

    fraction = NumericProperty(0.0)
    """Share done, 0 to 1."""

    test_id = StringProperty("progress-bar")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._task: LongTask | None = None
        self._looking: Any = None

    def watch(self, task: LongTask, words: str) -> None:
        """Show this task until it is over."""
        self._task, self.words = task, words
        if self._looking is None:
            self._looking = Clock.schedule_interval(lambda _dt: self._look(), 1 / LOOKS_PER_S)
        self._look()

    def cancel(self) -> None:
        """Ask the work to stop."""
        if self._task is not None:
            self._task.cancel()
            self.note = _("Stopping after this one")

    def _look(self) -> None:
        task = self._task
        if task is None or task.finished:
            self._looking.cancel()
            self._task = self._looking = None
            self.words, self.note, self.fraction = "", "", 0.0
            return
        self.fraction = task.progress.fraction
        if not task.cancelled:
            self.note = task.progress.note

"""What nobody expected: written to a file for whoever mends it, said to the diver in one sentence."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from kivy.base import ExceptionHandler, ExceptionManager

from logbook_app.dive.problems import LeadlineError
from logbook_app.language import _, later

UNEXPECTED = later("Something went wrong inside Leadline. What is in the logbook is unchanged.")
BORNE = 20  # after so many unexpected errors in one run the app ends rather than go in circles


class TroubleLog:
    """A file of unexpected errors, each with its time; without a path it keeps nothing."""

    def __init__(self, path: Path | None, now: Callable[[], datetime]) -> None:
        self._path = path
        self._now = now

    def sentence(self, error: BaseException) -> str:
        """Return what to tell the diver; write down what is not a sentence already."""
        if isinstance(error, LeadlineError):
            return str(error)
        where = self._write(error)
        return (
            f"{_(UNEXPECTED)} " + _("Details are in {where}.").format(where=where) if where else _(UNEXPECTED)
        )

    def _write(self, error: BaseException) -> Path | None:
        if self._path is None:
            return None
        lines = "".join(traceback.format_exception(error))
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            with self._path.open("a", encoding="utf-8") as log:
                log.write(f"{self._now().isoformat()}\n{lines}\n")
        except OSError:
            return None  # a full disk must not hide the sentence on the screen
        return self._path


class Bearing(ExceptionHandler):
    """Keeps the app on its feet after an error on the drawing thread.

    say   tells the diver about an error
    """

    def __init__(self, say: Callable[[Exception], None]) -> None:
        super().__init__()
        self._say = say
        self._borne = 0

    def handle_exception(self, error: BaseException) -> Any:
        """Say it and go on; give up on what ends a program, and after too many."""
        self._borne += 1
        if not isinstance(error, Exception) or self._borne > BORNE:
            return ExceptionManager.RAISE
        self._say(error)
        return ExceptionManager.PASS


def bear_errors(say: Callable[[Exception], None]) -> None:
    """From now on, say errors of the drawing thread and go on."""
    ExceptionManager.add_handler(Bearing(say))

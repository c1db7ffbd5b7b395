"""The one background thread that owns the logbook.

Everything slow happens here: opening the file, reading, importing, working out loads. A screen
asks with `ask`, and its callback runs on the drawing thread. Long work reports progress by
replacing one tuple, which the drawing thread looks at ten times a second; a call for every record
would stutter.

No Kivy here: the way back to the drawing thread is handed in.
"""

from __future__ import annotations

import gc
import queue
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, TypeAlias

# How long the worker may hold the interpreter while the drawing thread waits for a frame.
_TURN_S = 0.001

OnDrawingThread: TypeAlias = Callable[[Callable[[], None]], None]
Work: TypeAlias = Callable[[Any], Any]
LongWork: TypeAlias = Callable[[Any, Callable[[int, int, str], None], Callable[[], bool]], Any]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far long work has come: `done` of `all` (0 where not known), and on what."""

    done: int = 0
    all: int = 0
    note: str = ""

    @property
    def fraction(self) -> float:
        """Share done, 0 to 1; 0 where the whole is not known."""
        return min(1.0, self.done / self.all) if self.all > 0 else 0.0


@dataclass(slots=True, eq=False)
class LongTask:
    """A handle on long work: look at `progress`, call `cancel`, `finished` says it is over."""

    progress: Progress = field(default_factory=Progress)
    finished: bool = False
    _stop: threading.Event = field(default_factory=threading.Event)

    def cancel(self) -> None:
        """Ask the work to stop at the next record; what is finished stays."""
        self._stop.set()

    @property
    def cancelled(self) -> bool:
        """True once `cancel` was called."""
        return self._stop.is_set()

    def report(self, done: int, all_: int, note: str = "") -> None:
        """Publish how far the work has come; called by the work."""
        self.progress = Progress(done, all_, note)


class LogbookWorker:
    """One thread, one logbook, one queue: what was asked first is answered first.

    open_logbook         called in the thread, when the first question comes; tried again at the
                         next question where it failed
    on_drawing_thread    runs a callable on the drawing thread soon
    """

    def __init__(self, open_logbook: Callable[[], Any], on_drawing_thread: OnDrawingThread) -> None:
        self._open_logbook = open_logbook
        self._on_drawing_thread = on_drawing_thread
        self._logbook: Any = None
        self._questions: queue.SimpleQueue[Callable[[], None] | None] = queue.SimpleQueue()
        self._closing = threading.Event()
        self._thread = threading.Thread(target=self._run, name="logbook", daemon=True)

    def start(self) -> None:
        """Begin to answer; what was asked before waits until then. Calling it again does nothing."""
        if self._thread.ident is None:
            self._thread.start()

    def ask(self, work: Work, then: Callable[[Any], None], failed: Callable[[Exception], None]) -> None:
        """Run `work(logbook)` in the thread; hand its result to `then`, or its error to `failed`."""
        self._questions.put(lambda: self._answer(work, then, failed))

    def run_long(
        self, work: LongWork, then: Callable[[Any], None], failed: Callable[[Exception], None]
    ) -> LongTask:
        """Run `work(logbook, report, cancelled)` and return the handle on it."""
        task = LongTask()

        def ended(callback: Callable[[Any], None], value: Any) -> None:
            task.finished = True
            callback(value)

        def beside_the_frames(logbook: Any) -> Any:
            with _short_turns():
                return work(logbook, task.report, lambda: task.cancelled or self._closing.is_set())

        self.ask(
            beside_the_frames,
            lambda result: ended(then, result),
            lambda error: ended(failed, error),
        )
        return task

    def finish(self, wait_s: float) -> None:
        """Wait until what was asked so far is answered, or this long."""
        done = threading.Event()
        self._questions.put(done.set)
        if self._thread.ident is not None:
            done.wait(wait_s)

    def close(self, wait_s: float = 10.0) -> None:
        """Stop long work, finish what was asked, close the logbook. No callback comes after this."""
        self._closing.set()
        self._questions.put(None)
        if self._thread.ident is not None:
            self._thread.join(wait_s)

    def _run(self) -> None:
        while (question := self._questions.get()) is not None:
            question()
        if self._logbook is not None:
            self._logbook.close()

    def _answer(self, work: Work, then: Callable[[Any], None], failed: Callable[[Exception], None]) -> None:
        try:
            if self._logbook is None:
                self._logbook = self._open_logbook()
            result = work(self._logbook)
        except Exception as error:
            self._send(failed, error)
        else:
            self._send(then, result)

    def _send(self, callback: Callable[[Any], None], value: Any) -> None:
        def deliver() -> None:
            if not self._closing.is_set():
                callback(value)

        self._on_drawing_thread(deliver)


@contextmanager
def _short_turns() -> Iterator[None]:
    """Keep the drawing thread from waiting on long work.

    Threads change places more often, and the collector leaves alone what was there before: walking all
    the widgets of the app holds up a frame by several.
    """
    turn_s = sys.getswitchinterval()
    sys.setswitchinterval(_TURN_S)
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()
        sys.setswitchinterval(turn_s)

"""What the app says at the bottom of the screen, with a way to undo what was done."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty, StringProperty

from logbook_app.language import _
from logbook_app.screens.widgets.fold import Fold

SHOWN_S = 8.0
UNDO_SHOWN_S = 20.0  # long enough to dry a hand


class UndoBar(Fold):
    """One sentence. It goes by itself, or with its button."""

    sentence = StringProperty("")
    """What is said; empty hides the bar."""

    undoable = BooleanProperty(False)
    """True where the button says Undo; else it says Close."""

    press_words = StringProperty("")
    """What the button says."""

    test_id = StringProperty("undo-bar")
    """How tests find it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._undo: Callable[[], None] | None = None
        self._leaving = Clock.create_trigger(lambda _dt: self.close(), SHOWN_S)
        self._leaving_late = Clock.create_trigger(lambda _dt: self.close(), UNDO_SHOWN_S)

    def say(self, sentence: str, undo: Callable[[], None] | None = None) -> None:
        """Say a sentence in place of the one before."""
        self.close()
        self.sentence, self._undo, self.undoable = sentence, undo, undo is not None
        self.press_words = _("Undo") if undo else _("Close")
        (self._leaving_late if undo else self._leaving)()

    def say_anew(self) -> None:
        """Another language is spoken now: what can still be undone is offered in it, the rest is over."""
        if not self.undoable:
            self.close()
            return
        self.sentence, self.press_words = _("What was done last can still be undone."), _("Undo")

    def press(self) -> None:
        """Undo where that was offered, and close."""
        undo = self._undo
        self.close()
        if undo is not None:
            undo()

    def close(self) -> None:
        """Say nothing more."""
        self._leaving.cancel()
        self._leaving_late.cancel()
        self.sentence, self._undo, self.undoable = "", None, False

"""One number of the record: the pad asks for it, and Save keeps it."""

from __future__ import annotations

from typing import Any

from logbook_app.screens.record_questions import record_questions
from logbook_app.screens.widgets.field_panel import Editor

WHOLE = ("number",)
NEEDED = ("duration_min", "max_depth_m")


class NumberEditor(Editor):
    """Asks at once; nothing typed means not written down, where that may be."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._question = record_questions(self.editing.units)[self.name]
        self._text = self._question.text(getattr(self.editing.dive, self.name))
        self._before = self._text

    def opened(self) -> None:
        """Let the pad ask."""
        self.dispatch("on_ask", self._question.asked, self._text, self._take, self.save)

    def save(self) -> None:
        """Keep the number, unless the pad says what is the matter with it, or it is needed and missing."""
        value = self._question.recorded(self._text)
        if self._question.asked.trouble(self._text) or (value is None and self.name in NEEDED):
            return
        if self._text == self._before:  # shown rounded: it must not be kept so
            value = getattr(self.editing.dive, self.name)
        self.dispatch(
            "on_save", {self.name: int(value) if self.name in WHOLE and value is not None else value}
        )

    def _take(self, text: str) -> None:
        self._text = text

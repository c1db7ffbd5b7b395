"""Several numbers of one editor: each field asks the sheet's pad, and knows its steps."""

from __future__ import annotations

from typing import Any

from logbook_app.screens.entry_units import Question


class NumbersOf:
    """The number fields of an editor and what is typed in them.

    editor     whose `ids` hold a field for each question
    questions  by the name of the field
    values     what each says so far, in the record's unit
    """

    def __init__(
        self,
        editor: Any,
        questions: dict[str, Question],
        values: dict[str, float | None],
    ) -> None:
        self._editor, self._questions = editor, questions
        self._values: dict[str, float | None] = {}
        self._typed: dict[str, str] = {}
        for name, question in questions.items():
            field = editor.ids[name]
            field.asked = question.asked
            field.bind(
                on_ask=lambda _field, name=name: self._ask(name),
                on_step=lambda _field, steps, name=name: self._step(name, steps),
            )
        self.fill(values)

    def fill(self, values: dict[str, float | None]) -> None:
        """Let the fields say something else."""
        self._values, self._typed = dict(values), {}
        for name in self._questions:
            self._show(name)

    @property
    def values(self) -> dict[str, float | None]:
        """What the fields say, in the record's unit."""
        return dict(self._values)

    @property
    def in_trouble(self) -> bool:
        """True where a field says what cannot be."""
        return any(self._trouble(name) for name in self._questions)

    def _ask(self, name: str) -> None:
        question = self._questions[name]
        self._editor.dispatch(
            "on_ask", question.asked, self._text(name), lambda text: self._take(name, text), None
        )

    def _take(self, name: str, text: str) -> None:
        self._typed[name] = text
        self._values[name] = self._questions[name].recorded(text)
        self._show(name)

    def _step(self, name: str, steps: int) -> None:
        self._typed.pop(name, None)
        self._values[name] = self._questions[name].stepped(self._values[name], steps)
        self._show(name)

    def _text(self, name: str) -> str:
        return self._typed.get(name, self._questions[name].text(self._values[name]))

    def _trouble(self, name: str) -> str:
        return self._questions[name].asked.trouble(self._text(name))

    def _show(self, name: str) -> None:
        field = self._editor.ids[name]
        field.text, field.trouble = self._text(name), self._trouble(name)

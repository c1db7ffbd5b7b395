"""What a number pad asks for: a number with its unit and range, or a time of day.

Both answer the same four questions, so that one pad serves them: what does this key make of
what is typed, how is that shown, what value is it, and what is the matter with it. Typed text is
kept as it stands ("28." on the way to "28.5"), because a value would lose the decimal mark.

No Kivy here. Values pass in and out in the diver's own unit; `entry_units` converts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import time
from typing import Protocol

from logbook_app.language import _

BACKSPACE = "backspace"
CLEAR = "clear"
SIGN = "sign"
DECIMAL_MARK = "."

_CLOCK_DIGITS = 4
_DIGITS_BEFORE_THE_MARK = 5
_REAL_MINUS = "\N{MINUS SIGN}"


class Asked(Protocol):
    """What a number pad needs to know of the thing it asks for."""

    @property
    def label(self) -> str:
        """What is asked, as it stands above the value."""

    @property
    def unit(self) -> str:
        """Unit as the diver says it; empty for a time of day."""

    def takes(self, key: str) -> bool:
        """Return whether the pad offers this key at all."""

    def typed(self, text: str, key: str) -> str:
        """Return the text after one key."""

    def shown(self, text: str) -> str:
        """Return the text as the pad shows it."""

    def trouble(self, text: str) -> str:
        """Return one sentence on what is the matter, empty where nothing is."""


@dataclass(frozen=True, slots=True)
class NumberAsked:
    """A number in the diver's unit.

    label         what is asked, in English: said through `_`
    least, most   the range that makes sense [unit]
    decimals      places after the mark; none takes the mark off the pad
    step          what a stepper adds or takes away [unit]
    first         where a stepper starts from an empty value [unit]

    >>> depth = NumberAsked("Greatest depth", "m", least=1, most=350, decimals=1)
    >>> depth.typed("28", "."), depth.value("28.5"), depth.trouble("400")
    ('28.', 28.5, 'Greatest depth: 1 to 350 m.')
    """

    label: str
    unit: str
    least: float
    most: float
    decimals: int = 0
    step: float = 1.0
    first: float | None = None

    def takes(self, key: str) -> bool:
        """Return whether the pad offers this key: the mark and the sign only where they mean something."""
        if key == DECIMAL_MARK:
            return self.decimals > 0
        return self.least < 0 if key == SIGN else True

    def typed(self, text: str, key: str) -> str:
        """Return the text after one key; a key that makes no number leaves it as it was."""
        if key == CLEAR:
            return ""
        if key == BACKSPACE:
            return text[:-1]
        if key == SIGN:
            return self._turned(text)
        if key == DECIMAL_MARK:
            return text if "." in text or not self.decimals else f"{text or '0'}."
        return self._with_digit(text, key)

    def shown(self, text: str) -> str:
        """Return the text with a minus sign as it is printed."""
        return text.replace("-", _REAL_MINUS)

    def value(self, text: str) -> float | None:
        """Return the number typed [unit], None where there is none yet."""
        try:
            number = float(text)
        except ValueError:
            return None
        return number if math.isfinite(number) else None

    def text(self, value: float | None) -> str:
        """Return a value as it would have been typed."""
        if value is None:
            return ""
        rounded = f"{value:.{self.decimals}f}"
        return rounded.rstrip("0").rstrip(".") if "." in rounded else rounded

    def trouble(self, text: str) -> str:
        """Return the range in one sentence where the value is outside it."""
        value = self.value(text)
        if value is None or self.least <= value <= self.most:
            return ""
        least, most = self.shown(self.text(self.least)), self.text(self.most)
        return (
            _("{label}: {least} to {most} {unit}.")
            .format(label=_(self.label), least=least, most=most, unit=self.unit)
            .replace("  ", " ")
        )

    def stepped(self, value: float | None, steps: int) -> float:
        """Return the value some steps on, within the range; an empty one starts at `first`.

        >>> NumberAsked("Oxygen", "%", least=5, most=100).stepped(99.5, 1)
        100
        """
        if value is None:
            return self.least if self.first is None else self.first
        return min(max(value + steps * self.step, self.least), self.most)

    def _turned(self, text: str) -> str:
        if not self.takes(SIGN):
            return text
        return text[1:] if text.startswith("-") else f"-{text}"

    def _with_digit(self, text: str, key: str) -> str:
        whole, mark, fraction = text.partition(".")
        room = len(fraction) < self.decimals if mark else len(whole.lstrip("-")) < _DIGITS_BEFORE_THE_MARK
        if not (key.isascii() and key.isdigit() and room):
            return text
        return key if text == "0" else text + key


@dataclass(frozen=True, slots=True)
class ClockAsked:
    """A time of day, typed as four digits: 1, 1, 0, 5 is 11:05.

    >>> clock = ClockAsked("Began")
    >>> clock.shown("110"), clock.value("1105"), clock.trouble("2575")
    ('11:0', datetime.time(11, 5), 'Began: a time from 00:00 to 23:59.')
    """

    label: str
    unit: str = ""

    def takes(self, key: str) -> bool:
        """Return whether the pad offers this key."""
        return key not in (DECIMAL_MARK, SIGN)

    def typed(self, text: str, key: str) -> str:
        """Return the digits after one key; a fifth digit starts again."""
        if key == CLEAR:
            return ""
        if key == BACKSPACE:
            return text[:-1]
        if not (key.isascii() and key.isdigit()):
            return text
        return key if len(text) >= _CLOCK_DIGITS else text + key

    def shown(self, text: str) -> str:
        """Return the digits with the colon where the clock has it."""
        return f"{text[:2]}:{text[2:]}" if len(text) > 2 else text

    def value(self, text: str) -> time | None:
        """Return the time of day; None while it is not whole or no clock shows it."""
        digits = text if len(text) == _CLOCK_DIGITS else f"0{text}" if len(text) == 3 else ""
        hour, minute = (int(digits[:2]), int(digits[2:])) if digits else (24, 0)
        return time(hour, minute) if hour < 24 and minute < 60 else None

    def text(self, value: time | None) -> str:
        """Return a time of day as it would have been typed."""
        return "" if value is None else f"{value:%H%M}"

    def trouble(self, text: str) -> str:
        """Return a sentence where the digits are no time of day."""
        if not text or self.value(text) is not None:
            return ""
        return _("{label}: a time from 00:00 to 23:59.").format(label=_(self.label))

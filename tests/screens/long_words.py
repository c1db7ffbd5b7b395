"""Makes every word on the screen twice as long, as other languages do: what is drawn, not what is said.

It works on the way from a label to its texture, so that no sentence, figure or time in the app changes and
nothing escapes that is not wrapped for translation.
"""

from __future__ import annotations

import re

import pytest

# Words of three letters and more, but not those of a mark-up; figures and units stay as they are.
_WORDS = re.compile(r"(\[[^\]]*\])|([^\W\d_]{3,})")


def doubled(text: str) -> str:
    """Return a text with its words twice as long.

    >>> doubled("Time to fly · [b]2 438 m[/b]")
    'TimeTime to flyfly · [b]2 438 m[/b]'
    """
    return _WORDS.sub(lambda found: found[1] or found[2] * 2, text)


def draw_long_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """From now on, in this test, draw every word of every label twice as long."""
    from kivy.core.text import LabelBase

    given = LabelBase.text

    def take(label: LabelBase, text: str) -> None:
        given.fset(label, doubled(text) if isinstance(text, str) else text)

    monkeypatch.setattr(LabelBase, "text", property(given.fget, take))

"""How the screen looked when the app was last open, for the first frame of the next time.

The choice is kept in the logbook, which is opened after the first frame. Without this line of text
beside it, every start at night would begin with a flash of white paper, and with English.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from logbook_app.language import LANGUAGES, SYSTEM
from logbook_app.screens.theme import THEMES

SMALLEST, LARGEST = 0.8, 2.0  # as the diver's settings allow


class LastLook:
    """One line in a small file: the theme's name, size of text and language. Without a path, nothing."""

    def __init__(self, path: Path | None) -> None:
        self._path = path

    def read(self) -> tuple[str, float, str] | None:
        """Return theme, size of text and language; None where there is no file, or no sense in it."""
        try:
            words = self._path.read_text(encoding="utf-8").split() if self._path else ()
            theme, size, language = (*words, SYSTEM)[:3]  # an older version knew no language
            text_scale = float(size)
        except (OSError, ValueError):
            return None
        sensible = theme in THEMES and language in (SYSTEM, *LANGUAGES)
        return (theme, text_scale, language) if sensible and SMALLEST <= text_scale <= LARGEST else None

    def keep(self, theme: str, text_scale: float, language: str) -> None:
        """Write them down where they have changed. A disk that refuses costs a flash and no more."""
        if self._path is not None and self.read() != (theme, text_scale, language):
            with suppress(OSError):
                self._path.write_text(f"{theme} {text_scale} {language}\n", encoding="utf-8")

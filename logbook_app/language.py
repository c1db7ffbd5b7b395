"""The language that the diver reads. English is the source: every sentence is found by its English words.

Whoever has words for a person says them through one of these:

    _("Nothing can be read here.")                           now, in the language that is spoken
    _("{depth} for {time}").format(depth=depth, time=time)   the figures come after the words
    ngettext("{count} dive", "{count} dives", count).format(count=count)
    CAUTION = later("No model knows the diver.")             a constant: marked here, said with _(CAUTION)
    number(28.4, ".1f")                                      28.4 or 28,4

Never an f-string inside: a translator is given what stands between the quotes. What machines read
(JSON, CSV, UDDF, the logbook file) goes through none of them.

This module opens nothing. `catalogues` finds the words of a language and hands them to `use`; one
language is spoken at a time, by all threads. Only who answers several people at once says in
`speaking` what is spoken for one of them; other threads hear nothing of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from gettext import NullTranslations

SYSTEM = "system"
LANGUAGES = {"en": "English", "de": "Deutsch"}
"""Name of each language in itself."""


@dataclass(frozen=True, slots=True)
class Language:
    """One language, ready to be spoken.

    name           `en`, `de`
    words          English sentence -> sentence
    decimal_mark   between the whole and the tenths of a number
    """

    name: str = "en"
    words: NullTranslations = field(default_factory=NullTranslations)
    decimal_mark: str = "."


_everywhere = Language()
_here: ContextVar[Language | None] = ContextVar("spoken_here", default=None)


def use(language: Language) -> None:
    """Speak this language from now on."""
    global _everywhere
    _everywhere = language


@contextmanager
def speaking(language: Language) -> Iterator[None]:
    """Speak this language within the block, in this thread and in nothing that runs beside it."""
    token = _here.set(language)
    try:
        yield
    finally:
        _here.reset(token)


def _spoken() -> Language:
    return _here.get() or _everywhere


def spoken() -> str:
    """Return the name of the language that is spoken: `en`, `de`."""
    return _spoken().name


def _(text: str) -> str:
    """Return the sentence in the language that is spoken."""
    return _spoken().words.gettext(text) if text else ""  # nothing would be answered with the heading


def ngettext(one: str, many: str, count: int) -> str:
    """Return the sentence for so many, in the language that is spoken."""
    return _spoken().words.ngettext(one, many, count)


def pgettext(context: str, text: str) -> str:
    """Return a word that means several things in English, as it is meant in this context."""
    return _spoken().words.pgettext(context, text)


def later(text: str) -> str:
    """Mark a constant for the catalogue. Whoever says it puts it through `_`."""
    return text


def number(value: float, form: str) -> str:
    """Return a number as this language writes it: `number(28.4, ".1f")` is `28.4` or `28,4`."""
    return format(value, form).replace(".", _spoken().decimal_mark)

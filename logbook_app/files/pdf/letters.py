"""Which letters a printed page can show, and what stands where it cannot.

The typeface of the pages has Latin, Greek and Cyrillic. A letter of another script, or a picture
such as an emoji, is printed as the stand-in, one for each; the page then says so at its foot, and
the logbook keeps the words as they were written. Nothing is guessed: a transliterated name
would be another name.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Container
from typing import Final

from logbook_app.language import _

STAND_IN: Final = "\N{REPLACEMENT CHARACTER}"

# Controls, direction marks and joiners, halves of characters, unassigned: they are not seen anyway.
_UNSEEN: Final = {"Cc", "Cf", "Cs", "Co", "Cn"}
_BREAKS: Final = "\t\n\v\f\r\x85\u2028\u2029"


def stand_in_words() -> str:
    """Return what the page says of letters that could not be printed."""
    sentence = _("{letter} stands for a letter that the typeface of these pages lacks; the logbook has it.")
    return sentence.format(letter=STAND_IN)


def printable(words: str, letters: Container[int]) -> str:
    """Return words in one line that a typeface can show.

    words     anything, as somebody wrote it
    letters   code points that the typeface has

    >>> printable("Łukasz\\n\u5c71", {ord(letter) for letter in "Łukasz "})
    'Łukasz \ufffd'
    """
    whole = unicodedata.normalize("NFC", words.translate(dict.fromkeys(map(ord, _BREAKS), " ")))
    return "".join(_shown(letter, letters) for letter in whole)


def _shown(letter: str, letters: Container[int]) -> str:
    if ord(letter) in letters:
        return letter
    kind = unicodedata.category(letter)
    if kind in _UNSEEN or kind.startswith("M"):
        return ""
    return " " if kind == "Zs" else STAND_IN

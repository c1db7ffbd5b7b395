"""The words a dive is found by: everything written about it, with case, accents and widths folded away.

A word is what stands between spaces and marks. Scripts that write without spaces give a word for each
character, so that a name is found from any character on. What is looked for is cut in the same way, and
a word is found from its beginning: `gann` finds Gannet. Both sides of a search use `words_in`, so what
is folded here can be changed at will, as long as `WORDS_VERSION` grows with it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from typing import Final

from logbook_app.dive.record import Dive

WORDS_VERSION: Final = 1
MOST_WORDS_ASKED: Final = 20
APART: Final = "·"  # between two fields; no word is this, so that none is found across them
_LONGEST_WORD: Final = 40

# Elements of another program's file as they stood; their text is nobody's words.
_NOT_WORDS: Final = frozenset({"uddf:unread"})

_PLAIN_WORD: Final = re.compile(r"[a-z0-9]+")
# Han, kana, Thai, Lao, Tibetan, Burmese and Khmer; a voiced kana keeps its mark.
_WITHOUT_SPACES: Final = (
    "\u0e00-\u0eff\u0f00-\u0fff\u1000-\u109f\u1780-\u17ff\u3041-\u3098\u309b-\u30ff\u31f0-\u31ff"
    "\u3400-\u4dbf\u4e00-\u9fff\uf900-\ufaff\U00020000-\U0003ffff"
)
_ANY_WORD: Final = re.compile(rf"[{_WITHOUT_SPACES}][\u3099\u309a]?|[^\s{_WITHOUT_SPACES}]+")
# Letters that Unicode does not take apart, as a keyboard without them writes them.
_STROKES: Final = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "æ": "ae", "œ": "oe", "þ": "th"}
)
# Accents, vowel points and tone marks are of this class and above; what is below makes another letter.
_FIRST_ACCENT: Final = 10


def words_in(text: str) -> list[str]:
    """Return the folded words of a text, in their order.

    >>> words_in("Gännet LEDGE, 18/45"), words_in("Łódź"), words_in("沖の島")
    (['gannet', 'ledge', '18', '45'], ['lodz'], ['沖', 'の', '島'])
    """
    if text.isascii():
        words = _PLAIN_WORD.findall(text.lower())
    else:
        words = _ANY_WORD.findall("".join(map(_letter_or_space, _folded(text))))
    return [word[:_LONGEST_WORD] for word in words]


def asked_words(text: str) -> list[list[str]]:
    """Return what is looked for: each is words that follow one another, the last one begun.

    >>> asked_words("wreck 18/4")
    [['wreck'], ['18', '4']]
    """
    asked = [words for part in text.split() if (words := words_in(part))]
    return asked[:MOST_WORDS_ASKED]


def search_text(dive: Dive) -> str:
    """Return all words of a dive in one text, each after a space."""
    fields = (words_in(text) for text in _texts(dive) if text)
    return " " + f" {APART} ".join(" ".join(words) for words in fields if words)


def kit_of(dive: Dive) -> tuple[str, ...]:
    """Return the names of what a dive was dived with: suit, cylinders, recorders and further pieces."""
    pieces = (piece.partition(": ")[2] for piece in dive.extra.get("uddf:equipmentused", "").split("; "))
    named = (
        dive.suit if dive.suit != "none" else "",
        *(
            cylinder.name
            for cylinder in dive.cylinders
            if not cylinder.gas or cylinder.name != cylinder.gas.name
        ),
        *(recording.recorder for recording in dive.recordings),
        *pieces,
        *(used.name for used in dive.kit),
    )
    return tuple({same_name(name): name for name in named if name.strip()}.values())


def same_name(name: str) -> str:
    """Return what all spellings of a name have in common."""
    return " ".join(name.casefold().split())


def _texts(dive: Dive) -> Iterator[str]:
    if dive.number is not None:
        yield str(dive.number)
    if dive.site is not None:
        yield from (dive.site.name, dive.site.region)
    yield from (
        dive.diver,
        *dive.buddies,
        dive.supervised_by,
        dive.trip,
        *dive.tags,
        dive.notes,
        *kit_of(dive),
    )
    yield from (dive.conditions, dive.current, dive.purpose)
    yield from (cylinder.gas.name for cylinder in dive.cylinders if cylinder.gas)
    yield from (text for name, text in dive.extra.items() if name not in _NOT_WORDS)


def _folded(text: str) -> str:
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    bare = (mark for mark in apart if unicodedata.combining(mark) < _FIRST_ACCENT)
    return "".join(bare).translate(_STROKES)


def _letter_or_space(letter: str) -> str:
    return letter if letter.isalnum() or unicodedata.category(letter)[0] == "M" else " "

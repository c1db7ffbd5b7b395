"""What no line parts: a figure and its unit stay together wherever words are set in lines.

It stands by itself because the first words on the screen need it, and the first frame does not wait for
the units themselves, which come with numpy.
"""

from __future__ import annotations

import re

NO_BREAK_SPACE = "\u00a0"

_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:%|°[CF]|d|h|min|s|m|ft|m/min|ft/min|bar|psi|L|L/min|g/L|cu|kg|lb|MB|kB)(?![\w/]))"
    r"|(?<=\d cu) (?=ft\b)"
)


def unparted(words: str) -> str:
    """Return the words with no line broken between a figure and its unit, for whoever sets lines.

    The words themselves have plain spaces: so they are found, compared and read by other programs.

    >>> unparted("82 % of 71.0 cu ft").split(" ")
    ['82\\xa0%', 'of', '71.0\\xa0cu\\xa0ft']
    """
    return _BEFORE_UNIT.sub(NO_BREAK_SPACE, words)

"""Bytes as the letters that a picture code packs closest: two bytes in three of 45 characters.

Source: RFC 9285, "The Base45 Data Encoding" (2022), section 4.
"""

from __future__ import annotations

from typing import Final

LETTERS: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"


def to_base45(data: bytes) -> str:
    """Return the characters of some bytes.

    >>> to_base45(b"AB")
    'BB8'
    """
    pairs = (data[at : at + 2] for at in range(0, len(data), 2))
    return "".join(_letters(int.from_bytes(pair, "big"), 3 if len(pair) == 2 else 2) for pair in pairs)


def from_base45(text: str) -> bytes:
    """Return the bytes of some characters.

    Raises ValueError where they are none that `to_base45` gives.

    >>> from_base45("QED8WEX0")
    b'ietf!'
    """
    groups = [text[at : at + 3] for at in range(0, len(text), 3)]
    return b"".join(_number(group).to_bytes(len(group) - 1, "big") for group in groups)


def _letters(number: int, count: int) -> str:
    digits = []
    for _place in range(count):
        number, digit = divmod(number, 45)
        digits.append(LETTERS[digit])
    return "".join(digits)


def _number(group: str) -> int:
    """Return the value of two or three characters; the first is the least."""
    if len(group) < 2:
        raise ValueError("a single character stands for nothing")
    value = 0
    for letter in reversed(group):
        value = 45 * value + LETTERS.index(letter)
    if value >= 256 ** (len(group) - 1):
        raise ValueError("three characters stand for more than two bytes")
    return value

"""An element becomes text: escaped, and never with a character that XML cannot hold.

Names are written without a prefix, in the namespace of UDDF that the root declares. A name in
another namespace, as "{urn:example}name", declares it where it stands.

A character that XML 1.0 cannot hold (a control character, half a character) is written as the
replacement character U+FFFD. Nothing is lost by that: whatever reads back differently stands
beside it, see own_part.py.
"""

from __future__ import annotations

import re
from typing import Final
from xml.etree.ElementTree import Element  # the class only; parsing is defusedxml's

OWN_NAMESPACE: Final = "urn:leadline:logbook:1"
OWN_PREFIX: Final = "leadline:"
_XML: Final = "http://www.w3.org/XML/1998/namespace"
UNFIT: Final = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_IN_TEXT: Final = {"&": "&amp;", "<": "&lt;", ">": "&gt;", "\r": "&#13;"}
_IN_ATTRIBUTE: Final = {**_IN_TEXT, '"': "&quot;", "\t": "&#9;", "\n": "&#10;"}
_MARKS_IN_TEXT: Final = re.compile("[&<>\r]")
_MARKS_IN_ATTRIBUTE: Final = re.compile('[&<>\r"\t\n]')
_PLAIN: Final = re.compile(r"[\w .:,;+-]*", re.ASCII)  # what most values are made of; nothing to escape


def fit(text: str) -> str:
    """Return a text with the replacement character for every character that XML cannot hold."""
    return text if _PLAIN.fullmatch(text) else UNFIT.sub("\ufffd", text)


def element_text(element: Element) -> str:
    """Return an element with all that is in it, without what follows it."""
    parts: list[str] = []
    _add(parts, element)
    return "".join(parts)


def _add(parts: list[str], element: Element) -> None:
    name, declared = _name(element.tag, "x")
    attributes = (
        _attribute(key, value, f"a{place}") for place, (key, value) in enumerate(element.attrib.items())
    )
    begin = f"<{name}{declared}{''.join(attributes)}" if element.attrib else f"<{name}{declared}"
    if not element.text and not len(element):
        parts.append(f"{begin}/>")
        return
    parts.append(f"{begin}>{escaped(element.text or '')}")
    for child in element:
        _add(parts, child)
        if child.tail:
            parts.append(escaped(child.tail))
    parts.append(f"</{name}>")


def escaped(text: str) -> str:
    """Return a text as it stands between two tags."""
    if _PLAIN.fullmatch(text):
        return text
    return _MARKS_IN_TEXT.sub(lambda mark: _IN_TEXT[mark[0]], fit(text))


def _name(tag: str, prefix: str) -> tuple[str, str]:
    """Return a name as it is written, and the declaration that it needs."""
    if tag[0] != "{":
        return tag, ""
    namespace, _, name = tag.rpartition("}")
    if namespace[1:] == _XML:
        return f"xml:{name}", ""
    if namespace[1:] == OWN_NAMESPACE:
        prefix = OWN_PREFIX[:-1]
    return f"{prefix}:{name}", f' xmlns:{prefix}="{_quoted(namespace[1:])}"'


def _attribute(key: str, value: str, prefix: str) -> str:
    name, declared = _name(key, prefix)
    return f'{declared} {name}="{_quoted(value)}"'


def _quoted(text: str) -> str:
    if _PLAIN.fullmatch(text):
        return text
    return _MARKS_IN_ATTRIBUTE.sub(lambda mark: _IN_ATTRIBUTE[mark[0]], fit(text))

"""What stands in a dive and nobody here reads is kept as it was, and goes back where it stood.

A dive keeps it in `Dive.extra` under "uddf:unread", as a small XML of its own:

    <unread>
      <in path="informationbeforedive"><tidestate>ebb</tidestate></in>
      <at time_s="120.0"><sonar>14</sonar></at>
    </unread>

`in` names the element that it stood in, by its path below the dive ("." is the dive itself), `at`
the sample. At most `MOST_UNREAD` characters a dive are kept; what is beyond is only named in the
report, as everything unread is.

A writer puts it back, but never what it would itself have something to say about (an element that
is read here), nor what has an id or refers to one: the new file has other ids. What cannot go
back stays in the record and in Leadline's own part of the file.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final
from xml.etree.ElementTree import Element, TreeBuilder  # for building only; parsing is defusedxml's

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import ParseError, fromstring

from logbook_app.files.uddf.fields import CHILDREN, parse_number
from logbook_app.files.uddf.xml_text import element_text

KEY: Final = "uddf:unread"
UNREAD: Final = "?unread"  # stands in an element for what was not read of it; no XML name begins so
MOST_UNREAD: Final = 32_000

_PATH: Final = re.compile(r"\.|[a-z0-9]+(\[[1-9]\d{0,3}\])?(/[a-z0-9]+(\[[1-9]\d{0,3}\])?)*")


class Copy:
    """An element that nobody reads, while it is being copied."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._length = 0
        self._builder = TreeBuilder()

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take in the begin of the element, or of one in it."""
        self._length += len(name) + sum(len(key) + len(value) for key, value in attributes.items())
        if self.fits:
            self._builder.start(name, attributes)

    def data(self, text: str) -> None:
        """Take in a text."""
        self._length += len(text)
        if self.fits:
            self._builder.data(text)

    def end(self, name: str) -> None:
        """Take in the end of the element, or of one in it."""
        if self.fits:
            self._builder.end(name)

    @property
    def fits(self) -> bool:
        """False once it is longer than may be kept; nothing of it is kept then."""
        return self._length <= self._most

    def mark(self) -> Element | None:
        """Return what stands for it in its parent, None where it is too long."""
        text = element_text(self._builder.close()) if self.fits else ""
        if not text or len(text) > self._most:
            return None
        mark = Element(UNREAD)
        mark.text = text
        return mark


def texts_in(element: Element) -> list[str]:
    """Return what was not read of one element, without what stands deeper."""
    return [mark.text or "" for mark in element.iterfind(UNREAD)] if len(element) else []


def unread_text(dive: Element, of_samples: Iterable[tuple[float, str]]) -> str:
    """Return what a dive keeps of it, empty where everything was read.

    of_samples  the time of a waypoint and what stood in it, for each
    """
    found = _below(dive, ".") if next(dive.iter(UNREAD), None) is not None else ()
    parts = [f'<in path="{path}">{"".join(texts)}</in>' for path, texts in found]
    parts += [f'<at time_s="{time_s!r}">{text}</at>' for time_s, text in of_samples]
    return f"<unread>{''.join(parts)}</unread>" if parts else ""


def _below(element: Element, path: str) -> Iterator[tuple[str, list[str]]]:
    if texts := texts_in(element):
        yield path, texts
    seen: dict[str, int] = {}
    for child in element:
        if child.tag == UNREAD:
            continue
        seen[child.tag] = count = seen.get(child.tag, 0) + 1
        below = child.tag if count == 1 else f"{child.tag}[{count}]"
        yield from _below(child, below if path == "." else f"{path}/{below}")


@dataclass(frozen=True)
class Unread:
    """What a dive keeps unread, as elements.

    below  path of the element that it stood in, and what stood there
    at     time of the waypoint that it stood in [s], and what stood there
    """

    below: tuple[tuple[str, tuple[Element, ...]], ...] = ()
    at: Mapping[float, tuple[Element, ...]] = field(default_factory=dict)

    def put_back(self, dive: Element) -> None:
        """Put what stood in a dive outside its waypoints into the element that is written for it."""
        for path, children in self.below:
            parent = dive if path == "." else dive.find(path)
            if parent is not None:
                parent.extend(child for child in children if _may_go_back(child, parent.tag))


def unread_elements(text: str) -> Unread:
    """Return what `unread_text` told; nothing of a text that is none of its own."""
    if not text:
        return Unread()
    try:
        root = fromstring(text, forbid_dtd=True)
    except (ParseError, DefusedXmlException, ValueError):
        return Unread()
    below = tuple((path, tuple(part)) for part in root.iterfind("in") if _PATH.fullmatch(path := _of(part)))
    at: dict[float, tuple[Element, ...]] = {}
    for part in root.iterfind("at"):
        time_s = parse_number(part.get("time_s"))
        if time_s is not None:
            at[time_s] = tuple(child for child in part if _may_go_back(child, "waypoint"))
    return Unread(below, at)


def _of(part: Element) -> str:
    return part.get("path", "")


def _may_go_back(element: Element, parent: str) -> bool:
    if element.tag in CHILDREN.get(parent, ()) or not CHILDREN.get(parent):
        return False
    return not any(key.rpartition("}")[2] in {"id", "ref"} for part in element.iter() for key in part.attrib)

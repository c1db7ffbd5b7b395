"""Waypoints as nearly every recorder writes them, read without building an element for each value.

Nearly all of a file is waypoints, and nearly every waypoint is a handful of values side by side. While
it is so, the parser speaks to `PlainWaypoints`, which does no more than note them. Whatever is not so
(a foreign element, one value inside another) is given back with what was noted, and is built with
all the care that the rest of a file gets; both ways give the same waypoints, which a test holds
them to. A season's file is read twice as fast by it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import Any
from xml.etree.ElementTree import Element  # for building only; parsing is defusedxml's

Part = tuple[str, str, Mapping[str, str]]
"""One child of a waypoint: its name, its text and its attributes."""

Waypoint = list[Part]


def parts_of(waypoint: Element) -> Waypoint:
    """Return the children of a waypoint that was built."""
    return [(child.tag, child.text or "", child.attrib) for child in waypoint]


class PlainWaypoints:
    """What the parser speaks to between the tags of `samples`.

    expat      the parser, whose handlers are lent for as long as all is plain
    names      the name of an element by what the parser calls it, None where it is foreign
    allowed    names that may stand in a waypoint
    take       receives each waypoint that ends
    give_back  receives what has begun and not ended, outermost first, when something else comes
    """

    def __init__(
        self,
        expat: Any,
        names: Mapping[str, str | None],
        allowed: Collection[str],
        take: Callable[[Waypoint], None],
        give_back: Callable[[list[Element]], None],
    ) -> None:
        self._expat, self._names, self._allowed = expat, names, allowed
        self._take, self._give_back = take, give_back
        self._lent = expat.StartElementHandler, expat.EndElementHandler, expat.CharacterDataHandler
        self._texts: list[str] = []
        self._parts: Waypoint | None = None  # of the waypoint that has begun
        self._name = ""  # of the value that has begun in it
        self._attributes: Mapping[str, str] = {}

    def lend(self) -> None:
        """Let the parser speak to this from here on: `samples` has begun, or something in it has ended."""
        expat = self._expat
        expat.StartElementHandler, expat.EndElementHandler = self._start, self._end
        expat.CharacterDataHandler = self._texts.append
        expat.ordered_attributes = False

    @property
    def elements(self) -> int:
        """How many elements the waypoint that has begun holds so far."""
        return len(self._parts or ())

    @property
    def characters(self) -> int:
        """How much text the waypoint that has begun holds so far."""
        return sum(map(len, self._texts)) + sum(len(text) for _, text, _ in self._parts or ())

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        name = self._names[tag]
        if self._parts is None:
            if name == "waypoint":
                self._parts = []
                self._texts.clear()
                return
        elif name in self._allowed and not self._name:
            self._name, self._attributes = name or "", attributes
            self._texts.clear()  # what stands between two values
            return
        self._return()
        listed = [word for pair in attributes.items() for word in pair]
        self._expat.StartElementHandler(tag, listed)

    def _end(self, tag: str) -> None:
        parts = self._parts
        if parts is None:
            self._return()
            self._expat.EndElementHandler(tag)
        elif self._name:
            parts.append((self._name, "".join(self._texts), self._attributes))
            self._name = ""
        else:
            self._take(parts)
            self._parts = None

    def _return(self) -> None:
        expat, begun = self._expat, []
        expat.StartElementHandler, expat.EndElementHandler, expat.CharacterDataHandler = self._lent
        expat.ordered_attributes = True
        if self._parts is not None:
            begun.append(_built(self._parts))
        if self._name:
            begun.append(Element(self._name, dict(self._attributes)))
            begun[-1].text = "".join(self._texts)
        self._parts, self._name = None, ""
        self._texts.clear()
        self._give_back(begun)


def _built(parts: Waypoint) -> Element:
    waypoint = Element("waypoint")
    for name, text, attributes in parts:
        child = Element(name, dict(attributes))
        child.text = text
        waypoint.append(child)
    return waypoint

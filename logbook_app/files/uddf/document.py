"""A UDDF text becomes elements, one at a time, in flat memory.

The expat parser of defusedxml is fed in chunks. Elements that the caller wants are handed over
as soon as they close and are then let go, so that a file of any length needs the memory of its
longest dive. Waypoints, of which there are most, come as their bare values; those that are plain
go past the parser, many at a time (plain_waypoints.py).
Names are compared without their namespace: the documentation's own examples carry none, and each
minor version of the standard has another. Names of Leadline's own namespace begin with
"leadline:". What is not wanted in a dive leaves a mark with its text, see unread.py.

A file may be hostile. Entity definitions and external entities are refused by defusedxml; what
could still fill the memory (nesting, one endless tag, one endless text) has a limit here.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any, NamedTuple
from xml.etree.ElementTree import Element, ParseError  # for building only; parsing is defusedxml's

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import XMLParser

from logbook_app.dive.problems import RefusedFile
from logbook_app.files.uddf.plain_waypoints import END, PlainWaypoints, Run, Sampled, parts_of
from logbook_app.files.uddf.unread import MOST_UNREAD, Copy
from logbook_app.files.uddf.xml_text import OWN_NAMESPACE, OWN_PREFIX
from logbook_app.language import _

UDDF_NAMESPACE = re.compile(r"https?://(www\.)?streit\.cc/uddf/3(\.\d+)*/?")
DEEPEST_NESTING = 100
LONGEST_TAG_BYTES = 4_000_000
MOST_ELEMENTS_KEPT = 100_000
MOST_TEXT_KEPT = 4_000_000
_MOST_NAMES_REMEMBERED = 200
_MOST_NAMES_KEPT = 10_000
_ALL_BUT_LINE_ENDS = bytes(set(range(256)) - set(b"\r\n"))


class Found(NamedTuple):
    """An element that closed, and the line that it began on."""

    element: Element
    line: int


class Damaged(Exception):
    """The text cannot be followed any further.

    line  where, counted from 1
    what  what is wrong there, as the end of a sentence
    unfinished  the elements that had begun and not ended, outermost first
    """

    def __init__(self, line: int, what: str, unfinished: tuple[Element, ...] = ()) -> None:
        super().__init__(_("line {line}: {what}").format(line=line, what=what))
        self.line = line
        self.what = what
        self.unfinished = unfinished


class Endless(Damaged):
    """The text goes beyond a limit that no logbook reaches."""


class Outline:
    """What a pass looks at.

    sections  top-level sections to look into; the others are passed over
    kept      names of the elements to hand over
    children  names that may stand under a parent; a parent that is not listed may hold anything
    unread    receives the names of elements that the standard or this reader does not know
    """

    def __init__(
        self,
        sections: Collection[str],
        kept: Collection[str],
        children: Mapping[str, Collection[str]],
        unread: dict[str, None],
    ) -> None:
        self.sections = sections
        self.kept = kept
        self.children = children
        self.unread = unread

    def note_unread(self, name: str) -> None:
        """Remember a name once, in the order of the file."""
        if len(self.unread) < _MOST_NAMES_REMEMBERED:
            self.unread.setdefault(name[:60])


def elements(chunks: Iterable[bytes], file_name: str, outline: Outline) -> Iterator[Found | Sampled]:
    """Yield the kept elements of a UDDF text in the order in which they end, waypoints as their parts.

    A kept element inside another is handed over by itself and does not appear in the outer one.

    Raises RefusedFile where the text is not UDDF or is hostile, Damaged where it breaks off.
    """
    text = _Text(file_name, outline)
    for chunk in chunks:
        damage = text.take_in(chunk)
        yield from text.finished()
        if damage is not None:
            raise damage
    damage = text.close()
    if damage is not None:
        raise damage


class _Text:
    """A text on its way into the parser, and past it where its waypoints are plain."""

    def __init__(self, file_name: str, outline: Outline) -> None:
        self._builder = _Builder(file_name, outline)
        self._parser = XMLParser(target=self._builder)
        self._builder.listen_to(self._parser.parser)
        self._plain = PlainWaypoints()
        self._fed = 0  # to the parser

    def take_in(self, chunk: bytes) -> Damaged | None:
        """Take in a chunk; return what went wrong."""
        at = 0
        for run in self._runs(chunk):
            damage = self._feed(chunk[at : run.begin])
            if damage is not None:
                return damage
            at = run.begin
            if self._builder.between_waypoints(self._fed):
                self._builder.take_plain(run.waypoints)
                at = run.end
                damage = self._feed(chunk[run.begin : at].translate(None, _ALL_BUT_LINE_ENDS))
        damage = self._feed(chunk[at:])
        if damage is None and self._fed - max(0, self._builder.expat.CurrentByteIndex) > LONGEST_TAG_BYTES:
            damage = self._builder.endless(_("one tag goes on without an end"))
        return damage

    def finished(self) -> list[Found | Sampled]:
        """Return what has been finished since the last call."""
        return self._builder.take()

    def close(self) -> Damaged | None:
        """Tell the parser that there is no more; return what is wrong with that."""
        return _fed(self._parser, None, self._builder)

    def _runs(self, chunk: bytes) -> Iterable[Run]:
        """Return what is plain if it stands where waypoints do; as Latin 1 each byte is a character."""
        return self._plain.runs(chunk.decode("latin-1")) if self._builder.literal else ()

    def _feed(self, piece: bytes) -> Damaged | None:
        self._fed += len(piece)
        return _fed(self._parser, piece, self._builder)


def _fed(parser: XMLParser, chunk: bytes | None, builder: _Builder) -> Damaged | None:
    """Give the parser a chunk, or tell it that there are no more; return what went wrong."""
    try:
        if chunk is None:
            parser.close()
        else:
            parser.feed(chunk)
    except ParseError as error:
        what = _("it ends there") if chunk is None else str(error).partition(":")[0]
        return Damaged(error.position[0], what, builder.unfinished)
    except Damaged as damage:
        return damage
    except DefusedXmlException as error:
        raise RefusedFile(
            _(
                "{file_name} defines or loads entities, which can fill the memory or fetch other "
                "files; nothing of it was read. Save it again without them."
            ).format(file_name=builder.file_name)
        ) from error
    except (LookupError, ValueError) as error:
        if builder.started:
            raise
        raise RefusedFile(
            _(
                "{file_name} is in a text encoding that cannot be read here ({error}); save it again "
                "as UTF-8."
            ).format(file_name=builder.file_name, error=error)
        ) from error
    return None


class _Builder:
    """The target of the parser: builds what is kept, counts its way past everything else."""

    def __init__(self, file_name: str, outline: Outline) -> None:
        self.file_name = file_name
        self.expat: Any = None
        self._outline = outline
        self._open: list[tuple[Element, list[str], int]] = []
        self._passing = 0  # how deep inside an element that is passed over
        self._copy: Copy | None = None  # of that element, where it stands in a dive
        self._may_copy = 0
        self._names = _Names()
        self._done: list[Found | Sampled] = []
        self._elements = self._characters = 0
        self._ended_at = -1  # where its end tag begins, among the bytes that the parser got
        self.literal = True  # a tag in the text means what it seems to
        self.started = False

    def listen_to(self, expat: Any) -> None:
        """Hear from the parser what makes tags mean something else than they seem to.

        After a document type (which can give an element attributes) or a change of the namespace of names
        without prefix, nothing goes past the parser any more. The encoding makes no difference: the
        parser takes none in which tags and digits are other bytes than in ASCII, but UTF-16.
        """
        self.expat = expat
        expat.ordered_attributes = False
        expat.StartElementHandler, expat.EndElementHandler = self._start, self._end
        expat.StartDoctypeDeclHandler = self._not_literal
        expat.StartNamespaceDeclHandler = self._declare_namespace

    def take(self) -> list[Found | Sampled]:
        """Return what has been finished since the last call."""
        done = self._done.copy()
        self._done.clear()
        return done

    def between_waypoints(self, at: int) -> bool:
        """Tell whether a waypoint ended with the last of so many bytes, by its own tag.

        One of the samples, or one in what is passed over, where waypoints may go past as well.
        """
        return self.literal and self._ended_at + len(END) == at

    def take_plain(self, waypoints: Iterable[Sampled]) -> None:
        """Take over waypoints that went past the parser."""
        if not self._passing:
            self._done += waypoints
            self._elements = self._characters = 0

    @property
    def unfinished(self) -> tuple[Element, ...]:
        """The elements that have begun and not ended, outermost first."""
        return tuple(element for element, _texts, _size in self._open)

    def endless(self, what: str) -> Endless:
        """Return the exception that says which limit the text goes beyond, and where."""
        return Endless(self.expat.CurrentLineNumber, what, self.unfinished)

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        if self._passing:
            self._passing += 1
            self._refuse_depth()
            if self._copy is not None:
                self._copy.start(self._copied_name(tag), _in_full(attributes))
            return
        name = self._names[tag]
        if not self._open:
            self._refuse_root(tag, attributes)
        elif not self._wanted(name, tag):
            self._passing = 1
            self._begin_copy(tag, attributes)
            if self._copy is None:
                self._pass_over()
            return
        self._elements += 1
        if self._elements > MOST_ELEMENTS_KEPT:
            raise self.endless(
                _("one record holds more than {most} elements").format(most=f"{MOST_ELEMENTS_KEPT:,}")
            )
        self._refuse_depth()
        line = 0
        if name == "dive":
            line, self._may_copy = self.expat.CurrentLineNumber, MOST_UNREAD
        self._open.append((Element(name or "uddf", attributes), [], line))

    def data(self, text: str) -> None:
        if self._copy is not None:
            self._copy.data(text)
        if self._passing or not self._open:
            return
        self._characters += len(text)
        if self._characters > MOST_TEXT_KEPT:
            raise self.endless(
                _("one record holds more than {most} characters").format(most=f"{MOST_TEXT_KEPT:,}")
            )
        self._open[-1][1].append(text)

    def _end(self, tag: str) -> None:
        if self._passing:
            self._passing -= 1
            if self._copy is not None:
                self._copy.end(self._copied_name(tag))
                self._end_copy(self._copy)
            return
        element, texts, line = self._open.pop()
        element.text = "".join(texts)
        if element.tag in self._outline.kept:
            self._done.append(Found(element, line) if element.tag != "waypoint" else parts_of(element))
            self._elements = self._characters = 0
            self._note_place(element)
        elif self._open:
            self._open[-1][0].append(element)

    def _note_place(self, element: Element) -> None:
        """Note where a waypoint of the samples ended, and let go of the text before it."""
        parent, texts, _size = self._open[-1] if self._open else (None, [], 0)
        if element.tag == "waypoint" and parent is not None and parent.tag == "samples":
            self._ended_at = self.expat.CurrentByteIndex
            texts.clear()

    def close(self) -> None:
        """Nothing is left to build when the text ends."""

    def _declare_namespace(self, prefix: str | None, _namespace: str | None) -> None:
        self.literal &= bool(prefix) or not self._open  # below the root it holds for a part only

    def _not_literal(self, *_of_document_type: object) -> None:
        self.literal = False

    def _pass_over(self) -> None:
        """Let the parser do no more than count, until an element ends of which nothing is kept.

        A file that lacks one of the sections that dives refer to is passed over to its end once.
        """
        expat = self.expat
        lent = expat.StartElementHandler, expat.EndElementHandler
        deepest = DEEPEST_NESTING - len(self._open)

        def start(_tag: str, _attributes: object) -> None:
            self._passing += 1
            if self._passing > deepest:
                self._refuse_depth()

        def end(_tag: str) -> None:
            self._passing -= 1
            if self._passing:
                self._ended_at = expat.CurrentByteIndex
            else:
                expat.StartElementHandler, expat.EndElementHandler = lent

        expat.StartElementHandler, expat.EndElementHandler = start, end

    def _begin_copy(self, tag: str, attributes: dict[str, str]) -> None:
        if any(element.tag == "dive" for element, _texts, _size in self._open):
            self._copy = Copy(self._may_copy)
            self._copy.start(self._copied_name(tag), _in_full(attributes))

    def _end_copy(self, copy: Copy) -> None:
        if self._passing:
            return
        mark = copy.mark()
        if mark is not None:
            self._may_copy -= len(mark.text or "")
            self._elements += 1
            self._open[-1][0].append(mark)
        self._copy = None

    def _copied_name(self, tag: str) -> str:
        """Return the name for a copy: that of UDDF without its namespace, any other with it."""
        name = self._names[tag]
        return _full_name(tag) if name is None or name.startswith(OWN_PREFIX) else name

    def _wanted(self, name: str | None, tag: str) -> bool:
        parent = self._open[-1][0].tag
        allowed = self._outline.children.get(parent)
        if name is None or (allowed is not None and name not in allowed):
            self._outline.note_unread(tag.rpartition("}")[2])
            return False
        return parent != "uddf" or name in self._outline.sections

    def _refuse_depth(self) -> None:
        if len(self._open) + self._passing > DEEPEST_NESTING:
            raise self.endless(_("elements are nested more than {most} deep").format(most=DEEPEST_NESTING))

    def _refuse_root(self, tag: str, attributes: Mapping[str, str]) -> None:
        self.started = True
        namespace, _brace, name = tag.rpartition("}")
        if name != "uddf":
            raise RefusedFile(
                _("{file_name} is XML but not UDDF: its outermost element is <{name}>, not <uddf>.").format(
                    file_name=self.file_name, name=name[:60]
                )
            )
        if not _is_uddf(namespace):
            raise RefusedFile(
                _(
                    '{file_name} has the UDDF root in an unknown namespace "{namespace}"; only those of '
                    "UDDF 3 and none are read."
                ).format(file_name=self.file_name, namespace=namespace[:80])
            )
        version = attributes.get("version", "3").strip()
        if not version.startswith("3"):
            raise RefusedFile(
                _('{file_name} is UDDF version "{version}"; versions 3.0 to 3.3 are read.').format(
                    file_name=self.file_name, version=version[:20]
                )
            )


def _full_name(tag: str) -> str:
    """Return "{namespace}name" for what the parser calls "namespace}name"."""
    return f"{{{tag}" if "}" in tag else tag


def _in_full(attributes: Mapping[str, str]) -> dict[str, str]:
    return {_full_name(name): value for name, value in attributes.items()}


class _Names(dict[str, str | None]):
    """The name of an element without its namespace, None where that is foreign, by the parser's name.

    That is "namespace}name", or "name" alone where there is no namespace.
    """

    def __missing__(self, tag: str) -> str | None:
        namespace, _brace, name = tag.rpartition("}")
        told = _told_name(namespace, name)
        if len(self) < _MOST_NAMES_KEPT:
            self[tag] = told
        return told


def _told_name(namespace: str, name: str) -> str | None:
    if namespace == OWN_NAMESPACE:
        return OWN_PREFIX + name
    return name if _is_uddf(namespace) else None


def _is_uddf(namespace: str) -> bool:
    return not namespace or UDDF_NAMESPACE.fullmatch(namespace) is not None

"""Pieces of kit as the standard's pieces of equipment, and those pieces as kit again.

A piece that Leadline wrote has an id that says which it is, `kit-` and the id of the piece. In a file of
any other program a piece that a dive links to is kit of that diver: its id follows from what the file says
of it, so that another file that says the same means the same. Two exceptions: a tank without a serial
number is a volume and no piece of anybody's, and a configuration is several pieces.

What the standard has no element for (intervals, what was done, what was before the logbook) stays at home.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import Final
from xml.etree.ElementTree import Element  # for building only; parsing is defusedxml's

from logbook_app.dive.kit import Kind, KitItem, UsedKit
from logbook_app.dive.record import name_from_content
from logbook_app.files.uddf.references import Piece
from logbook_app.files.uddf.written_values import put, put_words

OURS: Final = "Leadline"  # what a file of ours calls its generator
_OWN_ID: Final = re.compile("kit-([0-9a-f]{32})")
_ELEMENTS: Final = {
    Kind.REGULATOR: "regulator",
    Kind.CYLINDER: "tank",
    Kind.JACKET: "buoyancycontroldevice",
    Kind.SUIT: "suit",
    Kind.RECORDER: "divecomputer",
    Kind.TORCH: "light",
    Kind.MASK: "mask",
    Kind.FINS: "fins",
}
_KINDS: Final = {element: kind for kind, element in _ELEMENTS.items()}
_OTHER: Final = "variouspieces"  # its kind, in the diver's word, is an aliasname


@lru_cache(maxsize=1000)  # the dives of a file link to the same few pieces
def kit_id(piece: Piece, generator: str) -> str:
    """Return the id of the piece of kit that this is, empty where it is none."""
    if not piece.name:
        return ""
    if own := _OWN_ID.fullmatch(piece.key):
        return own[1]
    a_volume = piece.kind == "tank" and not piece.serial
    if generator == OURS or a_volume or piece.kind == "equipmentconfiguration":
        return ""
    return name_from_content(
        "kit", "\n".join((piece.kind, piece.name, piece.maker, piece.model, piece.serial))
    )


def used_kit(pieces: Iterable[Piece], generator: str) -> tuple[UsedKit, ...]:
    """Return the kit among the pieces that a dive links to."""
    found = {key: UsedKit(key, piece.name) for piece in pieces if (key := kit_id(piece, generator))}
    return tuple(found.values())


def kit_item(piece: Piece, item_id: str) -> KitItem:
    """Return a piece of equipment as a piece of kit."""
    kind = piece.alias if piece.kind == _OTHER else _KINDS.get(piece.kind, piece.kind)
    return KitItem(
        id=item_id,
        name=piece.name,
        kind=str(kind),
        maker=piece.maker,
        model=piece.model,
        serial=piece.serial,
        notes=piece.notes,
    )


def element_of(used: UsedKit, item: KitItem | None) -> Element | None:
    """Return a piece as the standard has it, None for one that this program did not name or that has no name.

    item   what is known of it, None where it is only known by its name
    """
    name = item.name if item else used.name
    if not _OWN_ID.fullmatch(f"kit-{used.id}") or not name.strip():
        return None
    tag = next((tag for kind, tag in _ELEMENTS.items() if item and item.kind == kind), _OTHER)
    element = Element(tag, {"id": f"kit-{used.id}"})
    put(element, "name", name)
    if item is not None:
        _describe(element, item)
    return element


def _describe(element: Element, item: KitItem) -> None:
    if element.tag == _OTHER and item.kind.strip():
        put(element, "aliasname", item.kind)
    if item.maker.strip():
        put(put(element, "manufacturer", id=f"maker-of-{item.id}"), "name", item.maker)
    for name, text in (("model", item.model), ("serialnumber", item.serial)):
        if text.strip():
            put(element, name, text)
    put_words(element, "notes", item.notes)

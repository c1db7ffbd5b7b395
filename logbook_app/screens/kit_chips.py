"""Chips to say what a dive was dived with: sets that go on with one touch, and single pieces."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from logbook_app.dive.kit import UsedKit
from logbook_app.divers_kit import KitChoice
from logbook_app.language import _

LAST = "last"
Used = tuple[UsedKit, ...]


def bundles(choice: KitChoice) -> dict[str, tuple[str, Used]]:
    """Return what goes on with one touch: name of the chip -> words and pieces; the last kit first."""
    known = {item.id: item.used for item in choice.items}
    found: dict[str, tuple[str, Used]] = {}
    if choice.last:
        found[LAST] = (_("As last time"), choice.last)
    for kit_set in choice.sets:
        pieces = tuple(known[item_id] for item_id in kit_set.item_ids if item_id in known)
        if pieces:
            found[kit_set.id] = (kit_set.name, pieces)
    return found


def worn(choice: KitChoice, used: Sequence[UsedKit]) -> list[str]:
    """Return the names of the bundles of which every piece is on."""
    on = {each.id for each in used}
    return [name for name, (_words, pieces) in bundles(choice).items() if {each.id for each in pieces} <= on]


def after_bundle(choice: KitChoice, used: Used, name: str) -> Used:
    """Return what is on after a bundle was touched: it goes on, or off where all of it was on."""
    pieces = bundles(choice)[name][1]
    ids = {each.id for each in pieces}
    if name in worn(choice, used):
        return tuple(each for each in used if each.id not in ids)
    on = {each.id for each in used}
    return (*used, *(each for each in pieces if each.id not in on))


def pieces(choice: KitChoice, used: Iterable[UsedKit]) -> list[tuple[str, str]]:
    """Return id and name of every piece that may be chosen, and of those that are on all the same."""
    known = {item.id: item.name for item in choice.items}
    gone = {each.id: each.name for each in used if each.id not in known}
    return [*known.items(), *gone.items()]


def after_piece(choice: KitChoice, used: Used, chosen: Sequence[str]) -> Used:
    """Return what is on where the chips say `chosen`; what was on keeps its place."""
    names = dict(pieces(choice, used))
    before = {each.id: each for each in used}
    kept = [each for each in used if each.id in chosen]
    new = [UsedKit(item_id, names[item_id]) for item_id in chosen if item_id not in before]
    return (*kept, *new)

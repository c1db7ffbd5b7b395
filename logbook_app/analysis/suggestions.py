"""What the last dives offer to a new entry: the last site, buddy, gas and cylinder first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from logbook_app.dive.record import Dive, Site
from logbook_app.physics.breathing_gas import AIR, BreathingGas

LOOKED_AT = 200  # dives; who has not dived somewhere for so long looks for it by name

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Suggestions:
    """What may be taken again, most recent first; `last` is the last dive, None before any."""

    last: Dive | None
    site: Site | None
    sites: tuple[Site, ...]
    buddies: tuple[str, ...]
    gas: BreathingGas
    gases: tuple[BreathingGas, ...]
    volume_l: float | None
    volumes_l: tuple[float, ...]


def suggestions_from(dives: Sequence[Dive]) -> Suggestions:
    """Return what a diver's dives offer, given in order of their start."""
    recent = dives[-LOOKED_AT:][::-1]
    cylinders = [dive.cylinders[0] for dive in recent if dive.cylinders]
    sites: dict[str, Site] = {}
    for site in (dive.site for dive in recent if dive.site):
        sites.setdefault(site.id, site)
    gases = _distinct(cylinder.gas for cylinder in cylinders if cylinder.gas)
    volumes_l = _distinct(cylinder.volume_l for cylinder in cylinders if cylinder.volume_l)
    return Suggestions(
        last=recent[0] if recent else None,
        site=next(iter(sites.values()), None),
        sites=tuple(sites.values()),
        buddies=_distinct(buddy for dive in recent for buddy in dive.buddies),
        gas=gases[0] if gases else AIR,
        gases=gases,
        volume_l=volumes_l[0] if volumes_l else None,
        volumes_l=volumes_l,
    )


def _distinct(items: Iterable[_T]) -> tuple[_T, ...]:
    return tuple(dict.fromkeys(items))

"""What the dives of a logbook say already, to be chosen again: the most recent first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from logbook_app.dive.record import Dive, Site
from logbook_app.physics.breathing_gas import BreathingGas

_ONE_TEXT = ("suit", "current", "conditions", "purpose", "trip", "supervised_by")
_SEVERAL = ("buddies", "tags")


@dataclass(frozen=True, slots=True)
class KnownWords:
    """Words, sites and gases that were written before.

    words   by the name of the field
    sites   each once, as the last dive there knows it
    """

    words: dict[str, tuple[str, ...]] = field(default_factory=dict)
    sites: tuple[Site, ...] = ()
    gases: tuple[BreathingGas, ...] = ()
    volumes_l: tuple[float, ...] = ()


def known_words(dives: Sequence[Dive]) -> KnownWords:
    """Return what dives say, given in order of their start."""
    recent = dives[::-1]
    words = {name: _once(getattr(dive, name) for dive in recent) for name in _ONE_TEXT}
    words |= {name: _once(each for dive in recent for each in getattr(dive, name)) for name in _SEVERAL}
    sites: dict[str, Site] = {}
    for dive in recent:
        if dive.site is not None:
            sites.setdefault(dive.site.id, dive.site)
    cylinders = [cylinder for dive in recent for cylinder in dive.cylinders]
    return KnownWords(
        words,
        tuple(sites.values()),
        tuple(dict.fromkeys(one.gas for one in cylinders if one.gas)),
        tuple(dict.fromkeys(one.volume_l for one in cylinders if one.volume_l)),
    )


def _once(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for text in texts if text))

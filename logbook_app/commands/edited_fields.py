"""Fields of a dive as they are written on the command line: FIELD=VALUE, in the units of the record.

number=41  rating=8  weights_kg=6.5  visibility_m=      (nothing after the sign: not written down)
began_at=2026-11-14T11:05+01:00                         (without an offset: that of the dive)
buddies="Imke R., Tom"  tags=night,wreck
supervised_by="Imke R."  role="in training"  environments="night,cold water"
site="Heron Ledge"  site.elevation_m=412  site.water=fresh  site.latitude_deg=46.13
cylinder1.gas=32  cylinder1.start_bar=200  cylinder2.volume_l=7  cylinder2=   (the last one taken away)
extra.NAME=TEXT
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from datetime import datetime, timedelta, timezone
from typing import Any, Final

import click

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Dive, Environment, Role, Site, Water
from logbook_app.language import _
from logbook_app.physics.breathing_gas import parse_gas

_TEXTS: Final = frozenset(
    ["diver", "suit", "current", "conditions", "purpose", "notes", "trip", "supervised_by"]
)
_NAMES: Final = frozenset(["buddies", "tags"])
_COUNTS: Final = frozenset(["number", "rating", "utc_offset_min"])
_NUMBERS: Final = frozenset(
    [
        "duration_min",
        "max_depth_m",
        "mean_depth_m",
        "surface_bar",
        "elevation_m",
        "weights_kg",
        "air_temperature_c",
        "lowest_temperature_c",
        "visibility_m",
    ]
)
_NEEDED: Final = frozenset(["began_at", "duration_min", "max_depth_m", "utc_offset_min", "water"])
_CYLINDER: Final = re.compile(r"cylinder(\d{1,2})(?:\.(\w+))?")
_OF_SITE: Final = frozenset(each.name for each in fields(Site)) - {"id"}
_OF_CYLINDER: Final = frozenset(each.name for each in fields(Cylinder))


def edited_fields(dive: Dive, words: Iterable[str], sites: Iterable[Site]) -> dict[str, Any]:
    """Return what `Logbook.change_dive` is to be given.

    sites   those that are known: a name that is one of them means that place

    Raises click.UsageError, naming the field, for what cannot be read.
    """
    given: dict[str, Any] = {}
    for word in words:
        name, sign, text = word.partition("=")
        if not sign:
            raise click.UsageError(
                _("{word!r} is no change. Write FIELD=VALUE, as in weights_kg=6.").format(word=word)
            )
        try:
            _read(dive, name.strip(), text.strip(), given, {site.name: site for site in sites})
        except ValueError as error:
            raise click.UsageError(f"{name}={text}: {error}") from error
    return given


def _read(dive: Dive, name: str, text: str, given: dict[str, Any], sites: Mapping[str, Site]) -> None:
    if not text and name in _NEEDED:
        raise ValueError("this field cannot be left out.")
    if cylinder := _CYLINDER.fullmatch(name):
        so_far = given.get("cylinders", dive.cylinders)
        given["cylinders"] = _cylinders(so_far, int(cylinder[1]), cylinder[2], text)
    elif name == "site":
        given["site"] = sites.get(text, Site.named(text)) if text else None
    elif name.startswith("site."):
        given["site"] = _site(given.get("site", dive.site), name.removeprefix("site."), text)
    elif name.startswith("extra."):
        given.setdefault("extra", {})[name.removeprefix("extra.")] = text or None
    elif name == "began_at":
        given["began_at"], given["utc_offset_min"] = _start(dive, text)
    else:
        given[name] = _plain(name, text)


def _plain(name: str, text: str) -> Any:
    if name in _TEXTS:
        return text
    if name in _NAMES:
        return tuple(text.split(","))
    if name == "water":
        return _water(text)
    if name == "role":
        return _word("role", text, Role) if text else None
    if name == "environments":
        return tuple(_word(name, each.strip(), Environment) for each in text.split(",") if each.strip())
    if name in _NUMBERS:
        return _number(text)
    return _count(text) if name in _COUNTS else text  # a name that nobody knows is refused with the others


def _number(text: str) -> float | None:
    try:
        return float(text) if text else None
    except ValueError as error:
        raise ValueError("this is not a number; write it as in 6.5.") from error


def _count(text: str) -> int | None:
    try:
        return int(text) if text else None
    except ValueError as error:
        raise ValueError("this is not a whole number.") from error


def _water(text: str) -> Water:
    try:
        return Water(text)
    except ValueError as error:
        raise ValueError("water is recorder, fresh or sea.") from error


def _word(name: str, text: str, kind: type[Role] | type[Environment]) -> Role | Environment:
    try:
        return kind(text)
    except ValueError as error:
        raise ValueError(f"{name} is one of {', '.join(kind)}.") from error


def _start(dive: Dive, text: str) -> tuple[datetime, int]:
    try:
        began = datetime.fromisoformat(text)
    except ValueError as error:
        raise ValueError("this is not a time; write it as 2026-11-14T11:05+01:00.") from error
    if began.tzinfo is None:
        began = began.replace(tzinfo=timezone(timedelta(minutes=dive.utc_offset_min)))
    offset = began.utcoffset() or timedelta()
    return began, round(offset / timedelta(minutes=1))


def _site(site: Site | None, name: str, text: str) -> Site:
    if site is None:
        raise ValueError("this dive has no site; name one first, as in site=NAME.")
    if name not in _OF_SITE:
        raise ValueError(f"a site has no such field; it has {', '.join(sorted(_OF_SITE))}.")
    value: Any = text
    if name == "water":
        value = _water(text) if text else None
    elif name not in ("name", "region"):
        value = _number(text)
    return replace(site, **{name: value})


def _cylinders(cylinders: tuple[Cylinder, ...], number: int, name: str, text: str) -> tuple[Cylinder, ...]:
    if not 1 <= number <= len(cylinders) + 1:
        raise ValueError(f"this dive has {len(cylinders)} cylinders; the next one is {len(cylinders) + 1}.")
    at = number - 1
    if not name:
        if text or number > len(cylinders):
            raise ValueError(f"write cylinder{number}.FIELD=VALUE, or cylinder{number}= to take it away.")
        return (*cylinders[:at], *cylinders[number:])
    if name not in _OF_CYLINDER:
        raise ValueError(f"a cylinder has no such field; it has {', '.join(sorted(_OF_CYLINDER))}.")
    one = cylinders[at] if at < len(cylinders) else Cylinder()
    value: Any = text if name == "name" else _gas(text) if name == "gas" else _number(text)
    return (*cylinders[:at], replace(one, **{name: value}), *cylinders[number:])


def _gas(text: str) -> Any:
    return parse_gas(text) if text else None

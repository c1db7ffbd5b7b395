"""A dive as rows of the logbook file, and the rows as the same dive again.

What is listed, sorted or searched has a column; what a dive has several of has a table. A site is
kept as the dive knew it: every distinct wording of a site is a row of its own that never changes,
so that a file read tomorrow cannot move the water under a dive logged today.
"""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import astuple, fields
from datetime import UTC, datetime
from operator import attrgetter
from typing import Any

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.kit import UsedKit
from logbook_app.dive.photo import photos_from_plain, photos_to_plain
from logbook_app.dive.pre_dive_card import PreDiveCard, card_from_plain, card_to_plain
from logbook_app.dive.problems import LogbookError, RefusedRecord
from logbook_app.dive.record import (
    Account,
    Dive,
    Environment,
    Recording,
    Role,
    Site,
    Water,
    name_from_content,
)
from logbook_app.language import _
from logbook_app.physics.breathing_gas import BreathingGas

Row = tuple[Any, ...]

# Columns that hold a field of the same name as it is.
_PLAIN = (
    "id",
    "utc_offset_min",
    "duration_min",
    "max_depth_m",
    "mean_depth_m",
    "number",
    "diver",
    "surface_bar",
    "elevation_m",
    "weights_kg",
    "suit",
    "air_temperature_c",
    "lowest_temperature_c",
    "visibility_m",
    "current",
    "conditions",
    "purpose",
    "notes",
    "rating",
)
_TURNED = ("began_at", "site_version", "water", "estimate", "extra")
# Columns that came later, with what a dive had before: earlier texts of `dive_to_text` end without them.
_ADDED = {
    "trip": "",
    "pre_dive": None,
    "photos": "[]",
    "camera_ahead_s": 0,
    "supervised_by": "",
    "role": None,
    "environments": "[]",
}
_SITE = ("id", "name", "elevation_m", "latitude_deg", "longitude_deg", "water", "region")
_PARTS = {
    "cylinders": ("oxygen", "helium", "volume_l", "start_bar", "end_bar", "name"),
    "buddies": ("name",),
    "tags": ("name",),
    "kit": ("item_id", "name"),
    "recordings": ("fingerprint", "profile_sha256", "recorder", "file_name", "account"),
}
_COLUMNS = (*_PLAIN, *_TURNED, *_ADDED)
_plain_values = attrgetter(*_PLAIN)


def instant_to_text(instant: datetime) -> str:
    """Return an aware instant as UTC text of one width, which sorts as time does."""
    if instant.tzinfo is None:
        raise ValueError("An instant needs its offset from UTC.")
    return instant.astimezone(UTC).isoformat(timespec="microseconds")


def instant_from_text(text: str) -> datetime:
    """Return the instant that `instant_to_text` wrote, UTC."""
    return datetime.fromisoformat(text)


def write_dives(connection: sqlite3.Connection, dives: Sequence[Dive]) -> None:
    """Insert or replace dives by id, within the caller's transaction; a dive in the bin stays there.

    dives   each id once; the profiles that they name are there already
    """
    sites = {dive.site for dive in dives if dive.site}
    connection.executemany(_insert("OR IGNORE", "sites", ("version", *_SITE)), map(_site_row, sites))
    connection.executemany(_UPSERT_DIVE, map(_dive_row, dives))
    for table, columns in _PARTS.items():
        connection.executemany(f"DELETE FROM {table} WHERE dive_id = ?", ((dive.id,) for dive in dives))  # noqa: S608
        connection.executemany(_insert("", table, ("dive_id", "place", *columns)), _part_rows(table, dives))


def read_dives(connection: sqlite3.Connection, where: str, values: Sequence[Any] = ()) -> list[Dive]:
    """Return the dives for which `where` holds, in order of their start.

    where    SQL about `dives`, written by the store, never by a diver
    values   for its question marks

    One query for the dives and one for each table of parts, however many dives there are.

    Raises LogbookError where a row makes no dive: something else has written to the file.
    """
    parts = {table: _read_parts(connection, table, where, values) for table in _PARTS}
    columns = [f"dives.{name}" for name in _COLUMNS] + [f"sites.{name}" for name in _SITE]
    rows = connection.execute(
        f"SELECT {', '.join(columns)} FROM dives LEFT JOIN sites ON sites.version = dives.site_version"  # noqa: S608
        f" WHERE {where} ORDER BY dives.began_at, dives.id",
        values,
    )
    return [_checked_dive(row, parts) for row in rows]


def dive_to_text(dive: Dive) -> str:
    """Return a dive as JSON of its rows, for a change that keeps what a dive was before it."""
    parts = {table: [_part_row(part) for part in getattr(dive, table)] for table in _PARTS}
    return json.dumps([_dive_row(dive), _site_row(dive.site)[1:] if dive.site else None, parts])


def dive_from_text(text: str) -> Dive:
    """Return the dive that `dive_to_text` wrote."""
    row, site, parts = json.loads(text)
    dive_id = row[0]
    row += list(_ADDED.values())[len(row) - len(_COLUMNS) :] if len(row) < len(_COLUMNS) else []
    kept = {table: {dive_id: parts.get(table, ())} for table in _PARTS}  # an older text knows fewer
    return _dive((*row, *(site or [None] * len(_SITE))), kept)


def _dive_row(dive: Dive) -> Row:
    return (
        *_plain_values(dive),
        instant_to_text(dive.began_at),
        _site_version(dive.site) if dive.site else None,
        dive.water.value,
        int(dive.estimate),
        json.dumps(dict(dive.extra), ensure_ascii=False),
        dive.trip,
        _card_to_text(dive.pre_dive),
        json.dumps(photos_to_plain(dive.photos), ensure_ascii=False),
        dive.camera_ahead_s,
        dive.supervised_by,
        dive.role,
        json.dumps(dive.environments),
    )


def _checked_dive(row: Row, parts: dict[str, dict[str, list[Row]]]) -> Dive:
    try:
        return _dive(row, parts)
    except (ValueError, TypeError, RefusedRecord) as error:
        raise LogbookError(
            _("The dive {row} in the logbook cannot be read ({error}); put back the last backup.").format(
                row=row[0], error=error
            )
        ) from error


def _dive(row: Row, parts: dict[str, dict[str, list[Row]]]) -> Dive:
    told, site = dict(zip(_COLUMNS, row[: -len(_SITE)], strict=True)), row[-len(_SITE) :]
    began_at, site_version, water, estimate, extra = (told.pop(name) for name in _TURNED)
    dive_id, card, photos = told["id"], told.pop("pre_dive"), told.pop("photos")
    role, environments = told.pop("role"), told.pop("environments")
    return Dive(
        **told,
        began_at=instant_from_text(began_at),
        site=_site(site) if site_version is not None else None,
        water=Water(water),
        estimate=bool(estimate),
        extra=json.loads(extra) if extra != "{}" else {},
        role=None if role is None else Role(role),
        environments=tuple(map(Environment, json.loads(environments))) if environments != "[]" else (),
        cylinders=tuple(map(_cylinder, parts["cylinders"].get(dive_id, ()))),
        buddies=tuple(name for (name,) in parts["buddies"].get(dive_id, ())),
        tags=tuple(name for (name,) in parts["tags"].get(dive_id, ())),
        pre_dive=None if card is None else card_from_plain(json.loads(card)),
        photos=photos_from_plain(json.loads(photos)) if photos != "[]" else (),
        kit=tuple(UsedKit(*part) for part in parts["kit"].get(dive_id, ())),
        recordings=tuple(_recording(part) for part in parts["recordings"].get(dive_id, ())),
    )


def _card_to_text(card: PreDiveCard | None) -> str | None:
    """Return a pre-dive card as JSON: it is kept and shown, and nothing is searched in it."""
    return None if card is None else json.dumps(card_to_plain(card), ensure_ascii=False)


def _site_row(site: Site) -> Row:
    return (_site_version(site), *astuple(site))


def _site(row: Row) -> Site:
    fields: dict[str, Any] = dict(zip(_SITE, row, strict=True))
    if fields["water"] is not None:
        fields["water"] = Water(fields["water"])
    return Site(**fields)


def _site_version(site: Site) -> str:
    return name_from_content("site as known", json.dumps(astuple(site)))


def _cylinder(row: Row) -> Cylinder:
    oxygen, helium, *rest = row
    return Cylinder(BreathingGas(oxygen, helium) if oxygen is not None else None, *rest)


def _recording(row: Row) -> Recording:
    fingerprint, profile_sha256, recorder, file_name, account = row
    told = None if account is None else _account_from_text(account)
    return Recording(fingerprint, profile_sha256, recorder, file_name, told)


def _account_to_text(account: Account) -> str:
    """Return an account as JSON; nothing is searched in it, and doubles come back to the last bit."""
    kept = {field.name: getattr(account, field.name) for field in fields(Account)}
    kept["began_at"] = instant_to_text(account.began_at)
    kept["cylinders"] = [_part_row(cylinder) for cylinder in account.cylinders]
    return json.dumps(kept, ensure_ascii=False)


def _account_from_text(text: str) -> Account:
    kept = json.loads(text)
    kept["began_at"] = instant_from_text(kept["began_at"])
    kept["cylinders"] = tuple(map(_cylinder, kept["cylinders"]))
    return Account(**kept)


def _part_rows(table: str, dives: Iterable[Dive]) -> Iterator[Row]:
    for dive in dives:
        for place, part in enumerate(getattr(dive, table)):
            yield (dive.id, place, *_part_row(part))


def _part_row(part: Cylinder | Recording | UsedKit | str) -> Row:
    if isinstance(part, Cylinder):
        shares = (part.gas.oxygen, part.gas.helium) if part.gas else (None, None)
        return (*shares, part.volume_l, part.start_bar, part.end_bar, part.name)
    if isinstance(part, Recording):
        account = _account_to_text(part.account) if part.account else None
        return (part.fingerprint, part.profile_sha256, part.recorder, part.file_name, account)
    return (part.id, part.name) if isinstance(part, UsedKit) else (part,)


def _read_parts(
    connection: sqlite3.Connection, table: str, where: str, values: Sequence[Any]
) -> dict[str, list[Row]]:
    columns = ", ".join(f"{table}.{name}" for name in _PARTS[table])
    rows = connection.execute(
        f"SELECT {table}.dive_id, {columns} FROM {table} JOIN dives ON dives.id = {table}.dive_id"  # noqa: S608
        f" WHERE {where} ORDER BY {table}.dive_id, {table}.place",
        values,
    )
    of_dive: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        of_dive[row[0]].append(row[1:])
    return of_dive


def _insert(otherwise: str, table: str, columns: Sequence[str]) -> str:
    marks = ", ".join("?" * len(columns))
    return f"INSERT {otherwise} INTO {table} ({', '.join(columns)}) VALUES ({marks})"  # noqa: S608


# An upsert, not INSERT OR REPLACE: columns that are not a part of the record, such as the time a
# dive went to the bin, keep what they hold.
_UPSERT_DIVE = _insert("", "dives", _COLUMNS) + (
    " ON CONFLICT (id) DO UPDATE SET "
    + ", ".join(f"{name} = excluded.{name}" for name in _COLUMNS if name != "id")
)

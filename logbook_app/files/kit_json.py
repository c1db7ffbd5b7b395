"""A diver's kit as JSON, and that JSON as kit again. It stands beside the dives of a logbook:

pieces   array; each has the fields of `KitItem`, days as ISO 8601, `intervals` with check, months, dives
         and hours, null for none
care     array; each has id, item_id, check, done_on, note; what was taken back does not leave
sets     array; each has id, name and item_ids
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from logbook_app.dive.kit import CareInterval, CareRecord, Check, KitItem, KitSet
from logbook_app.dive.problems import RefusedRecord
from logbook_app.files.read_dive import ReadKit
from logbook_app.language import _

Json = dict[str, Any]
_TEXTS = ("id", "name", "kind", "maker", "model", "serial", "currency", "notes")


def kit_to_json(kit: ReadKit) -> Json:
    """Return pieces, care and sets."""
    return {
        "pieces": [_item(item) for item in kit.items],
        "care": [_care(care) for care in kit.care],
        "sets": [{"id": each.id, "name": each.name, "item_ids": list(each.item_ids)} for each in kit.sets],
    }


def kit_from_json(told: Any) -> ReadKit:
    """Return the kit that `kit_to_json` wrote. Raises RefusedRecord where it is none."""
    try:
        return ReadKit(
            items=tuple(_item_from(each) for each in told.get("pieces", ())),
            care=tuple(_care_from(each) for each in told.get("care", ())),
            sets=tuple(_set_from(each) for each in told.get("sets", ())),
        )
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError) as error:
        what = (
            _("{name!r} is missing").format(name=error.args[0]) if isinstance(error, KeyError) else str(error)
        )
        raise RefusedRecord(_("its kit cannot be read: {what}").format(what=what)) from error


def _item(item: KitItem) -> Json:
    plain = {
        name: getattr(item, name) for name in (*_TEXTS, "price", "retired", "dives_before", "hours_before")
    }
    intervals = [
        {"check": each.check.value, "months": each.months, "dives": each.dives, "hours": each.hours}
        for each in item.intervals
    ]
    bought_on = item.bought_on.isoformat() if item.bought_on else None
    return plain | {"bought_on": bought_on, "intervals": intervals}


def _item_from(told: Mapping[str, Any]) -> KitItem:
    return KitItem(
        **{name: _text(told.get(name, "")) for name in _TEXTS if name not in ("id", "name")},
        id=_text(told["id"]),
        name=_text(told["name"]),
        bought_on=None if told.get("bought_on") is None else date.fromisoformat(told["bought_on"]),
        price=None if told.get("price") is None else float(told["price"]),
        retired=bool(told.get("retired", False)),
        dives_before=_count(told.get("dives_before", 0)),
        hours_before=float(told.get("hours_before", 0.0)),
        intervals=tuple(_interval_from(each) for each in told.get("intervals", ())),
    )


def _interval_from(told: Mapping[str, Any]) -> CareInterval:
    months, dives, hours = (told.get(name) for name in ("months", "dives", "hours"))
    return CareInterval(
        Check(told["check"]),
        months=None if months is None else _count(months),
        dives=None if dives is None else _count(dives),
        hours=None if hours is None else float(hours),
    )


def _care(care: CareRecord) -> Json:
    return {
        "id": care.id,
        "item_id": care.item_id,
        "check": care.check.value,
        "done_on": care.done_on.isoformat(),
        "note": care.note,
    }


def _care_from(told: Mapping[str, Any]) -> CareRecord:
    return CareRecord(
        id=_text(told["id"]),
        item_id=_text(told["item_id"]),
        check=Check(told["check"]),
        done_on=date.fromisoformat(told["done_on"]),
        note=_text(told.get("note", "")),
    )


def _set_from(told: Mapping[str, Any]) -> KitSet:
    return KitSet(
        id=_text(told["id"]),
        name=_text(told["name"]),
        item_ids=tuple(_text(each) for each in told.get("item_ids", ())),
    )


def _text(value: Any) -> str:
    """Return a text of whole characters; half of one could never be saved."""
    if not isinstance(value, str):
        raise RefusedRecord(
            _("its kit cannot be read: {value!r} is not a text").format(value=str(value)[:40])
        )
    if not value.isascii() and any("\ud800" <= letter <= "\udfff" for letter in value):
        raise RefusedRecord(_("its kit cannot be read: a text has half a character in it"))
    return value


def _count(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise RefusedRecord(
            _("its kit cannot be read: {value!r} is not a whole number").format(value=str(value)[:40])
        )
    return value

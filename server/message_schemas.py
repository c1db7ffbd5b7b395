"""The messages as JSON Schema, from the same annotations by which they are read (see sync/wire.py).

What is written down for others can therefore not drift from what is read. Beyond a schema go how deep
a carried value may be nested, and numbers that no JSON reader agrees on: those are refused with a sentence.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from types import NoneType, UnionType
from typing import Annotated, Any, Final, Union, get_args, get_origin, get_type_hints

from logbook_app.sync.messages import VERSION
from logbook_app.sync.wire import LARGEST_NUMBER, Matching, Within

Schema = dict[str, Any]

_ANY_NUMBER: Final = Within(-LARGEST_NUMBER, LARGEST_NUMBER)


def message_schema(name: str, kind: type[Any], *, told: bool) -> Schema:
    """Return the schema of a whole message.

    name   on the wire
    told   by the club, which leaves nothing out; a device may leave out what has a default
    """
    inner = object_schema(kind, whole=told)
    frame = {"leadline": {"const": VERSION}, "say": {"const": name}, "end": {"const": True}}
    return inner | {
        "title": kind.__name__,
        "description": _first_sentences(kind),
        "properties": frame | inner["properties"],
        "required": [*frame, *inner["required"]],
    }


def _first_sentences(kind: type[Any]) -> str:
    return " ".join((kind.__doc__ or "").partition("\n\n")[0].split())


def object_schema(kind: type[Any], *, whole: bool) -> Schema:
    """Return the schema of a dataclass; `whole` where every field is always there."""
    hints = get_type_hints(kind, include_extras=True)
    told = [each for each in fields(kind) if each.init]
    needed = [
        each.name for each in told if whole or (each.default is MISSING and each.default_factory is MISSING)
    ]
    properties = {each.name: schema_of(hints[each.name], whole=whole) for each in told}
    return {"type": "object", "properties": properties, "required": needed}


def schema_of(kind: Any, *, whole: bool) -> Schema:
    """Return the schema of a value of this annotation."""
    bounds: tuple[Any, ...] = ()
    if get_origin(kind) is Annotated:
        kind, *given = get_args(kind)
        bounds = tuple(given)
    if is_dataclass(kind) and isinstance(kind, type):
        return object_schema(kind, whole=whole)
    if kind is Any:
        return {}
    if get_origin(kind) in (tuple, frozenset):
        return _list_schema(kind, _one(bounds, Within(0, 5000)), whole)
    if get_origin(kind) is Mapping:
        return _mapping_schema(kind, _one(bounds, Within(0, 500)), whole)
    if get_origin(kind) in (Union, UnionType):
        others = [schema_of(each, whole=whole) for each in get_args(kind) if each is not NoneType]
        return {"anyOf": [*others, {"type": "null"}]}
    return _plain_schema(kind, bounds)


def _one(bounds: Iterable[Any], otherwise: Within) -> Within:
    return next((bound for bound in bounds if isinstance(bound, Within)), otherwise)


def _list_schema(kind: Any, within: Within, whole: bool) -> Schema:
    item = schema_of(get_args(kind)[0], whole=whole)
    return {"type": "array", "items": item, "minItems": within.least, "maxItems": within.most}


def _mapping_schema(kind: Any, within: Within, whole: bool) -> Schema:
    name, value = get_args(kind)
    return {
        "type": "object",
        "propertyNames": schema_of(name, whole=whole),
        "additionalProperties": schema_of(value, whole=whole),
        "minProperties": within.least,
        "maxProperties": within.most,
    }


def _plain_schema(kind: Any, bounds: tuple[Any, ...]) -> Schema:
    if kind is bool:
        return {"type": "boolean"}
    if kind is int:
        within = _one(bounds, _ANY_NUMBER)
        return {"type": "integer", "minimum": within.least, "maximum": within.most}
    if kind is bytes:
        most = _one(bounds, Within(0, 2**20)).most
        return {"type": "string", "contentEncoding": "base64", "maxLength": (most + 2) // 3 * 4}
    if pattern := next((bound.pattern.pattern for bound in bounds if isinstance(bound, Matching)), None):
        return {"type": "string", "pattern": f"^(?:{pattern})$"}
    within = _one(bounds, Within(0, 500))
    return {"type": "string", "minLength": within.least, "maxLength": within.most}

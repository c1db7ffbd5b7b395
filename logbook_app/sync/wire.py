"""Dataclasses as JSON, and JSON from a stranger as dataclasses or one refusal.

The annotations of a dataclass say what may stand in its message: a text and its pattern, a number
and its bounds, how many of something. `reader_of` turns them into a function once; reading a message
is then only calls. Keys that nobody knows are passed over, so that a later program may say more;
anything else that is not as annotated is refused, with the place where it stands.
"""

from __future__ import annotations

import base64
import binascii
import json
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, dataclass, fields, is_dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Final, TypeVar, Union, get_args, get_origin, get_type_hints

from logbook_app.dive.problems import RefusedMessage
from logbook_app.language import _

Reader = Callable[[Any, str], Any]
Message = TypeVar("Message")

DEEPEST: Final = 8
LARGEST_NUMBER: Final = 2**53  # every JSON reader agrees on whole numbers up to here
_HALF_CHARACTER: Final = re.compile("[\ud800-\udfff]")


@dataclass(frozen=True, slots=True)
class Matching:
    """A text that matches this pattern as a whole."""

    pattern: re.Pattern[str]


@dataclass(frozen=True, slots=True)
class Within:
    """A whole number, a length or a count within these bounds."""

    least: int
    most: int


AnyValue = Annotated[Any, "JSON"]  # a value that is carried, not understood
Whole = Annotated[int, Within(0, LARGEST_NUMBER)]
Words = Annotated[str, Within(0, 500)]


def parsed_json(data: bytes, largest: int) -> Any:
    """Return the JSON in bytes from a stranger. Raises RefusedMessage."""
    if len(data) > largest:
        raise RefusedMessage(f"A message of {len(data):,} bytes is too long; {largest:,} are read.")
    try:
        return json.loads(data.decode("utf-8"), parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise RefusedMessage(_("A message is not JSON, or broke off; try again.")) from error


def _no_number(word: str) -> None:
    raise ValueError(f"{word} is no number")


@cache
def reader_of(kind: Any) -> Reader:
    """Return the function that reads a value of this annotation, given the value and where it stands."""
    bounds: tuple[Any, ...] = ()
    if get_origin(kind) is Annotated:
        kind, *told = get_args(kind)
        bounds = tuple(told)
    if is_dataclass(kind):
        return _dataclass_reader(kind)
    if kind is Any:
        return lambda value, where: _checked_value(value, where, DEEPEST)
    if get_origin(kind) in (tuple, frozenset):
        return _several_reader(kind, _one(bounds, Within, Within(0, 5000)))
    if get_origin(kind) is Mapping:
        return _mapping_reader(kind, _one(bounds, Within, Within(0, 500)))
    if get_origin(kind) in (Union, UnionType):
        return _maybe_reader(kind)
    return _plain_reader(kind, bounds)


def _one(bounds: tuple[Any, ...], kind: type, otherwise: Any) -> Any:
    return next((bound for bound in bounds if isinstance(bound, kind)), otherwise)


def _plain_reader(kind: Any, bounds: tuple[Any, ...]) -> Reader:
    within = _one(bounds, Within, None)
    matching = _one(bounds, Matching, None)
    readers: dict[Any, Reader] = {
        bool: _read_bool,
        int: lambda value, where: _read_int(value, where, within or Within(-LARGEST_NUMBER, LARGEST_NUMBER)),
        str: _text_reader(within or Within(0, 500), matching),
        bytes: lambda value, where: _read_bytes(value, where, within or Within(0, 2**20)),
    }
    return readers[kind]


def _read_bool(value: Any, where: str) -> bool:
    if not isinstance(value, bool):
        raise _refused(where, "is not true or false")
    return value


def _read_int(value: Any, where: str, within: Within) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise _refused(where, "is not a whole number")
    if not within.least <= value <= within.most:
        raise _refused(where, f"is not between {within.least} and {within.most}")
    return value


def _text_reader(within: Within, matching: Matching | None) -> Reader:
    least, most = within.least, within.most
    matches = matching.pattern.fullmatch if matching else None

    def read(value: Any, where: str) -> str:
        if not isinstance(value, str) or not least <= len(value) <= most:
            raise _refused(where, f"is not a text of at most {most} characters")
        if matches and not matches(value):
            raise _refused(where, "is not written as it has to be")
        if not value.isascii() and _HALF_CHARACTER.search(value):
            raise _refused(where, "has half a character in it")
        return value

    return read


def _read_bytes(value: Any, where: str, within: Within) -> bytes:
    try:
        data = base64.b64decode(value, validate=True) if isinstance(value, str) else None
    except (binascii.Error, ValueError):
        data = None
    if data is None or not within.least <= len(data) <= within.most:
        raise _refused(where, f"is not at most {within.most} bytes in base 64")
    return data


def _checked_value(value: Any, where: str, depth: int) -> Any:
    """Return a value that is carried: finite, whole characters, not nested without end."""
    if depth < 0:
        raise _refused(where, "is nested too deep")
    if isinstance(value, dict):
        for name, each in value.items():
            _checked_value(name, where, 0)
            _checked_value(each, where, depth - 1)
    elif isinstance(value, list):
        for each in value:
            _checked_value(each, where, depth - 1)
    elif isinstance(value, str):
        if not value.isascii() and _HALF_CHARACTER.search(value):
            raise _refused(where, "has half a character in it")
    elif isinstance(value, float) and not math.isfinite(value):
        raise _refused(where, "is a number without end")
    elif isinstance(value, int) and abs(value) > LARGEST_NUMBER:
        raise _refused(where, "is too large a number")
    return value


def _several_reader(kind: Any, within: Within) -> Reader:
    of, made = get_args(kind), get_origin(kind)
    many = made is frozenset or of[-1] is Ellipsis
    readers = [reader_of(each) for each in (of[:1] if many else of)]

    def read(value: Any, where: str) -> Any:
        if not isinstance(value, list) or not within.least <= len(value) <= within.most:
            raise _refused(where, f"is not a list of at most {within.most}")
        if many:
            return made(readers[0](each, where) for each in value)
        if len(value) != len(readers):
            raise _refused(where, f"is not a list of {len(readers)}")
        return tuple(reader(each, where) for reader, each in zip(readers, value, strict=True))

    return read


def _mapping_reader(kind: Any, within: Within) -> Reader:
    read_name, read_value = map(reader_of, get_args(kind))

    def read(value: Any, where: str) -> Any:
        if not isinstance(value, dict) or not within.least <= len(value) <= within.most:
            raise _refused(where, f"is not an object of at most {within.most} names")
        return {read_name(name, where): read_value(each, f"{where}, {name}") for name, each in value.items()}

    return read


def _maybe_reader(kind: Any) -> Reader:
    others = [each for each in get_args(kind) if each is not NoneType]
    reader = reader_of(others[0])
    return lambda value, where: None if value is None else reader(value, where)


def _dataclass_reader(kind: Any) -> Reader:
    hints = get_type_hints(kind, include_extras=True)
    told = [each for each in fields(kind) if each.init]
    readers = {each.name: reader_of(hints[each.name]) for each in told}
    needed = {each.name for each in told if _has_no_default(each)}

    def read(value: Any, where: str) -> Any:
        if not isinstance(value, dict):
            raise _refused(where, "is not an object")
        if missing := sorted(needed - value.keys()):
            raise _refused(where, f"lacks {missing[0]!r}")
        known = {name: reader(value[name], name) for name, reader in readers.items() if name in value}
        return kind(**known)

    return read


def _has_no_default(each: Field[Any]) -> bool:
    return each.default is MISSING and each.default_factory is MISSING


def _refused(where: str, what: str) -> RefusedMessage:
    return RefusedMessage(f"A message cannot be read: {where[:60]!r} {what}.")


def to_json(value: Any) -> Any:
    """Return a message, or what stands in one, as JSON can hold it."""
    kind: Any = type(value)
    return value if kind in _PLAIN else _writer(kind)(value)


_PLAIN: Final = frozenset({str, int, float, bool, NoneType})


@cache
def _writer(kind: Any) -> Callable[[Any], Any]:
    """Return the function that makes JSON of a value of this type."""
    if is_dataclass(kind):
        return _dataclass_writer(kind)
    if issubclass(kind, Mapping):
        return lambda value: {name: to_json(each) for name, each in value.items()}
    if issubclass(kind, frozenset):
        return sorted
    if issubclass(kind, tuple | list):
        return lambda value: [to_json(each) for each in value]
    return (lambda value: value) if issubclass(kind, str | int | float) else _in_base_64


def _dataclass_writer(kind: Any) -> Callable[[Any], Any]:
    names = tuple(each.name for each in fields(kind) if each.init)

    def write(value: Any) -> dict[str, Any]:
        told = {name: getattr(value, name) for name in names}
        return {name: each if type(each) in _PLAIN else to_json(each) for name, each in told.items()}

    return write


def _in_base_64(value: bytes) -> str:
    return base64.b64encode(value).decode()

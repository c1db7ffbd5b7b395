"""Arguments of the command line, read strictly: what is not understood is refused in a sentence."""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import Any

import click

from logbook_app.dive.record import GREATEST_DEPTH_M
from logbook_app.language import _, number
from logbook_app.physics.breathing_gas import BreathingGas, parse_gas

HIGHEST_PASS_M = 5500.0


class Instant(click.ParamType[Any]):
    """An ISO 8601 instant with offset, such as 2026-11-14T14:07+01:00."""

    name = "TIME"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        if isinstance(value, datetime):
            return value
        try:
            instant = datetime.fromisoformat(value)
        except ValueError:
            self.fail(
                _("{value!r} is not a time. Write it as 2026-11-14T14:07+01:00.").format(value=value),
                param,
                ctx,
            )
        if instant.tzinfo is None:
            self.fail(
                _("{value!r} has no offset from UTC. Write it as 2026-11-14T14:07+01:00.").format(
                    value=value
                ),
                param,
                ctx,
            )
        if not 1900 <= instant.year <= 2200:
            self.fail(_("{value!r} is outside the years 1900 to 2200.").format(value=value), param, ctx)
        return instant


class UtcOffset(click.ParamType[Any]):
    """An offset from UTC, such as +02:00; becomes minutes."""

    name = "+HH:MM"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        if isinstance(value, int):
            return value
        try:
            offset = datetime.fromisoformat(f"2000-01-01T00:00{value}").utcoffset()
        except ValueError:
            offset = None
        if offset is None:
            self.fail(
                _("{value!r} is not an offset. Write it as +02:00 or -05:00.").format(value=value), param, ctx
            )
        return round(offset.total_seconds() / 60)


class ClockShift(click.ParamType[Any]):
    """How far to move a clock, such as +01:00 or -24:00; becomes minutes."""

    name = "+HH:MM"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        if isinstance(value, int):
            return value
        match = re.fullmatch(r"([+-])(\d{1,4}):([0-5]\d)", str(value))
        if match is None:
            self.fail(
                _("{value!r} is not a shift. Write it as +01:00 or -24:00.").format(value=value), param, ctx
            )
        minutes = int(match[2]) * 60 + int(match[3])
        return -minutes if match[1] == "-" else minutes


class Gas(click.ParamType[Any]):
    """A breathing gas: air, 32, 18/45, oxygen."""

    name = "GAS"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> BreathingGas:
        if isinstance(value, BreathingGas):
            return value
        try:
            return parse_gas(str(value))
        except ValueError as error:
            self.fail(str(error), param, ctx)


class Day(click.ParamType[Any]):
    """A day, such as 2026-11-14."""

    name = "YYYY-MM-DD"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except ValueError:
            self.fail(_("{value!r} is not a day. Write it as 2026-11-14.").format(value=value), param, ctx)


class Depth(click.ParamType[Any]):
    """A depth in metres."""

    name = "M"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        try:
            depth_m = float(value)
        except ValueError:
            self.fail(_("{value!r} is not a depth. Write metres, as in 18.").format(value=value), param, ctx)
        if not 0 <= depth_m <= GREATEST_DEPTH_M:
            self.fail(
                _("{value!r} is outside 0 to {deepest} m.").format(
                    value=value, deepest=number(GREATEST_DEPTH_M, "g")
                ),
                param,
                ctx,
            )
        return depth_m


class Depths(click.ParamType[Any]):
    """Depths in metres with commas between, as in 12,18,30."""

    name = "M,M,..."

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> list[float]:
        if isinstance(value, list):
            return value
        try:
            depths_m = [float(part) for part in str(value).split(",")]
        except ValueError:
            self.fail(
                _("{value!r}: write metres with commas between, as in 12,18,30.").format(value=value),
                param,
                ctx,
            )
        if not all(0 < depth_m <= GREATEST_DEPTH_M for depth_m in depths_m):
            self.fail(
                _("{value!r}: each must lie between 0 and {deepest} m.").format(
                    value=value, deepest=number(GREATEST_DEPTH_M, "g")
                ),
                param,
                ctx,
            )
        return depths_m


class Elevation(click.ParamType[Any]):
    """An elevation in metres above sea level, 0 to 5,500."""

    name = "M"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        try:
            elevation_m = float(value)
        except ValueError:
            self.fail(
                _("{value!r} is not an elevation. Write metres, as in 1800.").format(value=value), param, ctx
            )
        if not 0 <= elevation_m <= HIGHEST_PASS_M:
            self.fail(
                _("{value!r} is outside 0 to {highest} m.").format(
                    value=value, highest=number(HIGHEST_PASS_M, "g")
                ),
                param,
                ctx,
            )
        return elevation_m

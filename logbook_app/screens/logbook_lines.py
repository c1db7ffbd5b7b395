"""What the Logbook room says: one row for each dive, and the counts above them. No Kivy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from logbook_app.analysis.spoken_times import clock_time, date_alone, date_this_year, full_date
from logbook_app.analysis.spoken_units import NARROW_SPACE, SpokenUnits, spoken_duration
from logbook_app.dive.record import Dive
from logbook_app.language import _

if TYPE_CHECKING:
    from logbook_app.logbook import DiveRow

NO_SITE = "No site written down"


@dataclass(frozen=True, slots=True)
class RowWords:
    """What one row says, in the diver's units; `chosen` is handed back when it is tapped.

    site, line    at the left, one above the other
    depth, time   at the right; `action` stands in place of the depth where a tap does something else
    outline       the small picture: one byte a column, 0 at the surface, 255 at the greatest depth
    """

    chosen: str
    site: str
    line: str
    depth: str
    time: str
    outline: bytes = b""
    action: str = ""


def row_words(row: DiveRow, units: SpokenUnits, narrow: bool) -> RowWords:
    """Return what the list says about a dive; a narrow window leaves out weekday and time of day."""
    parts = [
        f"{row.number}" if row.number is not None else "",
        "estimate" if row.estimate else "",
        _when(row.began_local, narrow),
        f"dive of {row.diver}" if row.diver else "",
        f"with {', '.join(row.buddies)}" if row.buddies else "",
    ]
    return RowWords(
        chosen=row.id,
        site=row.site or NO_SITE,
        line=" · ".join(part for part in parts if part),
        depth=units.depth(row.max_depth_m),
        time=spoken_duration(row.duration_min),
        outline=row.outline,
    )


def binned_words(dive: Dive, binned_at: datetime, units: SpokenUnits) -> RowWords:
    """Return what the list of deleted dives says about one of them."""
    deleted = binned_at.astimezone(dive.began_local.tzinfo)
    number = f"{dive.number} · " if dive.number is not None else ""
    size = f"{units.depth(dive.max_depth_m)}, {spoken_duration(dive.duration_min)}"
    return RowWords(
        chosen=dive.id,
        site=dive.site.name if dive.site else NO_SITE,
        line=f"{number}{_when(dive.began_local, narrow=True)} · {size}",
        depth="",
        time=_("deleted {date}").format(date=date_this_year(deleted)),
        action="Restore",
    )


def counts(rows: Sequence[DiveRow]) -> str:
    """Return how many dives the diver has and how long they were, and how many of others are kept."""
    own = [row for row in rows if not row.diver]
    hours = spoken_hours(sum(row.duration_min for row in own))
    others = len(rows) - len(own)
    parts = [
        f"{len(own):,} dive{'' if len(own) == 1 else 's'}".replace(",", "\u202f"),
        f"{hours} under water",
    ]
    if others:
        parts.append(f"{others} of buddies")
    return " · ".join(parts)


def spoken_hours(minutes: float) -> str:
    """Return time under water in hours and minutes however many there are: `162 h 04 min`."""
    whole = int(minutes)
    return f"{_grouped(whole // 60)} h {whole % 60:02d} min"


def _when(local: datetime, narrow: bool) -> str:
    if narrow:
        return date_alone(local)
    return f"{full_date(local)}, {clock_time(local)}"


def _grouped(count: int) -> str:
    return f"{count:,}".replace(",", NARROW_SPACE)

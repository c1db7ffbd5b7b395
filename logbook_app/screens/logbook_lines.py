"""What the Logbook room says: a row for each dive, a heading for each group, the counts. No Kivy."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Final, overload

from logbook_app.analysis.spoken_times import clock_time, date_alone, date_this_year, full_date
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives, spoken_duration, thousands
from logbook_app.dive.record import Dive
from logbook_app.language import _, later, ngettext

if TYPE_CHECKING:
    from logbook_app.analysis.dive_catalogue import FoundDives, Sums
    from logbook_app.logbook import DiveRow

NO_SITE = later("No site written down")
NO_TRIP = later("Of no trip")

# What the box before a row says while dives are chosen.
OFF, ON, PART = "off", "on", "part"

_GROUP: Final = "group "  # before the number of a group, where a heading is touched; no dive has such an id
_ROWS_KEPT: Final = 400


@dataclass(frozen=True, slots=True)
class RowWords:
    """What one row says, in the diver's units; `chosen` is handed back when it is tapped.

    site, line    at the left, one above the other
    depth, time   at the right; `action` stands in place of the depth where a tap does something else
    outline       the small picture: one byte a column, 0 at the surface, 255 at the greatest depth
    mark          `off`, `on` or `part` for a box to choose it by; empty for none
    heading       True where it stands above a group of dives
    """

    chosen: str
    site: str
    line: str
    depth: str
    time: str
    outline: bytes = b""
    action: str = ""
    mark: str = ""
    heading: bool = False


class FoundLines(Sequence[RowWords]):
    """The lines of dives that were found, headings among them; each is put into words when it shows.

    narrow   leaves out weekday and time of day
    chosen   ids of the dives that are chosen now; None where none can be
    """

    def __init__(
        self, found: FoundDives, units: SpokenUnits, narrow: bool, chosen: Collection[str] | None = None
    ) -> None:
        self.found = found
        self._units, self._narrow = units, narrow
        self._chosen: Collection[str] = () if chosen is None else chosen
        self._choosing = chosen is not None
        self._headings = [int(start) + number for number, start in enumerate(found.groups.starts)]
        self._kept: dict[int, RowWords] = {}

    def __len__(self) -> int:
        return len(self.found) + len(self._headings)

    @overload
    def __getitem__(self, line: int) -> RowWords: ...
    @overload
    def __getitem__(self, line: slice) -> list[RowWords]: ...
    def __getitem__(self, line: int | slice) -> RowWords | list[RowWords]:
        if isinstance(line, slice):
            return [self[at] for at in range(*line.indices(len(self)))]
        words = self._kept.get(line)
        if words is None:
            if not 0 <= line < len(self):
                raise IndexError(line)
            if len(self._kept) >= _ROWS_KEPT:
                self._kept.clear()
            words = self._kept[line] = self._words(line)
        return words

    def ids_of(self, chosen: str) -> list[str]:
        """Return the ids of the dives that a touched line stands for: one, or a whole group."""
        if not chosen.startswith(_GROUP):
            return [chosen]
        group = self.found.groups[int(chosen.removeprefix(_GROUP))]
        return [self.found.row(at).id for at in range(group.start, group.start + group.count)]

    def _words(self, line: int) -> RowWords:
        before = bisect_right(self._headings, line)
        if before and self._headings[before - 1] == line:
            words = self._heading(before - 1)
        else:
            words = row_words(self.found.row(line - before), self._units, self._narrow)
        return replace(words, mark=self._mark(words.chosen)) if self._choosing else words

    def _heading(self, number: int) -> RowWords:
        group = self.found.groups[number]
        deepest = self._units.depth(group.sums.deepest_m) if group.sums.dives else ""
        return RowWords(
            chosen=f"{_GROUP}{number}",
            site=group.name or _(NO_TRIP),
            line=sums_words(group.sums),
            depth=deepest,
            time=_("deepest") if deepest else "",
            heading=True,
        )

    def _mark(self, chosen: str) -> str:
        ids = self.ids_of(chosen)
        held = sum(dive_id in self._chosen for dive_id in ids)
        return OFF if not held else ON if held == len(ids) else PART


def row_words(row: DiveRow, units: SpokenUnits, narrow: bool) -> RowWords:
    """Return what the list says about a dive; a narrow window leaves out weekday and time of day."""
    parts = [
        f"{row.number}" if row.number is not None else "",
        _("estimate") if row.estimate else "",
        _when(row.began_local, narrow),
        _("dive of {name}").format(name=row.diver) if row.diver else "",
        _("with {names}").format(names=", ".join(row.buddies)) if row.buddies else "",
    ]
    return RowWords(
        chosen=row.id,
        site=row.site or _(NO_SITE),
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
        site=dive.site.name if dive.site else _(NO_SITE),
        line=f"{number}{_when(dive.began_local, narrow=True)} · {size}",
        depth="",
        time=_("deleted {date}").format(date=date_this_year(deleted)),
        action=_("Restore"),
    )


def counts(found: FoundDives) -> str:
    """Return how many dives were found and how long they were; of how many, where some were left out."""
    in_all = len(found.catalogue.rows)
    if len(found) == in_all:
        return sums_words(found.sums)
    shown = ngettext("{count} of {all} dive", "{count} of {all} dives", in_all)
    parts = [shown.format(count=thousands(len(found)), all=thousands(in_all))]
    if found.sums.dives:
        parts.append(spoken_hours(found.sums.minutes))
    return " · ".join(parts)


def sums_words(sums: Sums) -> str:
    """Return how many dives the diver has and how long they were, and how many of others are kept."""
    parts = [
        ngettext("{count} dive", "{count} dives", sums.dives).format(count=thousands(sums.dives)),
        _("{hours} under water").format(hours=spoken_hours(sums.minutes)),
    ]
    if sums.others:
        parts.append(_("and {count} by other divers").format(count=thousands(sums.others)))
    return " · ".join(parts)


def chosen_words(count: int) -> str:
    """Return how many dives are chosen."""
    return _("{dives} chosen").format(dives=spoken_dives(count)) if count else _("Touch the dives you want.")


def spoken_hours(minutes: float) -> str:
    """Return time under water in hours and minutes however many there are: `162 h 04 min`."""
    whole = int(minutes)
    return f"{thousands(whole // 60)} h {whole % 60:02d} min"


def _when(local: datetime, narrow: bool) -> str:
    if narrow:
        return date_alone(local)
    return f"{full_date(local)}, {clock_time(local)}"

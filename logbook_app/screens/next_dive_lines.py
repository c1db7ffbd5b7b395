"""The next dive by depth as words, without a window: a plain function of the table."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from logbook_app.analysis.next_dive_table import (
    BestMix,
    DepthRow,
    Heaviness,
    NextDiveTable,
    why_no_table,
)
from logbook_app.analysis.physics_sentences import gas_title, said
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_duration
from logbook_app.language import _, later, number
from logbook_app.physics.gas_density import HIGHEST_DENSITY_G_L, RECOMMENDED_DENSITY_G_L
from logbook_app.physics.repetitive_group import OutsideTables
from logbook_app.screens import wording

_HEAVY = {
    Heaviness.ABOVE_RECOMMENDED: later("{density}, dense"),
    Heaviness.ABOVE_HIGHEST: later("{density}, too dense"),
}


@dataclass(frozen=True, slots=True)
class DepthLine:
    """One depth in words.

    marked   True where the gas is not to be breathed there
    """

    depth: str
    no_stop: str
    table: str
    ppo2: str
    clock: str
    density: str
    air_depth: str
    marked: bool

    @property
    def rest(self) -> str:
        """All but depth, no-stop time and table, in one line for a narrow page."""
        adds = bool(self.clock) and self.clock != _("nothing")
        clock = _("clock plus {clock}").format(clock=self.clock) if adds else ""
        air = _("as air at {depth}").format(depth=self.air_depth) if self.air_depth else ""
        parts = (self.ppo2, clock, self.density, air)
        return " · ".join(wording.unbroken(part) for part in parts if part)


@dataclass(frozen=True, slots=True)
class Fact:
    """A label and a figure."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class NextDiveLines:
    """The first part of the page.

    begins      when the dive would begin, and how far from now
    facts       what the diver brings then, and how deep the gas goes
    has_air     True where a column tells the depth on air
    notes       what the columns rest on, and why a column is empty
    best        the richest mix for the chosen depth
    """

    begins: str
    facts: tuple[Fact, ...]
    rows: tuple[DepthLine, ...]
    has_air: bool
    notes: str
    best: str


def next_dive_lines(
    table: NextDiveTable, now: datetime, ppo2_limit_bar: float, units: SpokenUnits
) -> NextDiveLines:
    """Return the table in words.

    now   by the clock on the dock
    """
    rows = tuple(_line(row, units) for row in table.rows)
    return NextDiveLines(
        begins=begins_words(table.at.astimezone(now.tzinfo), now),
        facts=_facts(table),
        rows=rows,
        has_air=any(row.air_depth for row in rows),
        notes=" ".join(_notes(table, ppo2_limit_bar)),
        best=best_words(table.best, ppo2_limit_bar, units),
    )


def begins_words(at: datetime, now: datetime) -> str:
    """Return when the dive would begin: `now, at 14:07` or `at Sun 09:00, in 18 h 53 min`."""
    wait_min = (at - now).total_seconds() / 60
    if wait_min < 1:
        return _("Begins now, at {when}").format(when=wording.soon(at, now))
    return _("Begins at {when}, in {wait}").format(
        when=wording.soon(at, now), wait=spoken_duration(math.ceil(wait_min - 1e-6))
    )


def best_words(best: BestMix, ppo2_limit_bar: float, units: SpokenUnits) -> str:
    """Return the richest mix for a depth, and what that depth is like on it."""
    limit = number(ppo2_limit_bar, ".2f")
    if best.gas is None or best.row is None:
        return _("None: even air has more oxygen than your limit of {limit} bar allows there.").format(
            limit=limit
        )
    row = _line(best.row, units)
    return _(
        "{gas}, at your limit of {limit} bar of oxygen: no-stop time {no_stop}; {rest}. A leaner mix "
        "leaves more room for error."
    ).format(gas=gas_title(best.gas), limit=limit, no_stop=row.no_stop, rest=row.rest)


def _facts(table: NextDiveTable) -> tuple[Fact, ...]:
    interval = _("no dive yet") if table.interval_min is None else spoken_duration(table.interval_min)
    return (
        Fact(_("Surface interval then"), interval),
        Fact(_("Residual load then"), percent(table.load)),
        Fact(_("Oxygen clock then"), percent(table.carried.cns_fraction)),
    )


def _line(row: DepthRow, units: SpokenUnits) -> DepthLine:
    limit = row.limit
    return DepthLine(
        depth=units.round_depth(limit.depth_m),
        no_stop=_no_stop(row),
        table=_table(row),
        ppo2=number(limit.ppo2_bar, ".2f") + " bar O₂",
        clock="" if limit.beyond_gas else _clock(row.clock_fraction),
        density=_density(row),
        air_depth="" if row.equivalent_air_m is None else units.depth(row.equivalent_air_m),
        marked=limit.beyond_gas or limit.too_lean,
    )


def _clock(fraction: float | None) -> str:
    if fraction is None:
        return ""
    return percent(fraction) if fraction > 0 else _("nothing")


def _density(row: DepthRow) -> str:
    density = number(row.density_g_l, ".1f") + " g/L"
    return _(_HEAVY[row.heaviness]).format(density=density) if row.heaviness in _HEAVY else density


def _no_stop(row: DepthRow) -> str:
    if row.limit.beyond_gas:
        return _("beyond the gas")
    return _("too little oxygen") if row.limit.too_lean else wording.no_stop(row.limit.no_stop_min)


def _table(row: DepthRow) -> str:
    if isinstance(row.table_min, OutsideTables):
        return _("no answer")
    if math.isinf(row.table_min):
        return _("unlimited")
    return f"{row.table_min:.0f} min" if row.table_min else _("none")


def _notes(table: NextDiveTable, ppo2_limit_bar: float) -> list[str]:
    notes = [
        _(
            "No-stop time: ZH-L16C with gradient factors {factors}, at once to depth, straight to the "
            "surface, no reserve for error; after your logged dives and no others."
        ).format(factors=table.limits.factors.name)
    ]
    if reason := why_no_table(table.rows):
        notes.append(_("US Navy table, another model: no answer. {reason}").format(reason=_(said(reason))))
    else:
        notes.append(
            _(
                "US Navy Revision 7 table, another model: longest bottom time, residual nitrogen time taken "
                "off. Never mix the two."
            )
        )
    notes.append(
        _(
            "The clock is what a stay to the no-stop time would add. Published guidance recommends gas up to "
            "{recommended} g/L and no denser than {highest} g/L."
        ).format(
            recommended=number(RECOMMENDED_DENSITY_G_L, ".1f"), highest=number(HIGHEST_DENSITY_G_L, ".1f")
        )
    )
    notes.append(
        _("Surface at {surface} bar; your limit is {limit} bar of oxygen.").format(
            surface=number(table.limits.surface_bar, ".3f"), limit=number(ppo2_limit_bar, ".2f")
        )
    )
    return notes

"""What the commands report, in words: one line a fact, the caution last."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from logbook_app.analysis.accident_record import WINDOW, AccidentRecord
from logbook_app.analysis.clock_shift import spoken_shift
from logbook_app.analysis.import_report import Offer
from logbook_app.analysis.next_dive import NextDive
from logbook_app.analysis.same_dive import JoinOffer
from logbook_app.analysis.spoken_times import clock_time, full_date
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_dives, spoken_duration
from logbook_app.analysis.surface_state import FlyTime, SurfaceState
from logbook_app.analysis.table_opinion import TABLE_NAME, table_words
from logbook_app.dive.record import Dive, on_the_dock
from logbook_app.logbook import DiveView, ImportReport, PastChange
from logbook_app.physics.compartments import ZHL16C

MOST_IDS_TOLD = 20

CAUTION = (
    "Figures of a model, not advice: they cannot know you. "
    "Your training, the local rules and a physician come first."
)


class _Instants:
    """Says instants by the clock on the dock, with the year, and whether they are over."""

    def __init__(self, now: datetime, offset_min: int) -> None:
        self._now, self._offset_min = now, offset_min

    def __call__(self, instant: datetime | None) -> str:
        if instant is None:
            return "never by this rule"
        over = ", over since" if instant <= self._now else ""
        local = on_the_dock(instant, self._offset_min)
        return f"{full_date(local)} {clock_time(local)}{over}"


def import_words(report: ImportReport) -> Iterator[str]:
    """Yield what an import did, what it offers and how to take it back; its problems are told apart."""
    counts = (len(report.added), len(report.already_there), len(report.joined))
    yield "Added {}, already there {}, joined {}.".format(*counts)
    yield from (note.sentence() for note in report.notes)
    yield from map(offer_words, report.offers)
    if report.import_id:
        yield f"To take all of it back: leadline undo-import {report.import_id}"


def offer_words(offer: Offer) -> str:
    """Return an offer and the command that takes it up."""
    if isinstance(offer, JoinOffer):
        return f"{offer.words} To make them one: leadline same-dive {offer.keep_id} {offer.other_id}"
    if len(offer.dive_ids) > MOST_IDS_TOLD:
        ids = "ID..., with the ids that leadline imports --json names"
    else:
        ids = " ".join(offer.dive_ids)
    return f"{offer.words} To move it: leadline shift-clock {spoken_shift(offer.minutes)} {ids}"


def past_change_words(past: PastChange) -> str:
    """Return an import, a join or a shift of clocks in one line."""
    if past.report is None:
        dives = spoken_dives(len(past.dives))
        what = {
            "join": "two records made one",
            "shift": f"clock moved, {dives}",
            "delete": f"deleted, {dives}",
            "tags": f"tags changed, {dives}",
        }.get(past.kind, past.kind)
    else:
        what = f"import, {len(past.report.added)} added, {len(past.report.joined)} joined"
    undone = f", taken back {past.undone_at:%Y-%m-%d %H:%M} UTC" if past.undone_at else ""
    return f"{past.id:>5}  {past.at:%Y-%m-%d %H:%M} UTC  {what}{undone}"


def dive_line(dive: Dive, units: SpokenUnits) -> str:
    """Return a dive in one line, its id at the end."""
    number = f"#{dive.number}" if dive.number is not None else ""
    words = [dive.site.name if dive.site else "", ", ".join(dive.buddies), dive.gas_words]
    words += ["estimate"] * dive.estimate + [f"dive of {dive.diver}"] * bool(dive.diver)
    told = " · ".join(word for word in words if word)
    depth, minutes = units.depth(dive.max_depth_m), spoken_duration(dive.duration_min)
    return f"{number:>5}  {dive.began_local:%Y-%m-%d %H:%M}  {depth:>7}  {minutes:>10}  {told}  {dive.id}"


def dive_words(view: DiveView, units: SpokenUnits) -> Iterator[str]:
    """Yield a dive and what it shows, line by line."""
    yield dive_line(view.dive, units)
    for finding in view.findings:
        yield f"  {finding.lead} {finding.words}"
    yield f"  {TABLE_NAME}, another model. {table_words(view.analysis.table)}"
    yield CAUTION


def limits_words(found: NextDive, units: SpokenUnits) -> Iterator[str]:
    """Yield the next dive's limits, a depth a line."""
    yield f"On {found.gas.name}; greatest depth for the gas {units.depth(found.mod_m)}."
    yield (
        f"From {found.at:%Y-%m-%d %H:%M %z}, surface at {found.surface_bar:.3f} bar, "
        f"gradient factors {found.factors.name}, at once to depth."
    )
    for row in found.rows:
        limit = "no limit within 24 h" if row.no_stop_min is None else f"{int(row.no_stop_min)} min"
        mark = "  over your oxygen limit" if row.beyond_gas else "  too little oxygen" * row.too_lean
        yield f"{units.depth(row.depth_m):>9}  {limit:>20}  ppO2 {row.ppo2_bar:.2f} bar{mark}"
    yield CAUTION


def surface_words(
    state: SurfaceState, offset_min: int, units: SpokenUnits, over: FlyTime | None = None
) -> Iterator[str]:
    """Yield the state between dives, a fact a line; `over` is a pass that was asked for."""
    fly = state.fly
    if state.after is None or fly is None:
        yield "No dive has been logged before this instant. Import one, or write one down in the app."
        return
    half_time = f"compartment of {state.half_time_min[state.leading_compartment]:g} min"
    say = _Instants(state.at, offset_min)
    facts = [
        ("Surface interval", spoken_duration(state.surface_interval_min or 0)),
        ("Residual load", f"{percent(state.load_now)} of the surfacing limit, {half_time}"),
        (
            "Clear",
            f"{say(state.clear_at)}: every compartment at 5 % or less, {_last(state.clear_compartment)}",
        ),
        ("Time to fly", f"{say(fly.at)}, cabin at {units.elevation(fly.elevation_m)}"),
        *_by_rule(fly, say),
        ("Repetitive group", f"{_group(state)} ({TABLE_NAME}, another model than the load)"),
        ("Oxygen", _oxygen(state)),
    ]
    if over is not None:
        facts += [
            ("Over the pass", f"{say(over.at)}, at {units.elevation(over.elevation_m)}"),
            *_by_rule(over, say),
        ]
    yield from (f"{name:<18}{words}" for name, words in facts)
    if state.rests_on_estimate:
        yield "Rests in part on an estimate: a dive without samples counts as a square profile."
    yield CAUTION


def _by_rule(fly: FlyTime, say: _Instants) -> list[tuple[str, str]]:
    """Return each rule's answer, the governing one first named."""
    guideline = f"{say(fly.guideline_at)}, after {fly.guideline_rule.value}"
    if fly.guideline_at is None:
        guideline = "does not speak of elevations under 610 m"
    return [
        ("  governed by", fly.governing_words),
        ("  guideline", guideline),
        ("  table", _table(fly, say)),
        ("  model", f"{say(fly.model_at)}, {_last(fly.model_compartment)}; never advice by itself"),
    ]


def _last(compartment: int) -> str:
    return f"that of {ZHL16C.n2_half_time_min[compartment]:g} min last"


def _oxygen(state: SurfaceState) -> str:
    day = f"in 24 h {percent(state.day_oxygen_fraction)} of the day's limit"
    return f"CNS {percent(state.cns_fraction)}, {day}, today {state.otu_today:.0f} OTU{_allowance(state)}"


def _allowance(state: SurfaceState) -> str:
    found = state.pulmonary
    if found is None:
        return ""
    days = "1 day" if found.days == 1 else f"{found.days} days in a row"
    return f"; {found.total_otu:.0f} of {found.allowed_otu} OTU allowed over {days}"


def _table(fly: FlyTime, say: _Instants) -> str:
    if fly.table_at is None:
        return f"no answer. {fly.table_outside}"
    return f"{say(fly.table_at)}, {TABLE_NAME}, by the highest group of 24 h"


def _group(state: SurfaceState) -> str:
    if state.table_outside:
        return f"not known. {state.table_outside}"
    return state.repetitive_group or "none, the next dive is no repetitive one"


def sheet_words(record: AccidentRecord, path: Path) -> Iterator[str]:
    """Yield what was written, and what comes before any paper."""
    dives, hours = spoken_dives(len(record.dives)), WINDOW.total_seconds() / 3600
    yield f"Wrote the sheet with {dives} of the last {hours:.0f} h to {path}."
    yield (
        "After any symptom: oxygen, the local emergency services and a diving medicine centre come first, "
        "whatever a figure says."
    )

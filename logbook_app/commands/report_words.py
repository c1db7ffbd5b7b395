"""What the commands report, in words: one line a fact, the caution last."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from logbook_app.analysis.accident_record import WINDOW, AccidentRecord
from logbook_app.analysis.clock_shift import spoken_shift
from logbook_app.analysis.import_report import Offer
from logbook_app.analysis.next_dive import NextDive
from logbook_app.analysis.physics_sentences import gas_words, gases_of, said
from logbook_app.analysis.same_dive import JoinOffer
from logbook_app.analysis.spoken_times import clock_time, full_date
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_dives, spoken_duration
from logbook_app.analysis.surface_state import FlyTime, SurfaceState
from logbook_app.analysis.table_opinion import table_name, table_words
from logbook_app.dive.problems import READ_CODES, TELL_COLUMNS, TELL_OFFSET, Problem
from logbook_app.dive.record import Dive, on_the_dock
from logbook_app.language import _, later, number
from logbook_app.logbook import DiveView, ImportReport, PastChange
from logbook_app.physics.compartments import ZHL16C

MOST_IDS_TOLD = 20

CAUTION = later(
    "Figures of a model, not advice: they cannot know you. Your training, the local rules "
    "and a physician come first."
)
_REMEDIES = {
    TELL_OFFSET: later(
        "If that is wrong, take the import back and read the file again with --utc-offset +HH:MM."
    ),
    TELL_COLUMNS: later("Or name its columns, as in --csv-columns time=1:s,depth=2:m."),
    READ_CODES: later("Or install zxing-cpp, which reads them."),
}


class _Instants:
    """Says instants by the clock on the dock, with the year, and whether they are over."""

    def __init__(self, now: datetime, offset_min: int) -> None:
        self._now, self._offset_min = now, offset_min

    def __call__(self, instant: datetime | None) -> str:
        if instant is None:
            return _("never by this rule")
        over = _(", over since") if instant <= self._now else ""
        local = on_the_dock(instant, self._offset_min)
        return f"{full_date(local)} {clock_time(local)}{over}"


def import_words(report: ImportReport) -> Iterator[str]:
    """Yield what an import did, what it offers and how to take it back; its problems are told apart."""
    yield _("Added {added}, already there {there}, joined {joined}.").format(
        added=len(report.added), there=len(report.already_there), joined=len(report.joined)
    )
    yield from (note.sentence() for note in report.notes)
    yield from map(offer_words, report.offers)
    if report.import_id:
        yield _("To take all of it back: leadline undo-import {import_id}").format(import_id=report.import_id)


def problem_words(problem: Problem) -> str:
    """Return a problem of an import in one line, with what can be done about it on the command line."""
    remedy = remedy_words(problem)
    sentence = problem.sentence()
    return f"{sentence}{'' if sentence.endswith('.') else '.'} {remedy}" if remedy else sentence


def remedy_words(problem: Problem) -> str:
    """Return what can be done about a problem on the command line, empty where there is nothing to say."""
    return _(_REMEDIES.get(problem.remedy, ""))


def offer_words(offer: Offer) -> str:
    """Return an offer and the command that takes it up."""
    if isinstance(offer, JoinOffer):
        return _("{words} To make them one: leadline same-dive {keep_id} {other_id}").format(
            words=offer.words, keep_id=offer.keep_id, other_id=offer.other_id
        )
    if len(offer.dive_ids) > MOST_IDS_TOLD:
        ids = _("ID..., with the ids that leadline imports --json names")
    else:
        ids = " ".join(offer.dive_ids)
    return _("{words} To move it: leadline shift-clock {shift} {ids}").format(
        words=offer.words, shift=spoken_shift(offer.minutes), ids=ids
    )


def past_change_words(past: PastChange) -> str:
    """Return an import, a join or a shift of clocks in one line."""
    if past.report is None:
        dives = spoken_dives(len(past.dives))
        what = {
            "join": _("two records made one"),
            "shift": _("clock moved, {dives}").format(dives=dives),
            "delete": _("deleted, {dives}").format(dives=dives),
            "tags": _("tags changed, {dives}").format(dives=dives),
        }.get(past.kind, past.kind)
    else:
        what = _("import, {added} added, {joined} joined").format(
            added=len(past.report.added), joined=len(past.report.joined)
        )
    undone = (
        _(", taken back {undone_at} UTC").format(undone_at=f"{past.undone_at:%Y-%m-%d %H:%M}")
        if past.undone_at
        else ""
    )
    return f"{past.id:>5}  {past.at:%Y-%m-%d %H:%M} UTC  {what}{undone}"


def dive_line(dive: Dive, units: SpokenUnits) -> str:
    """Return a dive in one line, its id at the end."""
    number = f"#{dive.number}" if dive.number is not None else ""
    words = [dive.site.name if dive.site else "", ", ".join(dive.buddies), gases_of(dive)]
    words += [_("estimate")] * dive.estimate + [_("dive of {diver}").format(diver=dive.diver)] * bool(
        dive.diver
    )
    told = " · ".join(word for word in words if word)
    depth, minutes = units.depth(dive.max_depth_m), spoken_duration(dive.duration_min)
    return f"{number:>5}  {dive.began_local:%Y-%m-%d %H:%M}  {depth:>7}  {minutes:>10}  {told}  {dive.id}"


def dive_words(view: DiveView, units: SpokenUnits) -> Iterator[str]:
    """Yield a dive and what it shows, line by line."""
    yield dive_line(view.dive, units)
    for finding in view.findings:
        yield f"  {finding.lead} {finding.words}"
    yield "  " + _("{table}, another model. {words}").format(
        table=table_name(), words=table_words(view.analysis.table)
    )
    yield _(CAUTION)


def limits_words(found: NextDive, units: SpokenUnits) -> Iterator[str]:
    """Yield the next dive's limits, a depth a line."""
    yield _("On {gas}; greatest depth for the gas {depth}.").format(
        gas=gas_words(found.gas), depth=units.depth(found.mod_m)
    )
    yield (
        _("From {at}, surface at {surface_bar} bar, gradient factors {name}, at once to depth.").format(
            at=f"{found.at:%Y-%m-%d %H:%M %z}",
            surface_bar=number(found.surface_bar, ".3f"),
            name=found.factors.name,
        )
    )
    for row in found.rows:
        limit = _("no limit within 24 h") if row.no_stop_min is None else f"{int(row.no_stop_min)} min"
        mark = (
            "  " + _("over your oxygen limit")
            if row.beyond_gas
            else ("  " + _("too little oxygen")) * row.too_lean
        )
        yield _("{depth}  {limit}  ppO2 {ppo2_bar} bar{mark}").format(
            depth=f"{units.depth(row.depth_m):>9}",
            limit=f"{limit:>20}",
            ppo2_bar=number(row.ppo2_bar, ".2f"),
            mark=mark,
        )
    yield _(CAUTION)


def surface_words(
    state: SurfaceState,
    offset_min: int,
    units: SpokenUnits,
    over: FlyTime | None = None,
    left_out: str = "",
) -> Iterator[str]:
    """Yield the state between dives, a fact a line.

    over      a pass that was asked for
    left_out  what is said of dives that are in no figure
    """
    yield from filter(None, [left_out])
    fly = state.fly
    if state.after is None or fly is None:
        yield _("No dive has been logged before this instant. Import one, or write one down in the app.")
        return
    half_time = _("compartment of {half_time_min} min").format(
        half_time_min=number(state.half_time_min[state.leading_compartment], "g")
    )
    say = _Instants(state.at, offset_min)
    facts = [
        (_("Surface interval"), spoken_duration(state.surface_interval_min or 0)),
        (
            _("Residual load"),
            _("{percent} of the surfacing limit, {half_time}").format(
                percent=percent(state.load_now), half_time=half_time
            ),
        ),
        (
            _("Clear"),
            _("{when}: every compartment at 5 % or less, {last}").format(
                when=say(state.clear_at), last=_last(state.clear_compartment)
            ),
        ),
        (
            _("Time to fly"),
            _("{when}, cabin at {elevation}").format(
                when=say(fly.at), elevation=units.elevation(fly.elevation_m)
            ),
        ),
        *_by_rule(fly, say),
        (
            _("Repetitive group"),
            _("{group} ({table}, another model than the load)").format(
                group=_group(state), table=table_name()
            ),
        ),
        (_("Oxygen"), _oxygen(state)),
    ]
    if over is not None:
        facts += [
            (
                _("Over the pass"),
                _("{when}, at {elevation}").format(
                    when=say(over.at), elevation=units.elevation(over.elevation_m)
                ),
            ),
            *_by_rule(over, say),
        ]
    yield from (f"{name:<18}{words}" for name, words in facts)
    if state.rests_on_estimate:
        yield _("Rests in part on an estimate: a dive without samples counts as a square profile.")
    yield _(CAUTION)


def _by_rule(fly: FlyTime, say: _Instants) -> list[tuple[str, str]]:
    """Return each rule's answer, the governing one first named."""
    guideline = _("{when}, after {what}").format(
        when=say(fly.guideline_at), what=said(fly.guideline_rule.value)
    )
    if fly.guideline_at is None:
        guideline = _("does not speak of elevations under 610 m")
    return [
        ("  " + _("governed by"), fly.governing_words),
        ("  " + _("guideline"), guideline),
        ("  " + _("table"), _table(fly, say)),
        (
            "  " + _("model"),
            _("{when}, {last}; never advice by itself").format(
                when=say(fly.model_at), last=_last(fly.model_compartment)
            ),
        ),
    ]


def _last(compartment: int) -> str:
    return _("that of {n2_half_time_min} min last").format(
        n2_half_time_min=number(ZHL16C.n2_half_time_min[compartment], "g")
    )


def _oxygen(state: SurfaceState) -> str:
    day = _("in 24 h {percent} of the day's limit").format(percent=percent(state.day_oxygen_fraction))
    return _("CNS {percent}, {day}, today {otu_today} OTU{allowance}").format(
        percent=percent(state.cns_fraction),
        day=day,
        otu_today=f"{state.otu_today:.0f}",
        allowance=_allowance(state),
    )


def _allowance(state: SurfaceState) -> str:
    found = state.pulmonary
    if found is None:
        return ""
    days = "1 day" if found.days == 1 else _("{days} days in a row").format(days=found.days)
    return _("; {total_otu} of {allowed_otu} OTU allowed over {days}").format(
        total_otu=f"{found.total_otu:.0f}", allowed_otu=found.allowed_otu, days=days
    )


def _table(fly: FlyTime, say: _Instants) -> str:
    if fly.table_at is None:
        return _("no answer. {table_outside}").format(table_outside=said(fly.table_outside))
    return _("{when}, {table}, by the highest group of 24 h").format(
        when=say(fly.table_at), table=table_name()
    )


def _group(state: SurfaceState) -> str:
    if state.table_outside:
        return _("not known. {table_outside}").format(table_outside=said(state.table_outside))
    return state.repetitive_group or _("none, the next dive is no repetitive one")


def sheet_words(record: AccidentRecord, path: Path) -> Iterator[str]:
    """Yield what was written, and what comes before any paper."""
    dives, hours = spoken_dives(len(record.dives)), WINDOW.total_seconds() / 3600
    yield _("Wrote the sheet with {dives} of the last {hours} h to {path}.").format(
        dives=dives, hours=f"{hours:.0f}", path=path
    )
    yield (
        _(
            "After any symptom: oxygen, the local emergency services and a diving medicine centre "
            "come first, whatever a figure says."
        )
    )

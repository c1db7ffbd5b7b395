"""What the commands report, as JSON: keys carry their units, times are ISO 8601 with offset."""

from __future__ import annotations

import math
from dataclasses import asdict
from datetime import datetime
from typing import Any

from logbook_app.analysis.accident_record import WINDOW, AccidentRecord
from logbook_app.analysis.import_report import Offer
from logbook_app.analysis.next_dive_table import NextDiveTable
from logbook_app.analysis.profile_repair import Mended
from logbook_app.analysis.same_dive import JoinOffer
from logbook_app.analysis.surface_state import FlyTime, SurfaceState
from logbook_app.analysis.table_opinion import TABLE_NAME
from logbook_app.analysis.way_up_series import WayUpSeries
from logbook_app.commands.report_words import CAUTION, remedy_words
from logbook_app.dive.problems import Problem
from logbook_app.dive.record import Dive, on_the_dock
from logbook_app.files.logbook_json import gas_to_json, numbers
from logbook_app.logbook import Changes, ImportReport, PastChange
from logbook_app.physics.oxygen_allowance import PulmonaryAllowance
from logbook_app.physics.repetitive_group import OutsideTables


def report_to_json(report: ImportReport) -> dict[str, Any]:
    return {
        "added": list(report.added),
        "already_there": list(report.already_there),
        "joined": list(report.joined),
        "problems": [_problem(problem) for problem in report.problems],
        "notes": [_problem(note) for note in report.notes],
        "offers": [offer_to_json(offer) for offer in report.offers],
        "import_id": report.import_id or None,
    }


def _problem(problem: Problem) -> dict[str, str | None]:
    return {
        "file": problem.file,
        "where": problem.where,
        "what": problem.what,
        "to_do": remedy_words(problem) or None,
    }


def offer_to_json(offer: Offer) -> dict[str, Any]:
    """Return an offer with the arguments of the command that would take it up."""
    if isinstance(offer, JoinOffer):
        return {"kind": "same-dive", "keep": offer.keep_id, "other": offer.other_id, "words": offer.words}
    dives = list(offer.dive_ids)
    return {"kind": "shift-clock", "minutes": offer.minutes, "dives": dives, "words": offer.words}


def past_change_to_json(past: PastChange) -> dict[str, Any]:
    return {
        "import_id": past.id,
        "kind": past.kind,
        "at": past.at.isoformat(),
        "undone_at": past.undone_at and past.undone_at.isoformat(),
        "dives": sorted(past.dives),
        "report": None if past.report is None else report_to_json(past.report),
    }


def changes_to_json(changes: Changes) -> dict[str, Any]:
    return {"dives": sorted(changes.dives), "import_id": changes.undo_id or None}


def edit_to_json(changes: Changes) -> dict[str, Any]:
    """Return the dives that were changed and the number of the change, null where nothing changed."""
    return {"dives": sorted(changes.dives), "change": changes.change_id or None}


def mended_to_json(mended: Mended) -> dict[str, Any]:
    return {
        name: getattr(mended, name) for name in ("kind", "from_s", "to_s", "recorded_m", "taken_m", "words")
    }


def way_up_to_json(found: WayUpSeries, *, with_series: bool) -> dict[str, Any]:
    """Return the way up where it was longest, and along the dive where that was asked for."""
    longest = found.longest
    stops = [] if longest is None else longest.stops
    plain = {
        "longest_at_s": found.longest_at_s,
        "longest_min": None if longest is None else longest.time_to_surface_min,
        "stops": [
            {"depth_m": stop.depth_m, "minutes": stop.minutes, "gas": gas_to_json(stop.gas)} for stop in stops
        ],
        "safety_stop": None if found.safety_stop is None else asdict(found.safety_stop),
    }
    if not with_series:
        return plain
    series = {name: numbers(getattr(found, name)) for name in ("time_s", "time_to_surface_min")}
    return plain | {"series": series}


def listed_dive_to_json(dive: Dive) -> dict[str, Any]:
    return {
        "id": dive.id,
        "number": dive.number,
        "began_at": dive.began_local.isoformat(),
        "duration_min": dive.duration_min,
        "max_depth_m": dive.max_depth_m,
        "site": dive.site.name if dive.site else None,
        "buddies": list(dive.buddies),
        "gas": dive.gas_words,
        "trip": dive.trip or None,
        "tags": list(dive.tags),
        "estimate": dive.estimate,
        "diver": dive.diver or None,
    }


def fly_to_json(fly: FlyTime | None, offset_min: int) -> dict[str, Any]:
    """Return when an elevation may be reached, by every rule; all null before any dive."""
    return {
        "elevation_m": fly.elevation_m if fly else None,
        "at": _local(fly.at if fly else None, offset_min),
        "guideline_at": _local(fly.guideline_at if fly else None, offset_min),
        "guideline_rule": fly.guideline_rule.value if fly else None,
        "table_at": _local(fly.table_at if fly else None, offset_min),
        "table_outside": (fly.table_outside or None) if fly else None,
        "model_at": _local(fly.model_at if fly else None, offset_min),
        "model_compartment": fly.model_compartment + 1 if fly else None,
        "governed_by": fly.governed_by if fly else None,
        "words": fly.governing_words if fly else None,
    }


def _allowance(found: PulmonaryAllowance | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {
        "days": found.days,
        "total_otu": found.total_otu,
        "allowed_otu": found.allowed_otu,
        "tomorrow_otu": found.tomorrow_otu,
    }


def surface_to_json(
    state: SurfaceState, offset_min: int, over: FlyTime | None = None, left_out: str = ""
) -> dict[str, Any]:
    """Return the state between dives.

    over      a pass that was asked for
    left_out  what is said of dives that are in no figure
    """
    rows = zip(state.half_time_min, state.n2_bar, state.he_bar, state.load, strict=True)
    fly = state.fly
    return {
        "at": _local(state.at, offset_min),
        "surface_interval_min": state.surface_interval_min,
        "dives_today": state.dives_today,
        "surface_bar": state.surface_bar,
        "compartments": [
            {"half_time_min": float(t), "n2_bar": float(n2), "he_bar": float(he), "load": float(load)}
            for t, n2, he, load in rows
        ],
        "load": state.load_now,
        "leading_compartment": state.leading_compartment + 1,
        "clear_at": _local(state.clear_at, offset_min),
        "clear_compartment": state.clear_compartment + 1 if state.clear_at else None,
        "fly_at": _local(fly.at if fly else None, offset_min),
        "fly": fly_to_json(fly, offset_min),
        "pass": None if over is None else fly_to_json(over, offset_min),
        "cns_fraction": state.cns_fraction,
        "day_oxygen_fraction": state.day_oxygen_fraction,
        "otu_today": state.otu_today,
        "otu_allowance": _allowance(state.pulmonary),
        "repetitive_group": state.repetitive_group,
        "repetitive_group_by": TABLE_NAME,
        "repetitive_group_outside": state.table_outside or None,
        "rests_on_estimate": state.rests_on_estimate,
        "left_out": left_out or None,
        "caution": CAUTION,
    }


def limits_to_json(table: NextDiveTable) -> list[dict[str, Any]]:
    """Return the next dive's limits, one object a depth; the US Navy's limit is another model's."""
    found = table.limits
    return [
        {
            "depth_m": row.limit.depth_m,
            "no_stop_min": row.limit.no_stop_min,
            "ppo2_bar": row.limit.ppo2_bar,
            "over_oxygen_limit": row.limit.beyond_gas,
            "too_little_oxygen": row.limit.too_lean,
            "cns_added_fraction": row.clock_fraction,
            "density_g_l": row.density_g_l,
            "equivalent_air_depth_m": row.equivalent_air_m,
            **_navy_to_json(row.table_min),
            "at": found.at.isoformat(),
            "surface_bar": found.surface_bar,
            "gradient_factors": [found.factors.low, found.factors.high],
            "mod_m": found.mod_m,
            "gas": gas_to_json(found.gas),
        }
        for row in table.rows
    ]


def _navy_to_json(limit_min: float | OutsideTables) -> dict[str, Any]:
    """Return the limit of the US Navy tables, None where they have none, and why."""
    if isinstance(limit_min, OutsideTables):
        return {"us_navy_no_stop_min": None, "us_navy_outside": limit_min.reason}
    return {"us_navy_no_stop_min": None if math.isinf(limit_min) else limit_min, "us_navy_outside": None}


def sheet_to_json(record: AccidentRecord) -> dict[str, Any]:
    """Return what a sheet for an accident was made from."""
    return {
        "at": record.at.isoformat(),
        "window_h": WINDOW.total_seconds() / 3600,
        "dives": [recent.view.dive.id for recent in record.dives],
        "intervals_before_min": [recent.interval_before_min for recent in record.dives],
    }


def _local(instant: datetime | None, offset_min: int) -> str | None:
    return None if instant is None else on_the_dock(instant, offset_min).isoformat()

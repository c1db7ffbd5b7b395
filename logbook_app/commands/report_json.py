"""What the commands report, as JSON: keys carry their units, times are ISO 8601 with offset."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from logbook_app.analysis.next_dive import NextDive
from logbook_app.analysis.surface_state import SurfaceState
from logbook_app.analysis.table_opinion import TABLE_NAME
from logbook_app.commands.report_words import CAUTION
from logbook_app.dive.record import Dive
from logbook_app.files.logbook_json import gas_to_json
from logbook_app.logbook import ImportReport


def report_to_json(report: ImportReport) -> dict[str, Any]:
    return {
        "added": list(report.added),
        "already_there": list(report.already_there),
        "joined": list(report.joined),
        "problems": [{"file": p.file, "where": p.where, "what": p.what} for p in report.problems],
    }


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
        "estimate": dive.estimate,
        "diver": dive.diver or None,
    }


def surface_to_json(state: SurfaceState, offset_min: int) -> dict[str, Any]:
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
        "fly_at": _local(fly.at if fly else None, offset_min),
        "fly": {
            "guideline_at": _local(fly.guideline_at if fly else None, offset_min),
            "guideline_rule": fly.guideline_rule.value if fly else None,
            "table_at": _local(fly.table_at if fly else None, offset_min),
            "table_outside": (fly.table_outside or None) if fly else None,
            "model_at": _local(fly.model_at if fly else None, offset_min),
            "governed_by": fly.governed_by if fly else None,
        },
        "cns_fraction": state.cns_fraction,
        "otu_today": state.otu_today,
        "repetitive_group": state.repetitive_group,
        "repetitive_group_by": TABLE_NAME,
        "repetitive_group_outside": state.table_outside or None,
        "rests_on_estimate": state.rests_on_estimate,
        "caution": CAUTION,
    }


def limits_to_json(found: NextDive) -> list[dict[str, Any]]:
    return [
        {
            "depth_m": row.depth_m,
            "no_stop_min": row.no_stop_min,
            "ppo2_bar": row.ppo2_bar,
            "over_oxygen_limit": row.beyond_gas,
            "mod_m": found.mod_m,
            "gas": gas_to_json(found.gas),
        }
        for row in found.rows
    ]


def _local(instant: datetime | None, offset_min: int) -> str | None:
    if instant is None:
        return None
    return instant.astimezone(timezone(timedelta(minutes=offset_min)) if offset_min else UTC).isoformat()

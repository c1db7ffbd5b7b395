"""What is mostly so on every dive of a day, taken over from the last dive with one touch.

Only what is not written yet is taken over, so that the touch may come first or last.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from logbook_app.analysis.field_words import cylinder_size
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.record import Dive
from logbook_app.screens.entry_draft import EntryDraft


def taken_again(draft: EntryDraft, last: Dive) -> EntryDraft:
    """Return a draft with gas, place, buddies, cylinder, weights and kit of the last dive."""
    taken: dict[str, Any] = {
        "site": last.site.name if last.site else "",
        "buddies": last.buddies,
        "volume_l": last.cylinders[0].volume_l if last.cylinders else None,
        "weights_kg": last.weights_kg,
        "kit": last.kit,
    }
    filled = replace(
        draft,
        **{
            name: value
            for name, value in taken.items()
            if value and getattr(draft, name) == getattr(EntryDraft(), name)
        },
    )
    gas = last.cylinders[0].gas if last.cylinders else None
    return filled.with_gas(gas) if gas is not None and draft.oxygen is None else filled


def again_words(last: Dive | None, unit_system: str) -> str:
    """Return what one touch would take over, empty where there is nothing."""
    if last is None:
        return ""
    units, cylinder = SpokenUnits(unit_system), last.cylinders[0] if last.cylinders else None
    parts = (
        cylinder.gas.name if cylinder and cylinder.gas else "",
        last.site.name if last.site else "",
        ", ".join(last.buddies),
        cylinder_size(cylinder, units) if cylinder else "",
        units.weight(last.weights_kg) if last.weights_kg else "",
        ", ".join(used.name for used in last.kit),
    )
    return " · ".join(part for part in parts if part)

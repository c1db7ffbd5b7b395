"""What `leadline kit` prints, in words and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from logbook_app.analysis.kit_due import KitDue, KitLine, KitUse, KitView
from logbook_app.analysis.kit_words import CARE_CAUTION, check_due_words, interval_words, line_words
from logbook_app.dive.kit import CareRecord
from logbook_app.language import _

Json = dict[str, Any]


def kit_report(view: KitView) -> Iterator[str]:
    """Yield each piece in one line, the most urgent first, what is due of it below; the caution last."""
    if not view.lines:
        yield _("No piece of kit is written down yet.")
        return
    for line in view.lines:
        yield f"{line.item.name}  {line_words(line)}"
        yield from (f"    {check_due_words(due)} ({interval_words(due.interval)})" for due in line.due)
    for kit_set in view.sets:
        pieces = (view.line(item_id) for item_id in kit_set.item_ids)
        names = ", ".join(piece.item.name for piece in pieces if piece)
        yield _("Set {name}: {pieces}").format(name=kit_set.name, pieces=names)
    yield _(CARE_CAUTION)


def kit_to_json(view: KitView) -> Json:
    """Return all kit on a day: the pieces, the most urgent first, and the sets."""
    return {
        "on": view.on.isoformat(),
        "pieces": [_line(line) for line in view.lines],
        "sets": [{"id": each.id, "name": each.name, "pieces": list(each.item_ids)} for each in view.sets],
        "caution": _(CARE_CAUTION),
    }


def _line(line: KitLine) -> Json:
    item = line.item
    return {
        "id": item.id,
        "name": item.name,
        "kind": item.kind,
        "maker": item.maker,
        "model": item.model,
        "serial": item.serial,
        "bought_on": item.bought_on.isoformat() if item.bought_on else None,
        "price": item.price,
        "currency": item.currency,
        "notes": item.notes,
        "retired": item.retired,
        "use": _use(line.use),
        "due": [_due(due) for due in line.due],
        "care": [_care(care) for care in line.care],
    }


def _use(use: KitUse) -> Json:
    return {"dives": use.dives, "hours": use.hours}


def _due(due: KitDue) -> Json:
    return {
        "check": due.check.value,
        "state": due.urgency.name.lower().replace("_", " "),
        "words": check_due_words(due),
        "every": {"months": due.interval.months, "dives": due.interval.dives, "hours": due.interval.hours},
        "last_on": due.last_on.isoformat() if due.last_on else None,
        "due_on": due.due_on.isoformat() if due.due_on else None,
        "days_left": due.days_left,
        "dives_left": due.dives_left,
        "hours_left": due.hours_left,
        "since": _use(due.since),
    }


def _care(care: CareRecord) -> Json:
    return {"id": care.id, "check": care.check.value, "on": care.done_on.isoformat(), "note": care.note}

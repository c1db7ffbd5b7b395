"""What an import did, to be read at once, and again weeks later.

Nothing is joined, split, passed over or refused in silence. What was done is a note, what could not be done
or looks odd is a problem, and what the diver may want done is an offer; each is a sentence.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from logbook_app.analysis.clock_shift import ShiftOffer
from logbook_app.analysis.same_dive import JoinOffer
from logbook_app.dive.changes import Changes
from logbook_app.dive.problems import Problem

Offer = JoinOffer | ShiftOffer


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What an import did: ids of dives added, found again and joined, and everything to be said.

    problems   what is odd or could not be read
    notes      what was done beyond adding dives: recordings joined or split
    offers     what seems to be one dive twice, or recorded by a wrong clock; nothing was done about it
    import_id  takes the import back with `Logbook.undo_import`; 0 where it changed nothing
    """

    added: tuple[str, ...] = ()
    already_there: tuple[str, ...] = ()
    joined: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    cancelled: bool = False
    notes: tuple[Problem, ...] = ()
    offers: tuple[Offer, ...] = ()
    import_id: int = 0

    @property
    def changes(self) -> Changes:
        """What a screen has to show anew."""
        return Changes(
            frozenset(self.added + self.joined),
            totals=bool(self.added or self.joined),
            undo_id=self.import_id,
        )


@dataclass(frozen=True, slots=True)
class PastChange:
    """An import, a join or a shift of clocks that can be, or was, taken back.

    kind    `import`, `join`, `shift`, `delete` or `tags`
    dives   ids of every dive that it touched
    report  of an import, as it was told then; None for the others
    """

    id: int
    kind: str
    at: datetime
    undone_at: datetime | None
    dives: frozenset[str]
    report: ImportReport | None


def report_to_text(report: ImportReport) -> str:
    """Return a report as JSON text; `report_from_text` gives an equal one back."""
    kept = asdict(report)
    kept["offers"] = [[_kind(offer), asdict(offer)] for offer in report.offers]
    return json.dumps(kept)


def report_from_text(text: str) -> ImportReport:
    """Return the report kept in `text`."""
    kept: dict[str, Any] = json.loads(text)
    for name in ("added", "already_there", "joined"):
        kept[name] = tuple(kept[name])
    for name in ("problems", "notes"):
        kept[name] = tuple(Problem(**problem) for problem in kept[name])
    kept["offers"] = tuple(_offer(kind, fields) for kind, fields in kept["offers"])
    return ImportReport(**kept)


def _kind(offer: Offer) -> str:
    return "join" if isinstance(offer, JoinOffer) else "shift"


def _offer(kind: str, fields: dict[str, Any]) -> Offer:
    if kind == "join":
        return JoinOffer(**fields)
    return ShiftOffer(**fields | {"dive_ids": tuple(fields["dive_ids"])})

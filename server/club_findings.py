"""What officers look at in the dives that everybody may see: ascents, stops and gas, dive by dive.

Each dive is reckoned alone, as if its diver had long been at the surface: what was carried from the dive
before is the diver's own to know. Worked out once for what a dive says, and kept; an analysis takes some
milliseconds, so a page asks for a part and the next page for the rest.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Final

from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.findings import LITTLE_GAS_BAR
from logbook_app.dive.problems import LeadlineError
from logbook_app.sync.records import signed_digest
from logbook_app.sync.sign_offs import SIGNED_OF_A_DIVE
from server.reading import Reading, SeenDive
from server.register import Entry
from server.sql_club import SqlClub

MOST_AT_ONCE: Final = 100
FORM: Final = "1"  # of what is kept; another one is worked out anew


@dataclass(frozen=True, slots=True)
class DiveFindings:
    """What one dive shows. Without samples only the gas can be told."""

    samples: bool = False
    fast_ascent: bool = False
    required_stop: bool = False
    missed_stop: bool = False
    gas_told: bool = False
    low_gas: bool = False

    @property
    def anything(self) -> bool:
        """Whether there is something to look at."""
        return self.fast_ascent or self.required_stop or self.missed_stop or self.low_gas


@dataclass(frozen=True, slots=True)
class Found:
    """One dive with what it shows; None where nobody has looked yet."""

    entry: Entry
    findings: DiveFindings | None


class ClubFindings:
    """The findings of one club's dives."""

    def __init__(self, store: SqlClub) -> None:
        self._store, self._everybody = store, Reading(store, "")

    def of(self, entries: Iterable[Entry]) -> list[Found]:
        """Return what dives show, with at most so many looked at anew."""
        found: list[Found] = []
        new: list[tuple[str, str, str]] = []
        for entry in entries:
            seen = self._everybody.dive(entry.key)
            if seen is None:
                continue
            digest = f"{FORM} {signed_digest(seen.record, SIGNED_OF_A_DIVE)}"
            findings = self._kept(entry.key, digest)
            if findings is None and len(new) < MOST_AT_ONCE:
                findings = self._looked_at(seen)
                new.append((entry.key, digest, json.dumps(asdict(findings))))
            found.append(Found(entry, findings))
        self._keep(new)
        return found

    def _looked_at(self, seen: SeenDive) -> DiveFindings:
        ends_bar = [each.end_bar for each in seen.shown.cylinders if each.end_bar is not None]
        gas = {"gas_told": bool(ends_bar), "low_gas": any(bar < LITTLE_GAS_BAR for bar in ends_bar)}
        profile = self._everybody.profile(seen)
        if profile is None:
            return DiveFindings(**gas)
        try:
            told = analyse(seen.dive, profile, nothing_carried(seen.dive), Rules())
        except LeadlineError:  # samples that cannot be reckoned with
            return DiveFindings(**gas)
        return DiveFindings(
            samples=True,
            fast_ascent=bool(told.fast_ascents),
            required_stop=told.required_stops,
            missed_stop=bool(told.missed.stops),
            **gas,
        )

    def _kept(self, key: str, digest: str) -> DiveFindings | None:
        query = "SELECT content FROM kept_findings WHERE club = ? AND key = ? AND digest = ?"
        row = self._store.database.one(query, self._store.number, key, digest)
        return DiveFindings(**json.loads(row[0])) if row else None

    def _keep(self, new: list[tuple[str, str, str]]) -> None:
        if not new:
            return
        with self._store.change():
            for key, digest, content in new:
                self._store.database.run(
                    "INSERT INTO kept_findings (club, key, digest, content) VALUES (?, ?, ?, ?)"
                    " ON CONFLICT (club, key) DO UPDATE SET digest = excluded.digest,"
                    " content = excluded.content",
                    self._store.number, key, digest, content,
                )  # fmt: skip

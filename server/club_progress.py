"""What the dives that members show amount to: experience, and progress toward requirements.

Worked out from what everybody may see, so that every viewer reads the same figures; kept in the database
until something of the member moves or another day begins. What is kept can be worked out again, always.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, field
from datetime import date, timedelta
from functools import lru_cache
from typing import Any, Final

from logbook_app.analysis.experience import SetAnswer, Verdict, progress_toward
from logbook_app.analysis.experience_columns import ExperienceColumns, experience_columns
from logbook_app.analysis.experience_reader import parse_requirements
from logbook_app.analysis.experience_rules import RequirementSet
from logbook_app.dive.credentials import Certificate, Confirmation, DiverFacts
from logbook_app.dive.record import Dive
from logbook_app.shipped_requirements import shipped_requirements
from logbook_app.sync.changes import digest_of
from logbook_app.sync.records import read_as, values_from
from logbook_app.sync.shown_dives import SHOWN
from logbook_app.sync.sign_offs import SIGN_OFF
from server.reading import Reading, SeenDive, SeenSignOff
from server.register import Register
from server.roles import Member
from server.sql_club import SqlClub

YEAR: Final = timedelta(days=365)
_ASKED: Final = (
    "began_at", "utc_offset_min", "duration_min", "max_depth_m", "role", "environments", "visibility_m",
    "lowest_temperature_c", "elevation_m",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Experience:
    """What a member's shown dives amount to.

    in_a_year   dives within the last 365 days
    last_day    ISO 8601, empty where there is no dive
    """

    dives: int = 0
    minutes: float = 0.0
    deepest_m: float = 0.0
    in_a_year: int = 0
    last_day: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """One cell of the matrix: have and need are dives, or minutes where only time is asked."""

    requirement: str
    verdict: Verdict
    have: float = 0
    need: float = 0


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was looked at for a member."""

    dives: Mapping[str, SeenDive]
    signed: tuple[SeenSignOff, ...]
    columns: ExperienceColumns = field(repr=False)
    facts: DiverFacts


class ClubProgress:
    """The figures of one club.

    today   by the club's clock
    """

    def __init__(self, store: SqlClub, register: Register, today: date) -> None:
        self._store, self._register, self._today = store, register, today
        self._everybody = Reading(store, "")
        self._new: list[tuple[int, int, str, str, str, str]] = []

    def experience(self, member: Member) -> Experience:
        """Return what a member's dives amount to."""
        told = self._kept(member, "experience", lambda: self._amounts(member), of_day=False)
        days = [date.fromordinal(day) for day in told["days"]]
        recent = sum(self._today - YEAR < day <= self._today for day in days)
        last_day = max(days).isoformat() if days else ""
        return Experience(len(days), told["minutes"], told["deepest_m"], recent, last_day)

    def marks(self, member: Member, rules: RequirementSet) -> list[Mark]:
        """Return where a member stands with each requirement of a set."""
        about = f"{rules.id} {digest_of(repr(rules))[:16]}"
        told = self._kept(member, about, lambda: [asdict(each) for each in self._marks(member, rules)])
        return [Mark(**{**each, "verdict": Verdict(each["verdict"])}) for each in told]

    def answer(
        self, member: Member, rules: RequirementSet, names: Callable[[str], str]
    ) -> tuple[SetAnswer, Evidence]:
        """Return the answer to every requirement of a set, with what was looked at."""
        evidence = self.evidence(member, names)
        return progress_toward(evidence.columns, evidence.facts, rules, self._today), evidence

    def evidence(self, member: Member, names: Callable[[str], str] = str) -> Evidence:
        """Return a member's dives and what was signed for them, as everybody may see it.

        names   gives what a member is called
        """
        seen, signed = self._dives(member), self._signed(member)
        watched = _supervised({key: each.shown.supervised for key, each in seen.items()}, signed)
        columns = experience_columns((each.dive for each in seen.values()), watched)
        return Evidence(seen, signed, columns, _facts(signed, names))

    def _dives(self, member: Member) -> dict[str, SeenDive]:
        keys = [each.key for each in self._register.of_owner(SHOWN, member.id, everybody=True)]
        return {each.key: each for each in self._everybody.dives(keys)}

    def _signed(self, member: Member) -> tuple[SeenSignOff, ...]:
        entries = self._register.for_whom(SIGN_OFF, member.id)
        return tuple(self._everybody.sign_offs(each.key for each in entries))

    def _amounts(self, member: Member) -> dict[str, Any]:
        dives = [each.dive for each in self._dives(member).values()]
        return {
            "days": [dive.began_local.date().toordinal() for dive in dives],
            "minutes": sum(dive.duration_min for dive in dives),
            "deepest_m": max((dive.max_depth_m for dive in dives), default=0.0),
        }

    def _asked_of(self, member: Member) -> list[list[Any]]:
        """Return of each dive what requirements ask of it: a small part of it, read much faster."""
        told = [(each, values_from(each.dive)) for each in self._dives(member).values()]
        return [
            [each.key, each.shown.supervised, {name: values[name] for name in _ASKED}]
            for each, values in told
        ]

    def _marks(self, member: Member, rules: RequirementSet) -> Iterable[Mark]:
        told = self._kept(member, "dives", lambda: self._asked_of(member), of_day=False)
        signed = self._signed(member)
        watched = _supervised({key: supervised for key, supervised, _asked in told}, signed)
        dives = (read_as(Dive, {"id": key, **asked}) for key, _supervised, asked in told)
        columns = experience_columns(dives, watched)
        for each in progress_toward(columns, _facts(signed, str), rules, self._today).answers:
            by_time = not each.need and each.need_min
            have, need = (each.have_min, each.need_min) if by_time else (each.have, each.need)
            yield Mark(each.requirement.id, each.verdict, have, need)

    def _kept(self, member: Member, about: str, work_out: Callable[[], Any], *, of_day: bool = True) -> Any:
        database, club, seq = self._store.database, self._store.number, self._register.moved_at(member.id)
        query = "SELECT seq, day, content FROM kept_answers WHERE club = ? AND member = ? AND about = ?"
        row = database.one(query, club, member.id, about)
        day = self._today.isoformat() if of_day else ""
        if row and (row[0], row[1]) == (seq, day):
            return json.loads(row[2])
        told = work_out()
        self._new.append((club, seq, member.id, about, day, json.dumps(told)))
        return told

    def keep(self) -> None:
        """Keep what was worked out, for the next time."""
        if not self._new:
            return
        with self._store.change():
            for row in self._new:
                self._store.database.run(
                    "INSERT INTO kept_answers (club, seq, member, about, day, content)"
                    " VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (club, member, about) DO UPDATE"
                    " SET seq = excluded.seq, day = excluded.day, content = excluded.content",
                    *row,
                )
        self._new.clear()


def club_requirements(store: SqlClub) -> tuple[RequirementSet, ...]:
    """Return the published sets, then the club's own."""
    return _parsed(tuple(club_files(store).items()))


@lru_cache(64)
def _parsed(files: tuple[tuple[str, str], ...]) -> tuple[RequirementSet, ...]:
    sets = shipped_requirements()
    for name, content in files:
        sets += parse_requirements(content, name, sets)
    return sets


def club_files(store: SqlClub) -> dict[str, str]:
    """Return the files in which a club wrote requirements of its own, in the order of their names."""
    query = "SELECT name, content FROM club_rules WHERE club = ? ORDER BY name"
    return dict(store.database.all(query, store.number))


def keep_file(store: SqlClub, name: str, content: str) -> None:
    """Keep a file of requirements that can be read, within a transaction; an empty one is taken away."""
    store.database.run("DELETE FROM club_rules WHERE club = ? AND name = ?", store.number, name)
    if content:
        query = "INSERT INTO club_rules (club, name, content) VALUES (?, ?, ?)"
        store.database.run(query, store.number, name, content)


def _supervised(dives: Mapping[str, bool], signed: Iterable[SeenSignOff]) -> set[str]:
    """Return the dives that were supervised: as they say, or as a signer says."""
    said = {key for key, supervised in dives.items() if supervised}
    return said | {each.sign_off.record for each in signed if each.sign_off.supervised and not each.changed}


def _facts(signed: Iterable[SeenSignOff], names: Callable[[str], str]) -> DiverFacts:
    """Return what was signed as the facts that requirements ask for; nothing else is known to a club."""
    told = [each for each in signed if each.sign_off.rules]
    return DiverFacts(
        certificates=tuple(
            Certificate(id=each.key, grade=each.sign_off.rules, issued_on=each.sign_off.on)
            for each in told
            if not each.sign_off.requirement
        ),
        confirmed=tuple(
            Confirmation(each.sign_off.rules, each.sign_off.requirement, names(each.signer), each.sign_off.on)
            for each in told
            if each.sign_off.requirement and each.sign_off.on
        ),
    )

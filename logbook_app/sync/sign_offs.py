"""What is asked to be signed, and what a signature was given for.

A request is a record of the diver's own that is shown to who is asked. A signature names the exact content
it was given for by a digest over what the diver showed, so that whoever has both can tell whether it still
says that. Fields that a later program adds take no part in it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Final

from logbook_app.sync.changes import digest_of
from logbook_app.sync.merging import Record, is_deleted
from logbook_app.sync.records import SignOff, changed_since_sign_off, record_name, signed_digest
from logbook_app.sync.shown_dives import ShownDive

SIGN_OFF: Final = "signoff"
REQUEST: Final = "shownrequest"
BUDDY: Final = "shownbuddy"  # any member's word on a dive they were on; it counts for nothing
SIGNED_OF_A_DIVE: Final = tuple(
    each.name for each in fields(ShownDive) if each.name not in ("diver", "parts", "buddies")
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOffRequest:
    """A diver asks for a signature.

    what     that is to be confirmed, in the diver's words
    record   key of the shown dive, empty where a requirement is meant
    rules, requirement   ids of the set and of the requirement in it, empty where a dive is meant
    to       member who is asked, empty for anybody who signs
    """

    what: str = ""
    record: str = ""
    rules: str = ""
    requirement: str = ""
    to: str = ""


def request_name(request: SignOffRequest) -> str:
    """Return the name of a request's record: one for each thing that is asked for."""
    asked = "-".join(filter(None, (request.record.partition(":")[2], request.rules, request.requirement)))
    return record_name(REQUEST, asked or "any")


def evidence_digest(records: Mapping[str, Record]) -> str:
    """Return the digest over what several shown dives say, for a signature on a requirement."""
    return digest_of({key: signed_digest(record, SIGNED_OF_A_DIVE) for key, record in records.items()})


def changed_since(sign_off: SignOff, records: Mapping[str, Record]) -> bool:
    """Return whether what was signed says something else by now, or is not there any more.

    records   what is there of the record that was signed, and of its evidence
    """
    wanted = {sign_off.record} if sign_off.record else set(sign_off.evidence)
    there = {key: record for key, record in records.items() if record and not is_deleted(record)}
    if not wanted <= there.keys():
        return True
    if sign_off.record:
        return changed_since_sign_off(there[sign_off.record], sign_off)
    return evidence_digest({key: there[key] for key in sign_off.evidence}) != sign_off.digest

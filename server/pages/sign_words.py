"""Signatures and requests for one, in words."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from logbook_app.analysis.experience_rules import RequirementSet, said
from logbook_app.analysis.spoken_times import date_alone
from logbook_app.language import _, later
from logbook_app.sync.records import SignOff
from logbook_app.sync.sign_offs import SignOffRequest
from server.pages.visit import Visit
from server.reading import SeenSignOff

ROLES = {"instructor": later("instructor"), "dive leader": later("dive leader"), "buddy": later("buddy")}


def signature_lines(visit: Visit, signed: Iterable[SeenSignOff]) -> list[dict[str, Any]]:
    """Say each signature: what, by whom and as what, when, and whether it still holds."""
    return [
        {
            "key": each.key,
            "what": what_words(visit, each.sign_off),
            "whom": visit.name_of(each.sign_off.whom),
            "signer": visit.name_of(each.signer),
            "role": _(ROLES.get(each.sign_off.role, "")),
            "on": date_alone(each.sign_off.on) if each.sign_off.on else "",
            "remark": each.sign_off.remark,
            "changed": each.changed,
            "own": visit.viewer is not None and each.signer == visit.viewer.id,
            "digest": each.sign_off.digest[:12],
        }
        for each in signed
    ]


def what_words(visit: Visit, asked: SignOff | SignOffRequest) -> str:
    """Say what was signed or is to be: a dive, a requirement, a certificate."""
    if asked.rules:
        return requirement_words(visit.requirement_sets(), asked.rules, asked.requirement)
    seen = visit.reading.dive(asked.record) if asked.record else None
    if seen is None:
        return asked.what or _("a dive that is not shown to you")
    site = seen.dive.site.name if seen.dive.site else _("place not shown")
    dive = _("Dive of {day}, {site}").format(day=date_alone(seen.dive.began_local), site=site)
    return f"{dive}: {asked.what}" if asked.what else dive


def requirement_words(sets: Iterable[RequirementSet], rules: str, requirement: str) -> str:
    """Say a requirement with its set, by their ids where nobody here knows them any more."""
    known = next((each for each in sets if each.id == rules), None)
    if known is None:
        return " · ".join(filter(None, (rules, requirement)))
    part = next((each for each in known.requirements if each.id == requirement), None)
    name = (said(part.name) if part.name else part.id) if part else requirement
    return " · ".join(filter(None, (said(known.program), said(known.name), name)))

"""Signatures: what is asked for, what was signed, and signing a dive, a requirement or a certificate."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from logbook_app.analysis.experience import RequirementAnswer
from logbook_app.language import _
from logbook_app.sync.changes import EVERYBODY, kind_of, name_of, owner_of
from logbook_app.sync.merging import DELETED, Record, heads_of
from logbook_app.sync.records import SignOff, record_name, signed_digest, values_from, written_values
from logbook_app.sync.sign_offs import (
    BUDDY,
    REQUEST,
    SIGN_OFF,
    SIGNED_OF_A_DIVE,
    SignOffRequest,
    evidence_digest,
    request_name,
)
from server.pages.roster import dive_path
from server.pages.sign_words import signature_lines, what_words
from server.pages.visit import Elsewhere, NotDone, NotHere, Shown, Told, Visit
from server.pages.writing import write_for
from server.roles import Member

LATEST: Final = 50
MOST_REQUESTS: Final = 500
LONGEST_REMARK: Final = 500
READERS: Final = "readers"
BUDDY_ROLE: Final = "buddy"


def show_sign_offs(visit: Visit) -> Told:
    """Show what the viewer is asked to sign, what they asked for themselves, and what was signed lately."""
    register, reading = visit.register, visit.reading
    members = {each.id for each in visit.members()}
    keys = (each.key for each in register.of_kind(REQUEST, MOST_REQUESTS) if each.owner in members)
    asked = list(reading.requests(keys))
    waiting = [each for each in asked if not _answered(visit, *each)]
    for_me = [each for each in waiting if _may_answer(visit, *each)]
    mine = [each for each in asked if owner_of(each[0]) == visit.member.id]
    signed = reading.sign_offs(each.key for each in register.of_kind(SIGN_OFF, LATEST))
    values = {
        "signs": visit.member.signs,
        "asked": [_request_line(visit, *each) for each in for_me],
        "mine": [_request_line(visit, *each) | {"answered": _answered(visit, *each)} for each in mine],
        "signed": signature_lines(visit, signed),
    }
    return Shown("sign_offs.html", values)


def ask(visit: Visit) -> Told:
    """Ask for a signature on a dive of one's own, or on a requirement."""
    request = SignOffRequest(
        what=visit.said("what", LONGEST_REMARK),
        record=visit.asked.form.get("record", ""),
        rules=visit.asked.form.get("rules", ""),
        requirement=visit.asked.form.get("requirement", ""),
        to=visit.asked.form.get("to", ""),
    )
    if request.record and (
        visit.reading.dive(request.record) is None or owner_of(request.record) != visit.member.id
    ):
        raise NotHere
    if request.to and not visit.member_named(request.to).signs:
        raise NotDone(_("{name} signs nothing in this club.").format(name=visit.name_of(request.to)))
    readers = [request.to] if request.to else [EVERYBODY]
    fields = {**values_from(request), READERS: readers, DELETED: False}
    write_for(visit.home, visit.member, request_name(request), fields)
    return Elsewhere("/sign-offs", "asked")


def withdraw_request(visit: Visit) -> Told:
    """Ask no more."""
    key = _own(visit, REQUEST)
    write_for(visit.home, visit.member, name_of(key), {DELETED: True})
    return Elsewhere("/sign-offs", "done")


def sign(visit: Visit) -> Told:
    """Sign what the form names, for exactly the content that its page showed."""
    form = visit.asked.form
    sign_off, readers = (_of_dive if form.get("record") else _of_requirement)(visit, form)
    if form.get("digest") != sign_off.digest:
        raise NotDone(_("It has changed since you opened the page. Look at it again, then sign."))
    if sign_off.whom == visit.member.id:
        raise NotDone(_("Nobody signs for themselves."))
    if not visit.member.may_sign(sign_off.rules):
        raise NotDone(_("You do not sign for this; an admin of the club says who does."))
    name = record_name(SIGN_OFF, uuid.uuid4().hex)
    write_for(visit.home, visit.member, name, {**_fields(sign_off), READERS: readers})
    with visit.home.store.change():
        visit.home.trail.write(visit.now_ms, visit.member.id, "signed", sign_off.whom, sign_off.rules)
    return Elsewhere(_own_page(sign_off), "signed")


def confirm(visit: Visit) -> Told:
    """Confirm a dive that one was on, for exactly the content that its page showed."""
    sign_off, readers = _of_dive(visit, visit.asked.form)
    if visit.asked.form.get("digest") != sign_off.digest:
        raise NotDone(_("It has changed since you opened the page. Look at it again, then sign."))
    if sign_off.whom == visit.member.id:
        raise NotDone(_("Nobody signs for themselves."))
    name = record_name(BUDDY, sign_off.record.partition(":")[2])
    said = _fields(replace(sign_off, role=BUDDY_ROLE, supervised=False))
    write_for(visit.home, visit.member, name, {**said, READERS: readers, DELETED: False})
    return Elsewhere(_own_page(sign_off), "done")


def take_back_signature(visit: Visit) -> Told:
    """Withdraw a signature of one's own."""
    key = _own(visit, SIGN_OFF, BUDDY)
    write_for(visit.home, visit.member, name_of(key), {DELETED: True})
    with visit.home.store.change():
        visit.home.trail.write(visit.now_ms, visit.member.id, "took back a signature")
    return Elsewhere("/sign-offs", "taken-back")


def dive_digest(record: Record) -> str:
    """Return the digest that a signature on a dive is given for."""
    return signed_digest(record, SIGNED_OF_A_DIVE)


def _of_dive(visit: Visit, form: Mapping[str, str]) -> tuple[SignOff, list[str]]:
    seen = visit.reading.dive(form["record"])
    if seen is None:
        raise NotHere
    everybody = visit.register.shown_to_everybody(seen.key)
    sign_off = SignOff(
        what=visit.said("what", LONGEST_REMARK),
        whom=seen.owner,
        record=seen.key,
        names=SIGNED_OF_A_DIVE,
        digest=dive_digest(seen.record),
        changes=tuple(
            sorted(heads_of({name: seen.record[name] for name in SIGNED_OF_A_DIVE if name in seen.record}))
        ),
        signer=visit.member.name,
        role=visit.member.signs_as,
        remark=visit.said("remark", LONGEST_REMARK),
        supervised="supervised" in form,
        on=visit.today,
    )
    return sign_off, [EVERYBODY] if everybody else [seen.owner]


def _of_requirement(visit: Visit, form: Mapping[str, str]) -> tuple[SignOff, list[str]]:
    member = visit.member_named(form.get("whom", ""))
    rules, requirement = form.get("rules", ""), form.get("requirement", "")
    evidence = evidence_for(visit, member, rules, requirement)
    sign_off = SignOff(
        what="",
        whom=member.id,
        record="",
        names=SIGNED_OF_A_DIVE,
        digest=evidence_digest(evidence),
        evidence=tuple(sorted(evidence)),
        rules=rules,
        requirement=requirement,
        signer=visit.member.name,
        role=visit.member.signs_as,
        remark=visit.said("remark", LONGEST_REMARK),
        on=visit.today,
    )
    return sign_off, [EVERYBODY]


def evidence_for(visit: Visit, member: Member, rules_id: str, requirement: str) -> dict[str, Record]:
    """Return the dives that count toward a requirement, or toward any of a set, as they stand.

    Raises NotHere where there is no such requirement.
    """
    rules = next((each for each in visit.requirement_sets() if each.id == rules_id), None)
    if rules is None:
        raise NotHere
    answer, evidence = visit.progress.answer(member, rules, visit.name_of)
    answers = [each for each in answer.answers if requirement in ("", each.requirement.id)]
    if not answers:
        raise NotHere
    return {key: evidence.dives[key].record for each in answers for key in counting_of(each)}


def counting_of(answer: RequirementAnswer) -> list[str]:
    """Return the dives that count for a requirement, or for any of its parts."""
    keys = [*answer.counting, *(key for part in answer.parts for key in counting_of(part))]
    return list(dict.fromkeys(keys))


def _fields(sign_off: SignOff) -> dict[str, Any]:
    """Return all that a signature says, and of what it leaves unsaid what every one must say."""
    must = {"what": sign_off.what, "whom": sign_off.whom, "record": sign_off.record}
    return must | written_values(sign_off)


def _own_page(sign_off: SignOff) -> str:
    if sign_off.record:
        return dive_path(sign_off.record)
    return "/".join(filter(None, ("/progress", sign_off.whom, sign_off.rules, sign_off.requirement)))


def _own(visit: Visit, *kinds: str) -> str:
    key = visit.asked.form.get("key", "")
    if owner_of(key) != visit.member.id or kind_of(key) not in kinds:
        raise NotHere
    if visit.reading.record(key) is None:
        raise NotHere
    return key


def _may_answer(visit: Visit, key: str, request: SignOffRequest) -> bool:
    asked = request.to in ("", visit.member.id) and owner_of(key) != visit.member.id
    return asked and visit.member.may_sign(request.rules)


def _answered(visit: Visit, key: str, request: SignOffRequest) -> bool:
    entries = visit.register.for_whom(SIGN_OFF, owner_of(key))
    signed = (
        each.sign_off for each in visit.reading.sign_offs(each.key for each in entries) if not each.changed
    )
    wanted = (request.record, request.rules, request.requirement)
    return any((each.record, each.rules, each.requirement) == wanted for each in signed)


def _request_line(visit: Visit, key: str, request: SignOffRequest) -> dict[str, Any]:
    owner = owner_of(key)
    if request.record:
        path = dive_path(request.record)
    else:
        path = "/".join(filter(None, ("/progress", owner, request.rules, request.requirement)))
    return {
        "key": key,
        "name": visit.name_of(owner),
        "what": what_words(visit, request),
        "remark": request.what if request.rules else "",
        "path": path,
        "to": visit.name_of(request.to) if request.to else "",
    }

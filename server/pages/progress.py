"""Progress: members by requirements, and behind each cell the dives that count and those that nearly do."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, Final

from markupsafe import Markup

from logbook_app.analysis.experience import RequirementAnswer, Verdict
from logbook_app.analysis.experience_rules import Requirement, RequirementSet, said
from logbook_app.analysis.experience_words import (
    VERDICTS,
    asked_words,
    confirmed_words,
    have_words,
    missing_words,
    name_words,
    names_of,
    nearly_words,
    reading_words,
    source_words,
    summary_words,
)
from logbook_app.language import _, number
from logbook_app.sync.sign_offs import evidence_digest
from server.club_progress import Evidence, Mark
from server.pages.roster import DIVES_A_PAGE, dive_line, one_page
from server.pages.sign_words import signature_lines
from server.pages.signing import counting_of, evidence_for
from server.pages.visit import NotHere, Shown, Told, Visit
from server.roles import Member

MEMBERS_A_PAGE: Final = 25


def show_matrix(visit: Visit) -> Told:
    """Show where every member stands with each requirement of one set."""
    sets = visit.requirement_sets()
    wanted = visit.asked.query.get("set", "")
    rules = next((each for each in sets if each.id == wanted), sets[0])
    names = names_of(sets)
    members, pages = one_page(visit.members(), visit.asked.query.get("page", ""), MEMBERS_A_PAGE)
    values = {
        "rules": _heading(rules),
        "sets": [{"id": each.id, "words": _set_words(each), "here": each is rules} for each in sets],
        "columns": [name_words(each, names) for each in rules.requirements],
        "rows": [_row(visit, each, rules) for each in members],
        "pages": pages,
    }
    return Shown("matrix.html", values)


def show_set(visit: Visit) -> Told:
    """Show where one member stands with each requirement of a set."""
    member, rules = asked_for(visit)
    answer, evidence = visit.progress.answer(member, rules, visit.name_of)
    names = names_of(visit.requirement_sets())
    signed = [
        each for each in evidence.signed if each.sign_off.rules == rules.id and not each.sign_off.requirement
    ]
    values = _sign_values(visit, member, rules, "") | {
        "member": member,
        "rules": _heading(rules),
        "summary": summary_words(answer),
        "answers": [_answer_line(member, rules, each, names) for each in answer.answers],
        "signed": signature_lines(visit, signed),
    }
    return Shown("progress_set.html", values)


def show_requirement(visit: Visit) -> Told:
    """Show the evidence for one requirement: what counts, what nearly does and why not, what is missing."""
    member, rules = asked_for(visit)
    requirement = visit.asked.place["requirement"]
    answer, evidence = visit.progress.answer(member, rules, visit.name_of)
    told = next((each for each in answer.answers if each.requirement.id == requirement), None)
    if told is None:
        raise NotHere
    names = names_of(visit.requirement_sets())
    wanted = (rules.id, requirement)
    on_it = [each for each in evidence.signed if (each.sign_off.rules, each.sign_off.requirement) == wanted]
    counting, pages = one_page(counting_of(told), visit.asked.query.get("page", ""), DIVES_A_PAGE)
    values = _sign_values(visit, member, rules, requirement) | {
        "member": member,
        "rules": _heading(rules),
        "line": _answer_line(member, rules, told, names),
        "asked": asked_words(told, names) if hasattr(told.requirement, "counting") else "",
        "source": reading_words(told.requirement),
        "counting": [dive_line(evidence.dives[key]) for key in counting],
        "pages": pages,
        "nearly": list(_nearly(told, evidence, names)),
        "signed": signature_lines(visit, on_it),
    }
    return Shown("requirement.html", values)


def mark_picture(verdict: Verdict, share: float) -> Markup:
    """Return the sign of a cell: filled is met, a part filled is under way, hollow is not begun."""
    circle = '<circle cx="10" cy="10" r="8"/>'
    part = ""
    if verdict is Verdict.NOT_MET and share > 0:
        part = _filled(min(share, 0.75))
    if verdict is Verdict.TO_CONFIRM:
        part = '<circle class="part" cx="10" cy="10" r="2"/>'
    kind = "met" if verdict is Verdict.MET else "open"
    return Markup(f'<svg class="mark {kind}" viewBox="0 0 20 20" aria-hidden="true">{circle}{part}</svg>')  # noqa: S704


def _filled(share: float) -> str:
    """Return the lower part of the circle, filled to a share of its height."""
    level = 8 - 16 * share  # below the middle
    half = math.sqrt(max(64 - level * level, 0.0))
    large = int(level < 0)
    y = 10 + level
    return f'<path class="part" d="M{10 - half:.2f} {y:.2f}A8 8 0 {large} 0 {10 + half:.2f} {y:.2f}Z"/>'


def asked_for(visit: Visit) -> tuple[Member, RequirementSet]:
    """Return the member and the set that a path names. Raises NotHere where there is none."""
    member = visit.member_named(visit.asked.place["member"])
    wanted = visit.asked.place["rules"]
    rules = next((each for each in visit.requirement_sets() if each.id == wanted), None)
    if rules is None:
        raise NotHere
    return member, rules


def _heading(rules: RequirementSet) -> dict[str, str]:
    return {
        "id": rules.id,
        "name": _set_words(rules),
        "note": said(rules.note),
        "source": source_words(rules),
    }


def _set_words(rules: RequirementSet) -> str:
    return f"{said(rules.program)}: {said(rules.name)}"


def _row(visit: Visit, member: Member, rules: RequirementSet) -> dict[str, Any]:
    marks = {mark.requirement: mark for mark in visit.progress.marks(member, rules)}
    cells = [_cell(member, rules, each, marks[each.id]) for each in rules.requirements]
    return {"id": member.id, "name": member.name, "cells": cells, "path": f"/progress/{member.id}/{rules.id}"}


def _cell(member: Member, rules: RequirementSet, requirement: Requirement, mark: Mark) -> dict[str, Any]:
    share = mark.have / mark.need if mark.need else 0.0
    words = _(VERDICTS[mark.verdict])
    if mark.verdict is Verdict.NOT_MET and mark.need > 1:
        words = _("{have} of {need}").format(have=_figure(mark.have), need=_figure(mark.need))
    path = f"/progress/{member.id}/{rules.id}/{requirement.id}"
    return {"path": path, "words": words, "picture": mark_picture(mark.verdict, share)}


def _figure(value: float) -> str:
    return number(value, "g" if value == int(value) else ".0f")


def _answer_line(
    member: Member, rules: RequirementSet, answer: RequirementAnswer, names: Any
) -> dict[str, Any]:
    share = answer.have / answer.need if answer.need else 0.0
    return {
        "name": name_words(answer.requirement, names),
        "path": f"/progress/{member.id}/{rules.id}/{answer.requirement.id}",
        "verdict": _(VERDICTS[answer.verdict]),
        "picture": mark_picture(answer.verdict, share),
        "have": have_words(answer),
        "missing": missing_words(answer, names),
        "confirmed": confirmed_words(answer),
    }


def _nearly(answer: RequirementAnswer, evidence: Evidence, names: Any) -> Iterator[dict[str, str]]:
    for each in answer.nearly:
        if each.dive_id in evidence.dives:
            yield dive_line(evidence.dives[each.dive_id]) | {"why": nearly_words(each, answer, names)}


def _sign_values(visit: Visit, member: Member, rules: RequirementSet, requirement: str) -> dict[str, Any]:
    own = member.id == visit.member.id
    return {
        "may_sign": visit.member.may_sign(rules.id) and not own,
        "own": own,
        "requirement": requirement,
        "digest": evidence_digest(evidence_for(visit, member, rules.id, requirement)),
        "signers": [each for each in visit.members() if each.may_sign(rules.id) and each.id != member.id],
    }

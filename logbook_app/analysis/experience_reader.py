"""Sets of requirements out of TOML, as they ship with the program and as clubs write their own.

    program = "Our club"                       whose rules; a text, or { en = "...", de = "..." }
    source = "Rules of the club, section 3"
    edition = "2031"
    reading = "own"                            text, quoted, memory or own: how the figures came here

    [[set]]
    id = "our-30"                              what a certificate of this grade is named by
    name = "Dives to 30 m"
    requires = ["our-18"]                      certificates that are held before; each becomes a requirement

    [[set.requirement]]
    id = "deep"
    name = "Supervised dives between 18 and 30 m"
    dives = 6                                  or hours = 4.0, or both
    where = { from_m = 18, to_m = 30, supervised = true }
    of_these = [{ dives = 2, where = { environment = ["night"] } }]

A requirement asks for one thing: `dives` or `hours`; `gap_months` or `gap_days`; `certificate`;
`examination`; `age`; `confirm`; `any` with `[[set.requirement.of]]`. `KEYS` has every key that there is.

A file that is wrong is refused in one sentence: where, what, and what to do.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from typing import Any, Final

from logbook_app.analysis.experience_requirement import (
    KEYS,
    MOST_ASKED,
    MOST_FEET,
    MOST_METRES,
    refuse_doubles,
    requirement_in,
)
from logbook_app.analysis.experience_rules import (
    CertificateAsked,
    DepthUnit,
    DivesAsked,
    NoLongBreak,
    Reading,
    Requirement,
    RequirementSet,
    SomeOf,
)
from logbook_app.analysis.experience_table import Table, refused
from logbook_app.language import _

LARGEST_TEXT: Final = 200_000  # letters
MOST_SETS: Final = 200


def parse_requirements(
    text: str, file_name: str, known: Iterable[RequirementSet] = ()
) -> tuple[RequirementSet, ...]:
    """Return the sets of a file.

    known   sets that are there already, which a certificate may be of

    Raises RefusedFile, in one sentence, for what cannot be read, for an id that is taken and for
    certificates that require each other.
    """
    whole = Table(_parsed(text, file_name), file_name, "")
    whole.refuse_unknown(KEYS["file"])
    rows = whole.tables("set")
    if not 1 <= len(rows) <= MOST_SETS:
        raise refused(
            file_name,
            "",
            _("it has {count} sets of requirements; write between 1 and {most} as [[set]].").format(
                count=len(rows), most=MOST_SETS
            ),
        )
    sets = tuple(_set(whole, row) for row in rows)
    known = tuple(known)
    _refuse_taken(sets, known, file_name)
    _refuse_circles(sets, known, file_name)
    return sets


def _parsed(text: str, file_name: str) -> dict[str, Any]:
    if len(text) > LARGEST_TEXT:
        raise refused(
            file_name,
            "",
            _("it is too long for requirements; write {most} letters at most.").format(most=LARGEST_TEXT),
        )
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise refused(
            file_name, "", _("it is not TOML that can be read ({why}); correct it there.").format(why=error)
        ) from error


def _set(whole: Table, row: Table) -> RequirementSet:
    row.refuse_unknown(KEYS["set"])
    row = row.named(_("the set “{id}”").format(id=row.word("id")))
    for key in ("source", "edition", "reading"):
        row.inherit(whole, key)
    unit = row.one_of("depth_unit", DepthUnit, DepthUnit.METRES)
    row = row.in_unit(unit)
    reading: Reading = row.one_of("reading", Reading, Reading.OWN)
    held = tuple(_held_before(grade, reading) for grade in row.texts("requires"))
    asked = tuple(requirement_in(each, row) for each in row.tables("requirement"))
    if not 1 <= len(held) + len(asked) <= MOST_ASKED:
        raise row.refused(
            _(
                "it asks for nothing, or for more than {most} things; write its requirements as "
                "[[set.requirement]]."
            ).format(most=MOST_ASKED)
        )
    made = RequirementSet(
        id=row.word("id"),
        name=row.said("name"),
        program=row.said("program") if "program" in row else whole.said("program"),
        source=row.text("source"),
        edition=row.text("edition"),
        reading=reading,
        requirements=(*held, *asked),
        note=row.said("note") if "note" in row else {},
        depth_unit=unit,
        certified_to=_certified_to(row, unit),
    )
    refuse_doubles(row, made.requirements)
    if not made.certified_to and any(map(_rests_on_certificates, made.requirements)):
        raise row.refused(
            _("near_certified means nothing in it; write certified_to, with a depth for each certificate.")
        )
    return made


def _rests_on_certificates(asked: Requirement) -> bool:
    if isinstance(asked, SomeOf):
        return any(map(_rests_on_certificates, asked.of))
    return isinstance(asked, DivesAsked | NoLongBreak) and asked.counting.near_certified is not None


def _held_before(grade: str, reading: Reading) -> CertificateAsked:
    """Return the certificate before as a requirement; it is called what the certificate is called."""
    return CertificateAsked(id=f"holds-{grade}", name={}, reading=reading, grades=(grade,))


def _certified_to(row: Table, unit: DepthUnit) -> dict[str, float]:
    most = MOST_FEET if unit is DepthUnit.FEET else MOST_METRES
    told = row.table("certified_to")
    return {grade: told.amount(grade, most) for grade in told.keys} if told else {}


# What fits together


def _refuse_taken(
    sets: tuple[RequirementSet, ...], known: tuple[RequirementSet, ...], file_name: str
) -> None:
    taken = {each.id for each in known}
    for each in sets:
        if each.id in taken:
            raise refused(
                file_name,
                _("the set “{id}”").format(id=each.id),
                _("another set has this id; choose another one."),
            )
        taken.add(each.id)


def _refuse_circles(
    sets: tuple[RequirementSet, ...], known: tuple[RequirementSet, ...], file_name: str
) -> None:
    """Refuse a certificate that is needed, by however many others, for itself."""
    before = {each.id: _always_held(each) for each in (*known, *sets)}
    for each in sets:
        wanted, seen = list(before[each.id]), set[str]()
        while wanted:
            grade = wanted.pop()
            if grade == each.id:
                raise refused(
                    file_name,
                    _("the set “{id}”").format(id=each.id),
                    _(
                        "its own certificate is needed for it, by way of {others}; leave one of these "
                        "certificates out."
                    ).format(others=", ".join(sorted(seen)) or each.id),
                )
            if grade not in seen:
                seen.add(grade)
                wanted += before.get(grade, ())


def _always_held(rules: RequirementSet) -> tuple[str, ...]:
    """Return the certificates that are needed for a set whatever else is held."""
    return tuple(
        each.grades[0]
        for each in rules.requirements
        if isinstance(each, CertificateAsked) and len(each.grades) == 1
    )

"""One requirement of a file: what it asks for, and which dives count for it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from itertools import pairwise
from typing import Any, Final

from logbook_app.analysis.experience_rules import (
    AgeAsked,
    CertificateAsked,
    Counting,
    DepthUnit,
    DivesAsked,
    ExaminationAsked,
    Lasts,
    NoLongBreak,
    Reading,
    Requirement,
    SomeOf,
    Span,
    ToBeConfirmed,
)
from logbook_app.analysis.experience_table import Table
from logbook_app.dive.credentials import Examination
from logbook_app.dive.record import Environment, Role
from logbook_app.language import _

MOST_ASKED: Final = 200  # requirements of a set
MOST_DIVES, MOST_HOURS, MOST_MIN = 100_000, 100_000, 1_440
MOST_METRES, MOST_FEET = 350, 1_150
MOST_MONTHS, MOST_DAYS, OLDEST = 1_200, 36_500, 120
_LASTS_FROM_BIRTH: Final = 0

_KINDS: Final = {
    "dives": "dives",
    "hours": "dives",
    "gap_months": "gap",
    "gap_days": "gap",
    "certificate": "certificate",
    "examination": "examination",
    "age": "age",
    "confirm": "confirm",
    "any": "any",
}
_STATED: Final = ("id", "name", "reading", "source", "note")
KEYS: Final[Mapping[str, tuple[str, ...]]] = {
    "file": ("program", "source", "edition", "reading", "set"),
    "set": (
        "id", "name", "program", "source", "edition", "reading", "note", "requires", "depth_unit",
        "certified_to", "requirement",
    ),
    "where": (
        "from_m", "to_m", "from_ft", "to_ft", "near_certified", "near_certified_at_most", "least_min",
        "supervised", "role", "not_role", "environment", "open_water", "visibility_below_m", "water_below_c",
        "altitude_from_m", "any_of", "after", "within_months", "within_days",
    ),
    "dives": (
        *_STATED, "dives", "hours", "where", "of_these", "together_months", "together_days", "spread_months",
        "spread_days", "once",
    ),
    "gap": (*_STATED, "gap_months", "gap_days", "where", "over_months", "over_days"),
    "certificate": (*_STATED, "certificate"),
    "examination": (*_STATED, "examination", "lasts_months", "by_age"),
    "age": (*_STATED, "age"),
    "confirm": (*_STATED, "confirm"),
    "any": (*_STATED, "any", "of"),
    "of_these": ("dives", "hours", "where"),
    "by_age": ("from_age", "lasts_months"),
}  # fmt: skip


def requirement_in(row: Table, around: Table) -> Requirement:
    """Return one requirement; how its figures came here is that of what stands around it.

    Raises RefusedFile for what is wrong.
    """
    row.inherit(around, "reading")
    row = row.named(_("the requirement “{id}”").format(id=row.word("id")))
    kinds = list(dict.fromkeys(_KINDS[key] for key in row.keys if key in _KINDS))
    if len(kinds) != 1:
        raise row.refused(
            _("it asks for {count} things; write one of {keys}.").format(
                count=len(kinds), keys=", ".join(_KINDS)
            )
        )
    row.refuse_unknown(KEYS[kinds[0]])
    return _MAKERS[kinds[0]](row, _stated(row))


def _stated(row: Table) -> dict[str, Any]:
    stated: dict[str, Any] = {"id": row.word("id"), "name": row.said("name")}
    stated |= {"reading": row.one_of("reading", Reading, Reading.OWN), "source": row.text("source", "")}
    return stated | {"note": row.said("note") if "note" in row else {}}


def _dives(row: Table, stated: Mapping[str, Any]) -> DivesAsked:
    return DivesAsked(
        **stated,
        **_how_many(row),
        counting=_counting(row.table("where")),
        of_these=tuple(
            _of_these(each, place, stated["reading"])
            for place, each in enumerate(row.tables("of_these"), start=1)
        ),
        together=_span(row, "together"),
        spread=_span(row, "spread"),
        once=row.text("once", ""),
    )


def _how_many(row: Table) -> dict[str, Any]:
    return {
        "dives": row.count("dives", MOST_DIVES) if "dives" in row else 0,
        "hours": row.amount("hours", MOST_HOURS) if "hours" in row else 0.0,
    }


def _of_these(row: Table, place: int, reading: Reading) -> DivesAsked:
    row = row.named(_("part {place} of these").format(place=place))
    row.refuse_unknown(KEYS["of_these"])
    if "dives" not in row and "hours" not in row:
        raise row.refused(_("it says neither dives nor hours; write one of them."))
    return DivesAsked(
        id=str(place), name={}, reading=reading, **_how_many(row), counting=_counting(row.table("where"))
    )


def _gap(row: Table, stated: Mapping[str, Any]) -> NoLongBreak:
    gap = _span(row, "gap")
    if gap is None:
        raise row.refused(_("it says no length of the break; write gap_months or gap_days."))
    return NoLongBreak(**stated, gap=gap, counting=_counting(row.table("where")), over=_span(row, "over"))


def _certificate(row: Table, stated: Mapping[str, Any]) -> CertificateAsked:
    grades = row.texts("certificate")
    if not grades:
        raise row.refused(_("it names no certificate; write the id of a set, or several in [ ]."))
    return CertificateAsked(**stated, grades=grades)


def _examination(row: Table, stated: Mapping[str, Any]) -> ExaminationAsked:
    return ExaminationAsked(
        **stated, examination=row.one_of("examination", Examination, None), lasts=tuple(_lasts(row))
    )


def _lasts(row: Table) -> Iterable[Lasts]:
    if "lasts_months" in row:
        return [Lasts(_LASTS_FROM_BIRTH, Span(months=row.count("lasts_months", MOST_MONTHS)))]
    ages = row.tables("by_age")
    found = []
    for each in ages:
        each.refuse_unknown(KEYS["by_age"])
        found.append(
            Lasts(
                each.count("from_age", OLDEST, least=0), Span(months=each.count("lasts_months", MOST_MONTHS))
            )
        )
    if (
        not found
        or found[0].from_age
        or any(one.from_age >= next_one.from_age for one, next_one in pairwise(found))
    ):
        raise row.refused(
            _(
                "it does not say how long it lasts at every age; write lasts_months, or by_age from age 0 "
                "upward."
            )
        )
    return found


def _age(row: Table, stated: Mapping[str, Any]) -> AgeAsked:
    return AgeAsked(**stated, years=row.count("age", OLDEST))


def _confirm(row: Table, stated: Mapping[str, Any]) -> ToBeConfirmed:
    if not row.yes("confirm"):
        raise row.refused(_("confirm is false, so nothing is asked; leave the requirement out."))
    return ToBeConfirmed(**stated)


def _any(row: Table, stated: Mapping[str, Any]) -> SomeOf:
    parts = tuple(requirement_in(each, row) for each in row.tables("of"))
    need = row.count("any", MOST_ASKED)
    if need > len(parts):
        raise row.refused(
            _("it asks for {need} of {count}; write each as [[set.requirement.of]].").format(
                need=need, count=len(parts)
            )
        )
    refuse_doubles(row, parts)
    return SomeOf(**stated, need=need, of=parts)


_MAKERS: Final[Mapping[str, Callable[[Table, Mapping[str, Any]], Requirement]]] = {
    "dives": _dives,
    "gap": _gap,
    "certificate": _certificate,
    "examination": _examination,
    "age": _age,
    "confirm": _confirm,
    "any": _any,
}


def _counting(row: Table | None) -> Counting:
    """Return which dives count. Raises RefusedFile where depths are in two units or upside down."""
    if row is None:
        return Counting()
    row = row.named(_("its “where”"))
    row.refuse_unknown(KEYS["where"])
    low, high = _depths(row)
    if low is not None and high is not None and low > high:
        raise row.refused(
            _("its depths run from {low} to {high}; write the shallower one first.").format(
                low=f"{low:g}", high=f"{high:g}"
            )
        )
    return Counting(
        depth_unit=row.unit,
        from_depth=low,
        to_depth=high,
        **_near_certified(row),
        least_min=row.amount("least_min", MOST_MIN) if "least_min" in row else None,
        supervised=row.yes("supervised"),
        roles=row.several("role", Role),
        not_roles=row.several("not_role", Role),
        environments=row.several("environment", Environment),
        open_water=row.yes("open_water"),
        visibility_below_m=row.amount("visibility_below_m", 100) if "visibility_below_m" in row else None,
        water_below_c=row.amount("water_below_c", 50) if "water_below_c" in row else None,
        altitude_from_m=row.amount("altitude_from_m", 9_000) if "altitude_from_m" in row else None,
        any_of=tuple(_counting(each) for each in row.tables("any_of")),
        after=row.text("after", ""),
        within=_span(row, "within"),
    )


def _depths(row: Table) -> tuple[float | None, float | None]:
    """Return the depths of a condition. Raises RefusedFile where they are not in the unit of the set."""
    unit = row.unit.value
    other = "m" if row.unit is DepthUnit.FEET else "ft"
    for end in ("from", "to"):
        if f"{end}_{other}" in row:
            raise row.refused(
                _(
                    "{key} is not in the unit of its set; write {right}, or say depth_unit = “{other}” in "
                    "the set."
                ).format(key=f"{end}_{other}", right=f"{end}_{unit}", other=other)
            )
    most = MOST_FEET if row.unit is DepthUnit.FEET else MOST_METRES
    low = row.amount(f"from_{unit}", most, least=0) if f"from_{unit}" in row else None
    return low, row.amount(f"to_{unit}", most, least=0) if f"to_{unit}" in row else None


def _near_certified(row: Table) -> dict[str, float | None]:
    share = row.amount("near_certified", 1) if "near_certified" in row else None
    most = row.amount("near_certified_at_most", MOST_FEET) if "near_certified_at_most" in row else None
    return {"near_certified": share, "near_certified_at_most": most}


def _span(row: Table, name: str) -> Span | None:
    months, days = f"{name}_months", f"{name}_days"
    if months not in row and days not in row:
        return None
    return Span(
        months=row.count(months, MOST_MONTHS) if months in row else 0,
        days=row.count(days, MOST_DAYS) if days in row else 0,
    )


def refuse_doubles(row: Table, asked: tuple[Requirement, ...]) -> None:
    """Refuse two requirements with one id."""
    seen: set[str] = set()
    for each in asked:
        if each.id in seen:
            raise row.refused(
                _("it has two requirements “{id}”; give one of them another id.").format(id=each.id)
            )
        seen.add(each.id)

"""Which dives a requirement asks for, and why one does not count, in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Final

from logbook_app.analysis.experience_columns import ROLES as ROLE_NUMBERS
from logbook_app.analysis.experience_filter import Nearly, WhyNot
from logbook_app.analysis.experience_rules import ANY_DIVE, Counting, DepthUnit, Span
from logbook_app.analysis.field_words import ENVIRONMENTS, ROLES
from logbook_app.language import _, later, ngettext, number

Called = Callable[[str], str]
"""What the certificate of a grade is called."""


def depth_words(depth: float, unit: DepthUnit) -> str:
    """Return a depth in the unit of a rule: `31 ft`, `29.9 m`."""
    return f"{number(round(depth, 1), 'g')} {unit.value}"


def span_words(span: Span) -> str:
    """Return a length of time: `12 months`, `42 days`."""
    months = ngettext("{count} month", "{count} months", span.months).format(count=span.months)
    days = ngettext("{count} day", "{count} days", span.days).format(count=span.days)
    return ", ".join(words for words, there in ((months, span.months), (days, span.days)) if there)


def conditions_words(counting: Counting, called: Called, *, shortly: bool = False) -> Iterator[str]:
    """Yield each condition in words.

    called    what a certificate is called
    shortly   leave out what the next dive meets by itself: after a day, not long ago
    """
    if depth := _depth_asked(counting):
        yield depth
    if counting.least_min is not None:
        yield _("at least {time} min").format(time=number(counting.least_min, "g"))
    if counting.supervised:
        yield _("supervised")
    yield from _labels(counting)
    yield from _surroundings(counting)
    if counting.any_of:
        yield _either(counting, called)
    if counting.after and not shortly:
        yield _("after {certificate}").format(certificate=called(counting.after))
    if counting.within is not None and not shortly:
        yield _("in the last {span}").format(span=span_words(counting.within))


def _depth_asked(counting: Counting) -> str:
    low, high, unit = counting.from_depth, counting.to_depth, counting.depth_unit
    if low is not None and high is not None:
        return _("{low} to {high}").format(low=number(low, "g"), high=depth_words(high, unit))
    if low is not None:
        return _("{depth} or deeper").format(depth=depth_words(low, unit))
    return _("not below {depth}").format(depth=depth_words(high, unit)) if high is not None else ""


def _labels(counting: Counting) -> Iterator[str]:
    if counting.roles:
        yield _(" or ").join(_(ROLES[role]) for role in counting.roles)
    if counting.not_roles:
        yield _("not for {roles}").format(roles=_(" or ").join(_(ROLES[role]) for role in counting.not_roles))
    if counting.environments:
        yield _(" or ").join(_(ENVIRONMENTS[each]) for each in counting.environments)
    if counting.open_water:
        yield _("open water")


def _surroundings(counting: Counting) -> Iterator[str]:
    if counting.visibility_below_m is not None:
        yield _("visibility under {distance} m").format(distance=number(counting.visibility_below_m, "g"))
    if counting.water_below_c is not None:
        yield _("water under {degrees} °C").format(degrees=number(counting.water_below_c, "g"))
    if counting.altitude_from_m is not None:
        yield _("{height} m above sea level or higher").format(height=number(counting.altitude_from_m, "g"))


def _either(counting: Counting, called: Called) -> str:
    return _(" or ").join(", ".join(conditions_words(each, called)) for each in counting.any_of)


_PLAIN: Final[Mapping[WhyNot, str]] = {
    WhyNot.SUPERVISED: later("nobody is written down who supervised it"),
    WhyNot.CONFINED: later("in confined water"),
    WhyNot.AT_ONCE: later("at the same time as another dive that counts"),
}


def why_not_words(nearly: Nearly, asked: Counting, called: Called) -> str:
    """Return what a dive says and what is asked: `98 ft; 100 ft or deeper asked`."""
    if nearly.why in _PLAIN:
        return _(_PLAIN[nearly.why])
    if nearly.why is WhyNot.AFTER:
        return _("not after {certificate}").format(certificate=called(asked.after))
    if nearly.why is WhyNot.WITHIN and asked.within is not None:
        return _("not in the last {span}").format(span=span_words(asked.within))
    if nearly.why is WhyNot.VARIED:
        return _("asked: {asked}").format(asked=_either(asked, called))
    return _("{told}; asked: {asked}").format(told=_told(nearly, asked), asked=_asked(nearly.why, asked))


def _told(nearly: Nearly, asked: Counting) -> str:
    """Return what a dive says of a condition; nothing is told of where it says nothing."""
    told = nearly.told
    if told is None:
        return _(_UNWRITTEN.get(nearly.why, _NOT_WRITTEN))
    if nearly.why is WhyNot.DEPTH:
        return depth_words(told, asked.depth_unit)
    if nearly.why is WhyNot.ROLE:
        return next((_(words) for role, words in ROLES.items() if ROLE_NUMBERS[role] == told), "")
    return _(_AMOUNTS[nearly.why]).format(amount=number(told, ".4g"))


def _asked(why: WhyNot, asked: Counting) -> str:
    """Return the one condition that a dive does not meet."""
    return ", ".join(
        conditions_words(replace(ANY_DIVE, **{name: getattr(asked, name) for name in _NAMES_OF[why]}), str)
    )


_NOT_WRITTEN: Final = later("not written down")
_UNWRITTEN: Final[Mapping[WhyNot, str]] = {
    WhyNot.ROLE: later("what you were there for is not written down"),
    WhyNot.ENVIRONMENT: later("no surroundings are written down"),
    WhyNot.VISIBILITY: later("the visibility is not written down"),
    WhyNot.COLD: later("the water’s temperature is not known"),
}
_AMOUNTS: Final[Mapping[WhyNot, str]] = {
    WhyNot.TIME: later("{amount} min"),
    WhyNot.VISIBILITY: later("visibility {amount} m"),
    WhyNot.COLD: later("water {amount} °C"),
    WhyNot.ALTITUDE: later("{amount} m above sea level"),
}
_NAMES_OF: Final[Mapping[WhyNot, tuple[str, ...]]] = {
    WhyNot.DEPTH: ("depth_unit", "from_depth", "to_depth"),
    WhyNot.TIME: ("least_min",),
    WhyNot.ROLE: ("roles", "not_roles"),
    WhyNot.ENVIRONMENT: ("environments",),
    WhyNot.VISIBILITY: ("visibility_below_m",),
    WhyNot.COLD: ("water_below_c",),
    WhyNot.ALTITUDE: ("altitude_from_m",),
}

"""What a comparison of dives says, in words: one line a fact, the leader's clock throughout."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from logbook_app.analysis.clock_alignment import Likeness
from logbook_app.analysis.compared_dives import Beside, Comparison, Side
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_duration, spoken_time
from logbook_app.language import _, ngettext

CLOCKS_AGREE_S = 30.0


def named(side: Side) -> str:
    """Return whose dive a side is."""
    return side.diver or _("you")


def laying_words(beside: Beside) -> str:
    """Say how a dive was laid on the leader's, and how sure that is."""
    if beside.laid_by == "hand":
        how = _("Laid by hand.")
    elif beside.laid_by == "clocks":
        return _("The shapes do not look like one dive; laid by the clocks alone.")
    elif beside.alignment is not None and beside.alignment.likeness is Likeness.SAME:
        how = _("The shapes are those of one dive.")
    else:
        how = _("The shapes could be those of one dive; look at the lines before you rely on it.")
    return f"{how} {_clock_words(beside.clock_offset_s)}"


def lasting(seconds: float) -> str:
    """Return how long something lasts: seconds below a minute, else minutes.

    >>> lasting(30.0), lasting(60.0)
    ('30 s', '1 min')
    """
    return _("{seconds} s").format(seconds=f"{seconds:g}") if seconds < 60 else spoken_duration(seconds / 60)


def gap_words(beside: Beside, comparison: Comparison, units: SpokenUnits) -> Iterator[str]:
    """Yield how far two divers were from each other."""
    if beside.largest_gap_m is None or beside.largest_gap_at_s is None or beside.mean_gap_m is None:
        yield _("The two recordings share no time.")
        return
    yield _("Largest vertical gap {gap} at {at}, mean {mean}.").format(
        gap=units.depth(beside.largest_gap_m),
        at=spoken_time(beside.largest_gap_at_s),
        mean=units.depth(beside.mean_gap_m),
    )
    limit = units.depth(comparison.limits.apart_m), lasting(comparison.limits.apart_s)
    if not beside.apart:
        yield _("Never more than {gap} apart for longer than {time}.").format(gap=limit[0], time=limit[1])
        return
    stretches = "; ".join(
        _("{began} to {ended}, up to {gap}").format(
            began=spoken_time(stretch.began_s),
            ended=spoken_time(stretch.ended_s),
            gap=units.depth(stretch.largest_gap_m),
        )
        for stretch in beside.apart
    )
    count = len(beside.apart)
    yield ngettext(
        "{count} time more than {gap} apart for longer than {time}: {stretches}.",
        "{count} times more than {gap} apart for longer than {time}: {stretches}.",
        count,
    ).format(count=count, gap=limit[0], time=limit[1], stretches=stretches)


def side_by_side(comparison: Comparison, units: SpokenUnits) -> list[tuple[str, tuple[str, ...]]]:
    """Return a table: a heading, then what each side has, the leader first."""
    sides = (comparison.leader, *(beside.side for beside in comparison.others))

    def row(heading: str, said: Callable[[Side], str]) -> tuple[str, tuple[str, ...]]:
        return heading, tuple(said(side) for side in sides)

    def where_known(value: float | None, said: Callable[[float], str]) -> str:
        return _("not recorded") if value is None else said(value)

    def where_any(minutes: float) -> str:
        return spoken_duration(minutes) if minutes else _("none")

    def fast(side: Side) -> str:
        alone = sum(not ascent.together for ascent in side.fast_ascents)
        together = len(side.fast_ascents) - alone
        if not side.fast_ascents:
            return _("none")
        return _("{alone} alone, {together} together").format(alone=alone, together=together)

    return [
        row(_("Diver"), named),
        row(_("Greatest depth"), lambda side: units.depth(side.max_depth_m)),
        row(_("Dive time"), lambda side: spoken_duration(side.duration_min)),
        row(
            _("Fastest ascent"),
            lambda side: _("{rate} at {at}").format(
                rate=units.rate(side.fastest_m_min), at=spoken_time(side.fastest_at_s)
            ),
        ),
        row(_("Fast ascents"), fast),
        row(
            _("Safety stop"),
            lambda side: spoken_duration(side.safety_stop_min) if side.safety_stop_min else _("none"),
        ),
        row(_("Minute volume"), lambda side: where_known(side.minute_volume_l_min, units.minute_volume)),
        row(_("Pressure at the turn"), lambda side: where_known(side.turn_bar, units.pressure)),
        row(_("Pressure left"), lambda side: where_known(side.end_bar, units.pressure)),
        row(_("Coldest"), lambda side: where_known(side.lowest_temperature_c, units.temperature)),
        row(_("Load at surfacing"), lambda side: percent(side.load_end)),
    ]


def gaps_to_leader(comparison: Comparison, units: SpokenUnits) -> list[tuple[str, tuple[str, ...]]]:
    """Return a table of those beside the leader: a heading, then what holds for each of them."""

    def row(heading: str, said: Callable[[Beside], str]) -> tuple[str, tuple[str, ...]]:
        return heading, tuple(said(beside) for beside in comparison.others)

    def largest(beside: Beside) -> str:
        if beside.largest_gap_m is None or beside.largest_gap_at_s is None:
            return _("share no time")
        return _("{gap} at {at}").format(
            gap=units.depth(beside.largest_gap_m), at=spoken_time(beside.largest_gap_at_s)
        )

    def mean(beside: Beside) -> str:
        return _("share no time") if beside.mean_gap_m is None else units.depth(beside.mean_gap_m)

    def apart(beside: Beside) -> str:
        count = len(beside.apart)
        if not count:
            return _("never")
        return ngettext("{count} time, {minutes}", "{count} times, {minutes}", count).format(
            count=count, minutes=spoken_duration(beside.apart_min)
        )

    limit = _("Over {gap} apart").format(gap=units.depth(comparison.limits.apart_m))
    return [
        row(_("Diver"), lambda beside: named(beside.side)),
        row(_("Largest gap"), largest),
        row(_("Mean gap"), mean),
        row(limit, apart),
    ]


def ascent_words(beside: Beside, leader: Side, units: SpokenUnits) -> str:
    """Say which of two divers came up faster, and when."""
    faster, slower = sorted((leader, beside.side), key=lambda side: side.fastest_m_min, reverse=True)
    if units.rate(faster.fastest_m_min) == units.rate(slower.fastest_m_min):
        return _("Both came up as fast: {rate} over half a minute.").format(
            rate=units.rate(faster.fastest_m_min)
        )
    return _("Faster up: {diver}, {rate} at {at}; {other} {other_rate} at {other_at}.").format(
        diver=named(faster),
        rate=units.rate(faster.fastest_m_min),
        at=spoken_time(faster.fastest_at_s),
        other=named(slower),
        other_rate=units.rate(slower.fastest_m_min),
        other_at=spoken_time(slower.fastest_at_s),
    )


def stop_words(beside: Beside, leader: Side) -> str:
    """Say who kept the safety stop of three minutes."""
    kept = [named(side) for side in (leader, beside.side) if side.safety_stop_min >= 3.0]
    if len(kept) == 2:
        return _("Both held a safety stop of three minutes or more.")
    if kept:
        return _("Only {diver} held a safety stop of three minutes.").format(diver=kept[0])
    return _("Neither held a safety stop of three minutes.")


def _clock_words(offset_s: float) -> str:
    if abs(offset_s) < CLOCKS_AGREE_S:
        return _("The clocks agree within {seconds} s.").format(seconds=round(abs(offset_s)))
    apart = spoken_duration(abs(offset_s) / 60) if abs(offset_s) >= 120 else f"{abs(offset_s):.0f} s"
    if offset_s > 0:
        return _("This clock is {time} ahead of the other.").format(time=apart)
    return _("This clock is {time} behind the other.").format(time=apart)

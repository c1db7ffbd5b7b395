"""What a dive shows, in words: what was found, what it rests on, no praise and no alarm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logbook_app.analysis.dive_analysis import DiveAnalysis, Rules
from logbook_app.analysis.gas_use import GasUse
from logbook_app.analysis.profile_repair import Mended
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_duration, spoken_time
from logbook_app.dive.record import Dive
from logbook_app.language import _, number
from logbook_app.physics.ascent_review import WORKSHOP_DIFFERENCE_M, reverse_profiles
from logbook_app.physics.gas_density import HIGHEST_DENSITY_G_L, RECOMMENDED_DENSITY_G_L
from logbook_app.physics.oxygen_exposure import outside_table
from logbook_app.physics.safety_stop import STOP_DEEP_M, STOP_SHALLOW_M, USUAL_STOP_MIN, WANTED_BEYOND_M

MODEL_TRUSTED_TO_M = 100.0  # common practice, no source: hardly any trial dives lie behind it
LITTLE_GAS_BAR = 50.0  # common practice, no source


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a dive shows.

    kind       `ascent`, `stop`, `limit`, `gas`, `oxygen` or `record`
    lead       a few words that stand out
    words      the sentence behind them, with the figure and the limit it is held against
    look_here  True where the diver should look again
    at_s       when on the profile, None where it concerns the whole dive [s]
    """

    kind: str
    lead: str
    words: str
    look_here: bool = False
    at_s: float | None = None


def findings(
    dive: Dive,
    analysis: DiveAnalysis,
    gas: GasUse,
    rules: Rules,
    units: SpokenUnits,
    mended: Sequence[Mended] = (),
    before: Dive | None = None,
) -> tuple[Finding, ...]:
    """Return what a dive shows, the things to look at first.

    mended   what was mended in the samples that `analysis` and `gas` rest on
    before   the same diver's dive before this one on the same day, if any
    """
    found = [
        *_about_the_record(dive, analysis),
        *_about_mending(mended, units),
        *_about_ascents(analysis, rules, units),
        *_about_repeated_ascents(analysis, units),
        *_about_the_dive_before(dive, before, units),
        *_about_limits(analysis, rules, units),
        *_about_stops(analysis, units),
        *_about_oxygen(analysis, rules),
        *_about_density(analysis),
        *_about_gas(gas, units),
    ]
    return tuple(sorted(found, key=lambda finding: not finding.look_here))


def _about_the_record(dive: Dive, analysis: DiveAnalysis) -> list[Finding]:
    found = []
    if analysis.estimate:
        words = _("No samples: the load takes the whole time at the greatest depth, which overstates it.")
        found.append(Finding("record", _("An estimate."), words))
    if analysis.gas_assumed:
        words = _("The gas was not recorded; air is assumed for the load and the oxygen.")
        found.append(Finding("record", _("Gas assumed."), words, look_here=True))
    if analysis.max_depth_m > MODEL_TRUSTED_TO_M:
        words = _("Beyond {depth} m the model's figures are extrapolated: rely on none.").format(
            depth=f"{MODEL_TRUSTED_TO_M:.0f}"
        )
        found.append(Finding("record", _("Outside the model's range."), words, look_here=True))
    if analysis.loop_unknown:
        words = _(
            "Dived on a closed circuit and no oxygen pressure was recorded: the figures are those "
            "of the diluent on open circuit, and do not hold."
        )
        found.append(Finding("record", _("Oxygen of the loop unknown."), words, look_here=True))
    if not analysis.estimate and dive.max_depth_m - analysis.max_depth_m > max(1.0, 0.05 * dive.max_depth_m):
        words = _("The greatest depth written down is deeper than any sample of the recording.")
        found.append(Finding("record", _("Depths differ."), words, look_here=True))
    return found


def _about_mending(mended: Sequence[Mended], units: SpokenUnits) -> list[Finding]:
    """Say each kind of repair once, with its first place and its figure; never in silence."""
    by_kind: dict[str, list[Mended]] = {}
    for one in mended:
        by_kind.setdefault(one.kind, []).append(one)
    return [_mending(kind, ones, units) for kind, ones in by_kind.items()]


def _mending(kind: str, ones: list[Mended], units: SpokenUnits) -> Finding:
    first = ones[0]
    many = "" if len(ones) == 1 else " " + _("{count} times, here the first.").format(count=len(ones))
    recorded = (
        ""
        if first.recorded_m is None
        else _("Recorded {depth}, ").format(depth=units.depth(first.recorded_m))
    )
    form = _("added {depth}") if first.is_added else _("taken as {depth}")
    taken = form.format(depth=units.depth(first.taken_m))
    figures = _("{recorded}{taken} from {begins} to {ends}").format(
        recorded=recorded, taken=taken, begins=spoken_time(first.from_s), ends=spoken_time(first.to_s)
    )
    words = _("{words}{many} {figures}. The recording itself is unchanged.").format(
        words=first.words, many=many, figures=figures[0].upper() + figures[1:]
    )
    return Finding("record", _("Mended: {kind}.").format(kind=kind), words, look_here=True, at_s=first.from_s)


def _about_ascents(analysis: DiveAnalysis, rules: Rules, units: SpokenUnits) -> list[Finding]:
    limit = _("usual limit {rate}").format(rate=units.rate(rules.ascent_limit_m_min))
    if analysis.estimate:
        return []
    if not analysis.fast_ascents:
        return [
            Finding(
                "ascent",
                _("Ascent rate kept."),
                _("No stretch was faster than the {limit}.").format(limit=limit),
            )
        ]
    fastest = max(analysis.fast_ascents, key=lambda stretch: stretch.rate_m_min)
    count = len(analysis.fast_ascents)
    lead = _("One fast stretch.") if count == 1 else _("{count} fast stretches.").format(count=count)
    words = _("{rate} from {from_depth} to {to_depth} at {time}; {limit}.").format(
        rate=units.rate(fastest.rate_m_min),
        from_depth=units.round_depth(fastest.from_m),
        to_depth=units.round_depth(fastest.to_m),
        time=spoken_time(fastest.began_s),
        limit=limit,
    )
    return [Finding("ascent", lead, words, look_here=True, at_s=fastest.began_s)]


def _about_repeated_ascents(analysis: DiveAnalysis, units: SpokenUnits) -> list[Finding]:
    if not analysis.repeated_ascents:
        return []
    largest = max(analysis.repeated_ascents, key=lambda rise: rise.from_m - rise.to_m)
    words = _(
        "Up from {from_depth} to {to_depth} at {time} and down again; common practice is to go up once."
    ).format(
        from_depth=units.round_depth(largest.from_m),
        to_depth=units.round_depth(largest.to_m),
        time=spoken_time(largest.began_s),
    )
    return [Finding("ascent", _("Up and down again."), words, look_here=True, at_s=largest.began_s)]


def _about_the_dive_before(dive: Dive, before: Dive | None, units: SpokenUnits) -> list[Finding]:
    reverse = reverse_profiles([before.max_depth_m, dive.max_depth_m]) if before else []
    if not reverse:
        return []
    words = _(
        "By {depth}. The custom is to go deepest first; a workshop of 2000 found no reason "
        "against the other order within {difference} for less than {shallower_than} of "
        "difference."
    ).format(
        depth=units.depth(reverse[0].deeper_by_m),
        shallower_than=units.round_depth(40),
        difference=units.round_depth(WORKSHOP_DIFFERENCE_M),
    )
    return [Finding("ascent", _("Deeper than the dive before."), words, look_here=reverse[0].beyond_workshop)]


def _about_limits(analysis: DiveAnalysis, rules: Rules, units: SpokenUnits) -> list[Finding]:
    factors = rules.factors.name
    if analysis.required_stops:
        words = _("By the model at {factors} the ceiling came to {depth}.").format(
            factors=factors, depth=units.depth(analysis.ceiling_max_m)
        )
        stops = Finding("limit", _("Stops were required."), words, look_here=True)
        return [stops, *_about_missed_stops(analysis, units)]
    if analysis.no_stop_least_min is None or analysis.no_stop_least_depth_m is None:
        return [
            Finding(
                "limit",
                _("No limit met."),
                _("No depth of this dive has a no-stop limit within 24 h at {factors}.").format(
                    factors=factors
                ),
            )
        ]
    depth = units.round_depth(analysis.no_stop_least_depth_m)
    words = _(
        "Within the no-stop limit throughout at {factors}; least margin {duration} at {depth}. "
        "Surfaced with {percent} of the surfacing limit."
    ).format(
        factors=factors,
        duration=spoken_duration(analysis.no_stop_least_min),
        depth=depth,
        percent=percent(analysis.load_end),
    )
    return [Finding("limit", _("No stop required."), words, at_s=analysis.no_stop_least_at_s)]


def _about_missed_stops(analysis: DiveAnalysis, units: SpokenUnits) -> list[Finding]:
    """Say whether the ceiling was kept; of a dive without samples nobody knows."""
    missed = analysis.missed
    if analysis.estimate:
        return []
    if not missed.any:
        return [Finding("limit", _("Ceiling kept."), _("No sample was above the ceiling of the model."))]
    found = []
    if missed.stops:
        depths = ", ".join(units.round_depth(stop.stop_depth_m) for stop in missed.stops)
        words = _("{time} min above it, by up to {depth}, while a stop was due at {depths}.").format(
            time=spoken_time(missed.minutes * 60), depth=units.depth(missed.most_above_m), depths=depths
        )
        found.append(Finding("limit", _("Above the ceiling."), words, True, missed.most_above_at_s))
    if missed.ceiling_left_m > 0:
        left = _("The model's ceiling was still at {depth} on surfacing.").format(
            depth=units.depth(missed.ceiling_left_m)
        )
        found.append(Finding("limit", _("Stops were left out."), left, look_here=True))
    return found


def _about_stops(analysis: DiveAnalysis, units: SpokenUnits) -> list[Finding]:
    if analysis.estimate or analysis.required_stops or analysis.max_depth_m <= WANTED_BEYOND_M:
        return []
    zone = _("between {shallow} and {deep}").format(
        shallow=units.round_depth(STOP_SHALLOW_M), deep=units.round_depth(STOP_DEEP_M)
    )
    beyond = units.round_depth(WANTED_BEYOND_M)
    usual = _("common practice is {minutes} min after a dive beyond {beyond}").format(
        minutes=f"{USUAL_STOP_MIN:.0f}", beyond=beyond
    )
    minutes = analysis.safety_stop_min
    if minutes >= USUAL_STOP_MIN - 0.05:
        return [Finding("stop", _("Safety stop held."), f"{spoken_duration(minutes)} {zone}.")]
    return [
        Finding(
            "stop",
            _("Short safety stop."),
            f"{spoken_time(minutes * 60)} min {zone}; {usual}.",
            look_here=True,
        )
    ]


def _about_oxygen(analysis: DiveAnalysis, rules: Rules) -> list[Finding]:
    highest = f"{number(analysis.ppo2_max_bar, '.2f')} bar"
    if outside_table(analysis.ppo2_max_bar):
        words = _(
            "Highest {highest}; the published limits end at 1.6 bar: the clock is a lower bound."
        ).format(highest=highest)
        return [Finding("oxygen", _("Outside the oxygen table."), words, look_here=True)]
    if analysis.ppo2_max_bar > rules.ppo2_limit_bar + 0.005:
        words = _("Highest {highest}; your limit is {ppo2_limit_bar} bar.").format(
            highest=highest, ppo2_limit_bar=number(rules.ppo2_limit_bar, ".1f")
        )
        return [Finding("oxygen", _("Oxygen pressure over your limit."), words, look_here=True)]
    if analysis.cns_fraction < 0.005:
        return []
    return [
        Finding(
            "oxygen",
            _("Oxygen."),
            _("Highest {highest}; oxygen clock {percent} of the single limit.").format(
                highest=highest, percent=percent(analysis.cns_fraction)
            ),
        )
    ]


def _about_density(analysis: DiveAnalysis) -> list[Finding]:
    densest = f"{number(analysis.density_max_g_l, '.1f')} g/L"
    if analysis.density_max_g_l > HIGHEST_DENSITY_G_L:
        words = _("Gas of {densest} at depth; published guidance names {density} g/L as the most.").format(
            densest=densest, density=HIGHEST_DENSITY_G_L
        )
    elif analysis.density_max_g_l > RECOMMENDED_DENSITY_G_L:
        words = _("Gas of {densest} at depth; published guidance recommends {density} g/L or less.").format(
            densest=densest, density=RECOMMENDED_DENSITY_G_L
        )
    else:
        return []
    return [Finding("gas", _("Dense gas."), words, look_here=True)]


def _about_gas(gas: GasUse, units: SpokenUnits) -> list[Finding]:
    if gas.minute_volume_l_min is None:
        return [Finding("gas", _("Minute volume."), gas.reason)] if gas.reason else []
    words = _("{minute_volume} at the surface").format(
        minute_volume=units.minute_volume(gas.minute_volume_l_min)
    )
    if gas.end_bar is None:
        return [Finding("gas", _("Gas."), f"{words}.")]
    surfaced = _("surfaced with {pressure}").format(pressure=units.pressure(gas.end_bar))
    if gas.end_bar < LITTLE_GAS_BAR:
        usual = _("common practice is to be up with {pressure} left").format(
            pressure=units.pressure(LITTLE_GAS_BAR)
        )
        return [
            Finding(
                "gas",
                _("Little gas left."),
                _("Breathed {words}; {surfaced}, {usual}.").format(
                    words=words, surfaced=surfaced, usual=usual
                ),
                look_here=True,
            )
        ]
    return [
        Finding("gas", _("Gas."), _("Breathed {words}; {surfaced}.").format(words=words, surfaced=surfaced))
    ]

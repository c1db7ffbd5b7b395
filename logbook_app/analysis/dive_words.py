"""What the page of one dive says, on the screen and in print: title, figures, findings, the record."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.field_words import (
    ENVIRONMENTS,
    ROLES,
    cylinder_words,
    extra_label,
    extra_words,
    position_of,
)
from logbook_app.analysis.profile_repair import Mended
from logbook_app.analysis.spoken_times import full_date, moment
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_duration, spoken_time
from logbook_app.analysis.words_of_files import in_words
from logbook_app.dive.record import Dive, Water
from logbook_app.language import _, later, number

ESTIMATE_WORDS = later("An estimate: no samples, the whole time is taken at the greatest depth.")
WATER_WORDS = {Water.FRESH: later("fresh water"), Water.SEA: later("sea water")}


@dataclass(frozen=True, slots=True)
class Line:
    """A label and what stands beside it."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class Said:
    """One finding: the words that stand out, the sentence, whether to look here, and when it was."""

    lead: str
    words: str
    look_here: bool
    at_s: float | None


@dataclass(frozen=True, slots=True)
class DiveSheet:
    """Everything in words on the page of one dive.

    record       what was written down and recorded, with what was worked out of it, for paper
    worked_out   of that, what nobody wrote
    """

    title: str
    about: str
    estimate: str
    figures: tuple[Line, ...]
    findings: tuple[Said, ...]
    record: tuple[Line, ...]
    worked_out: tuple[Line, ...]
    notes: str
    caution: str


def dive_sheet(view: DiveView, units: SpokenUnits) -> DiveSheet:
    """Return the words of a dive's page in the diver's units."""
    return DiveSheet(
        title=dive_name(view.dive),
        about=_about(view.dive, units),
        estimate=_(ESTIMATE_WORDS) if view.analysis.estimate else "",
        figures=tuple(_figures(view, units)),
        findings=tuple(Said(found.lead, found.words, found.look_here, found.at_s) for found in view.findings),
        record=tuple(_record(view, units)),
        worked_out=(*_worked_out(view, units), *_where_from(view, units)),
        notes=view.dive.notes,
        caution=_caution(view),
    )


def dive_name(dive: Dive) -> str:
    """Return what a dive is called: `Dive 214 · Heron Ledge`, or its day where it has neither."""
    number = _("Dive {number}").format(number=dive.number) if dive.number is not None else ""
    named = " · ".join(part for part in (number, dive.site.name if dive.site else "") if part)
    return named or _("Dive of {full_date}").format(full_date=full_date(dive.began_local))


def _about(dive: Dive, units: SpokenUnits) -> str:
    parts = [
        moment(dive.began_local),
        _("dive of {diver}").format(diver=dive.diver) if dive.diver else "",
        _("with {buddies}").format(buddies=", ".join(dive.buddies)) if dive.buddies else "",
        ", ".join(_water_and_height(dive, units)),
        _source(dive),
    ]
    return " · ".join(part for part in parts if part)


def _water_and_height(dive: Dive, units: SpokenUnits) -> Iterator[str]:
    if dive.water in WATER_WORDS:
        yield _(WATER_WORDS[dive.water])
    if dive.surface_elevation_m:
        yield _("{elevation} above sea level").format(elevation=units.elevation(dive.surface_elevation_m))


def _source(dive: Dive) -> str:
    if dive.profile_sha256 is None:
        return _("written by hand")
    return _("from a recorder file")


def _figures(view: DiveView, units: SpokenUnits) -> Iterator[Line]:
    dive, analysis, gas = view.dive, view.analysis, view.gas
    yield Line(_("Max depth"), units.depth(analysis.max_depth_m))
    if analysis.mean_depth_m is not None:
        yield Line(_("Mean depth"), units.depth(analysis.mean_depth_m))
    yield Line(_("Dive time"), spoken_duration(dive.duration_min))
    if analysis.lowest_temperature_c is not None:
        yield Line(_("Coldest"), units.temperature(analysis.lowest_temperature_c))
    if gas.minute_volume_l_min is not None:
        yield Line(_("Minute volume"), units.minute_volume(gas.minute_volume_l_min))
    if gas.used_l is not None:
        yield Line(_("Gas used"), units.gas_volume(gas.used_l))
    yield Line(_("Least no-stop"), _least_no_stop(view))
    yield Line(_("Load at surfacing"), percent(analysis.load_end))
    yield Line("CNS", percent(analysis.cns_fraction))


def _least_no_stop(view: DiveView) -> str:
    least_min = view.analysis.no_stop_least_min
    return "over 24 h" if least_min is None else spoken_duration(least_min)


def _record(view: DiveView, units: SpokenUnits) -> Iterator[Line]:
    """Yield what was written down or recorded; what nobody wrote down has no line."""
    yield from _cylinders(view, units)
    yield from _worked_out(view, units)
    yield from _written_down(view.dive, units)
    yield from _where_from(view, units)


def _worked_out(view: DiveView, units: SpokenUnits) -> Iterator[Line]:
    analysis = view.analysis
    yield Line(_("Highest ppO₂"), f"{number(analysis.ppo2_max_bar, '.2f')} bar")
    yield Line(_("Oxygen units"), f"{analysis.otu:.0f} OTU")
    if analysis.ceiling_max_m > 0:
        yield Line(_("Deepest ceiling"), units.depth(analysis.ceiling_max_m))
    yield Line(_("At the surface"), _surface(view, units))


def _where_from(view: DiveView, units: SpokenUnits) -> Iterator[Line]:
    yield from _recordings(view.dive)
    if view.mended:
        yield Line(_("Mended"), "; ".join(_mended(one, units) for one in view.mended))


def _cylinders(view: DiveView, units: SpokenUnits) -> Iterator[Line]:
    cylinders = view.dive.cylinders
    for place, cylinder in enumerate(cylinders):
        used_l = next((use.used_l for use in view.gas.cylinders if use.cylinder == place), None)
        used = (
            _(", {gas_volume} used").format(gas_volume=units.gas_volume(used_l)) if used_l is not None else ""
        )
        label = _("Cylinder") if len(cylinders) == 1 else _("Cylinder {number}").format(number=place + 1)
        yield Line(label, cylinder_words(cylinder, units) + used)


def _surface(view: DiveView, units: SpokenUnits) -> str:
    """Return the pressure at the water's surface and what it rests on."""
    dive, pressure = view.dive, f"{number(view.analysis.surface_bar, '.3f')} bar"
    if dive.surface_bar is not None:
        return _("{pressure}, as recorded").format(pressure=pressure)
    if dive.surface_elevation_m is not None:
        return _("{pressure}, from {elevation} above sea level").format(
            pressure=pressure, elevation=units.elevation(dive.surface_elevation_m)
        )
    return _("{pressure}, sea level assumed").format(pressure=pressure)


def _written_down(dive: Dive, units: SpokenUnits) -> Iterator[Line]:
    written = (
        (_("Weights"), units.weight(dive.weights_kg) if dive.weights_kg is not None else ""),
        (_("Suit"), in_words(dive.suit)),
        (_("Kit"), ", ".join(used.name for used in dive.kit)),
        (_("Visibility"), units.round_depth(dive.visibility_m) if dive.visibility_m is not None else ""),
        (_("Current"), in_words(dive.current)),
        (_("Conditions"), dive.conditions),
        (_("Air"), units.temperature(dive.air_temperature_c) if dive.air_temperature_c is not None else ""),
        (_("Purpose"), in_words(dive.purpose)),
        (_("Rating"), _("{rating} of 10").format(rating=dive.rating) if dive.rating is not None else ""),
        (_("Supervised by"), dive.supervised_by),
        (_("There for"), _(ROLES[dive.role]) if dive.role else ""),
        (_("Surroundings"), ", ".join(_(ENVIRONMENTS[each]) for each in dive.environments)),
        (_("Trip"), dive.trip),
        (_("Tags"), ", ".join(dive.tags)),
        (_("Region"), dive.site.region if dive.site else ""),
        (_("Position"), position_words(dive)),
    )
    yield from (Line(label, value) for label, value in written if value)
    if dive.extra:
        yield Line(_("Also in the file"), " · ".join(_as_in_file(*item) for item in dive.extra.items()))


def _as_in_file(name: str, value: str) -> str:
    """Return a value that has no field of its own, under a name that a diver reads."""
    return f"{extra_label(name)}: {extra_words(name, value)}"


def position_words(dive: Dive) -> str:
    """Return where the site is: `46.13120° N, 33.41270° W`, empty where not known."""
    return position_of(dive.site) if dive.site else ""


def _recordings(dive: Dive) -> Iterator[Line]:
    for recording in dive.recordings:
        if recording.recorder:
            yield Line(_("Recorder"), recording.recorder)
        if recording.file_name:
            yield Line(_("File"), recording.file_name)


def _mended(one: Mended, units: SpokenUnits) -> str:
    """Return where the figures do not rest on what was recorded; the findings say why."""
    recorded = (
        _("nothing recorded")
        if one.recorded_m is None
        else _("recorded {depth}").format(depth=units.depth(one.recorded_m))
    )
    taken = (
        _("{depth} added").format(depth=units.depth(one.taken_m))
        if one.is_added
        else _("taken as {depth}").format(depth=units.depth(one.taken_m))
    )
    return _("{kind} {begins} to {ends}, {recorded}, {taken}").format(
        kind=one.kind,
        begins=spoken_time(one.from_s),
        ends=spoken_time(one.to_s),
        recorded=recorded,
        taken=taken,
    )


def _caution(view: DiveView) -> str:
    return _(
        "Ceilings, no-stop times and loads were worked out after the dive by the model ZH-L16C "
        "with gradient factors {name}. They describe this dive and plan no other: your "
        "training, local rules and a hyperbaric physician come before them."
    ).format(name=view.rules.factors.name)

"""One `dive` element, its waypoints and what it refers to become one record."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final
from xml.etree.ElementTree import Element

import numpy as np

from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.profile import FloatArray, Profile
from logbook_app.dive.record import Dive
from logbook_app.files.read_dive import ReadDive, ReadOptions, recorded
from logbook_app.files.start_time import Precision, StartTime, parse_start
from logbook_app.files.uddf.cylinders import Carried, carried
from logbook_app.files.uddf.fields import (
    ALTITUDE_M,
    COUNT,
    DIVE_DEPTH_M,
    DIVE_TIME_S,
    INTERVAL_S,
    KEPT_AFTER,
    KEPT_BEFORE,
    MEDIUM,
    RATING,
    SURFACE_PA,
    VISIBILITY_M,
    WEIGHTS_KG,
    Fields,
    Odd,
    shown,
)
from logbook_app.files.uddf.kit_pieces import kit_id, used_kit
from logbook_app.files.uddf.own_part import RECORD, OwnSamples, Restored, restored
from logbook_app.files.uddf.references import Piece, References, ReferredSite
from logbook_app.files.uddf.unread import KEY as UNREAD_KEY
from logbook_app.files.uddf.unread import unread_text
from logbook_app.files.uddf.waypoints import Waypoints
from logbook_app.language import _, number

FEWEST_SAMPLES: Final = 2
_PERCENT_FROM: Final = 1.5  # no oxygen clock gets this far as a fraction, so it must be percent
_CNS_WRITTEN, _CNS = "recorded_cns_as_written", "recorded_cns_fraction"


@dataclass(frozen=True, slots=True)
class DescribedDive:
    """A dive that was read, with what concerns the file as a whole or the dive before it.

    start           how its start was told
    interval_min    the surface interval before it as the file states it, None where it does not
    """

    read: ReadDive
    start: StartTime
    interval_min: float | None


def describe(
    element: Element,
    waypoints: Waypoints,
    references: References,
    options: ReadOptions,
    file_name: str,
    odd: Odd,
    own: OwnSamples | None = None,
) -> DescribedDive:
    """Return the record of a dive element.

    odd  is told each value that could not be used
    own  samples from Leadline's own part of the file; None leaves that part out

    Where Leadline's own part still fits what stands beside it, the record is that of the logbook
    that wrote it, and there is nothing to say about the elements that could not hold it.

    Raises RefusedRecord where start, time or depth are missing or contradict each other.
    """
    if (element.findtext("informationbeforedive/apparatus") or "").strip() == "rebreather":
        waypoints.take_as_rebreather()
    said: dict[str, None] = {}
    described = _as_standard(element, waypoints, references, options, file_name, said.setdefault)
    whole = Restored(described.read, exact=False)
    if own is not None:
        whole = restored(_own_record(element), own, described.read, options.diver, odd)
    for what in () if whole.exact else said:
        odd(what)
    if waypoints.on_loop_without_oxygen():
        odd(
            _(
                "was dived on a rebreather and holds no oxygen pressure; loading and oxygen are worked "
                "out for open circuit on the diluent and do not hold for it"
            )
        )
    return replace(described, read=whole.read)


def _own_record(element: Element) -> str:
    inside = element.find("applicationdata")
    return next((part.text or "" for part in inside if part.tag == RECORD), "") if inside is not None else ""


def _as_standard(
    element: Element,
    waypoints: Waypoints,
    references: References,
    options: ReadOptions,
    file_name: str,
    odd: Odd,
) -> DescribedDive:
    """Return what the standard's elements say."""
    before = Fields(element.find("informationbeforedive"), odd)
    after = Fields(element.find("informationafterdive"), odd)
    linked = _linked(element, references, odd)
    start = _start(before, linked.site, options, odd)
    waypoints.report(odd)
    gear = carried(element, waypoints, references, odd)
    profile = _profile(waypoints, gear, odd)
    interval_s = (
        before.number("surfaceintervalbeforedive/passedtime", INTERVAL_S) if _finite(before) else None
    )
    dive = Dive(
        began_at=start.at,
        utc_offset_min=start.utc_offset_min,
        duration_min=_duration_min(after, profile),
        max_depth_m=_max_depth_m(after, profile),
        mean_depth_m=after.number("averagedepth", DIVE_DEPTH_M),
        number=before.whole("divenumber", COUNT),
        diver=options.diver,
        site=linked.site.site if linked.site else None,
        surface_bar=before.bar("surfacepressure", SURFACE_PA),
        elevation_m=before.number("altitude", ALTITUDE_M),
        cylinders=gear.cylinders,
        weights_kg=_weights_kg(element, odd),
        suit=linked.named("suit") or ("none" if "nosuit" in before else ""),
        kit=() if options.diver else used_kit(linked.pieces, references.generator),
        air_temperature_c=before.celsius("airtemperature"),
        lowest_temperature_c=after.celsius("lowesttemperature"),
        visibility_m=after.number("visibility", VISIBILITY_M),
        current=after.text("current"),
        buddies=linked.buddies,
        purpose=before.text("purpose"),
        notes=after.paragraphs("notes"),
        rating=after.whole("rating/ratingvalue", RATING),
        trip=linked.trip,
        estimate=profile is None,
        extra=_extra(before, after, linked, references, start)
        | _consumption(element)
        | _unread(element, waypoints),
    )
    recorder = linked.named("divecomputer") or references.generator
    read = recorded(dive, profile, recorder=recorder, file_name=file_name)
    return DescribedDive(read, start, None if interval_s is None else interval_s / 60.0)


@dataclass(frozen=True, slots=True)
class _Linked:
    """What the links of one dive lead to."""

    site: ReferredSite | None
    buddies: tuple[str, ...]
    pieces: tuple[Piece, ...]
    generator: str
    trip: str
    medium: str

    def named(self, kind: str) -> str:
        return "; ".join(piece.name for piece in self.pieces if piece.kind == kind and piece.name)

    @property
    def other_equipment(self) -> str:
        kinds = {"suit", "divecomputer", "tank"}
        return "; ".join(
            f"{piece.kind}: {piece.name}"
            for piece in self.pieces
            if piece.kind not in kinds and not kit_id(piece, self.generator)
        )


# Older 3.0 documentation puts links directly under the dive.
_LINK_PLACES: Final = (
    "link",
    "equipmentused/link",
    "informationbeforedive/link",
    "informationbeforedive/tripmembership",
    "informationbeforedive/equipmentused/link",
    "informationafterdive/equipmentused/link",
)
_FROM_NOTES: Final = "informationafterdive/notes/link"


def _linked(dive: Element, references: References, odd: Odd) -> _Linked:
    fields = Fields(dive, odd)
    refs = list(dict.fromkeys(ref for place in _LINK_PLACES for ref in fields.refs(place)))
    noted = fields.refs(_FROM_NOTES)
    for ref in dict.fromkeys([*refs, *noted]):
        if ref not in references:
            odd(_('links to "{ref}", which the file does not define; the link was left out').format(ref=ref))
    sites = [references.sites[ref] for ref in refs if ref in references.sites]
    if len(sites) > 1:
        odd(
            _("links to {count} sites; the first, {name}, was kept").format(
                count=len(sites), name=sites[0].site.name
            )
        )
    return _Linked(
        site=sites[0] if sites else None,
        buddies=_unique(references.people[ref] for ref in refs if ref in references.people),
        pieces=tuple(references.pieces[ref] for ref in refs if ref in references.pieces),
        generator=references.generator,
        trip=references.trip_of(dive.get("id", "").strip(), refs),
        medium=next((references.media[ref] for ref in noted if ref in references.media), ""),
    )


def _unique(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for name in names if name))


def _start(before: Fields, site: ReferredSite | None, options: ReadOptions, odd: Odd) -> StartTime:
    text = before.text("datetime")
    if not text:
        raise RefusedRecord(_("it has no start (datetime)"))
    try:
        start = parse_start(text, options.utc_offset_min, site.utc_offset_min if site else None)
    except ValueError as error:
        raise RefusedRecord(_("its start (datetime) cannot be read: {error}").format(error=error)) from error
    if start.precision is not Precision.TIME:
        day = _("the first day of the month") if start.precision is Precision.MONTH else _("that day")
        odd(
            _("its start is only told as {shown}; it was kept at noon of {day}, please correct it").format(
                shown=shown(text), day=day
            )
        )
    return start


def _profile(waypoints: Waypoints, gear: Carried, odd: Odd) -> Profile | None:
    if len(waypoints) < FEWEST_SAMPLES:
        if waypoints.seen:
            odd(
                _("{count} usable samples are no profile; the dive counts as one without samples").format(
                    count=len(waypoints)
                )
            )
        return None
    channels = _with_oxygen_clock(waypoints.channels(), odd)
    channels |= {f"pressure_bar_{place}": column for place, column in sorted(gear.pressures_bar.items())}
    return Profile(
        time_s=waypoints.time_s,
        depth_m=waypoints.depth_m,
        channels=channels,
        switches=gear.switches,
        remarks=tuple(sorted(waypoints.remarks, key=lambda remark: remark.time_s)),
    )


def _with_oxygen_clock(channels: dict[str, FloatArray], odd: Odd) -> dict[str, FloatArray]:
    """Settle whether the recorder's CNS is in percent or a fraction, or leave it as written.

    The standard does not say which. Above 1.5 it can only be percent; zero is zero in both.
    """
    if _CNS_WRITTEN not in channels:
        return channels
    most = float(np.nanmax(channels[_CNS_WRITTEN]))
    if 0.0 < most <= _PERCENT_FROM:
        odd(
            _("cns up to {most} may be percent or a fraction; it was kept as written and is not used").format(
                most=number(most, "g")
            )
        )
        return channels
    channels[_CNS] = channels.pop(_CNS_WRITTEN) / 100.0
    return channels


def _duration_min(after: Fields, profile: Profile | None) -> float:
    stated_s = after.number("diveduration", DIVE_TIME_S)
    if stated_s is not None:
        return stated_s / 60.0
    if profile is None:
        raise RefusedRecord(_("it has neither a duration (diveduration) nor samples that show it"))
    return float(profile.time_s[-1]) / 60.0


def _max_depth_m(after: Fields, profile: Profile | None) -> float:
    stated_m = after.number("greatestdepth", DIVE_DEPTH_M)
    if stated_m is not None:
        return stated_m
    if profile is None:
        raise RefusedRecord(_("it has neither a greatest depth (greatestdepth) nor samples that show it"))
    return float(profile.depth_m.max())


def _consumption(dive: Element) -> dict[str, str]:
    """Return the consumption that a file states; whether at the surface or at depth it does not say."""
    told = [tankdata.findtext("breathingconsumptionvolume", "").strip() for tankdata in dive.iter("tankdata")]
    return {"uddf:breathingconsumptionvolume": "; ".join(filter(None, told))} if any(told) else {}


def _unread(dive: Element, waypoints: Waypoints) -> dict[str, str]:
    text = unread_text(dive, waypoints.unread)
    return {UNREAD_KEY: text} if text else {}


def _weights_kg(dive: Element, odd: Odd) -> float | None:
    for used in dive.iter("equipmentused"):
        weights_kg = Fields(used, odd).number("leadquantity", WEIGHTS_KG)
        if weights_kg is not None:
            return weights_kg
    return None


def _finite(before: Fields) -> bool:
    """Tell whether a surface interval is stated; a documentation example writes "infinity" in it."""
    return not before.text("surfaceintervalbeforedive/passedtime").casefold().startswith("infinit")


def _extra(
    before: Fields, after: Fields, linked: _Linked, references: References, start: StartTime
) -> dict[str, str]:
    """Return what the record has no field for, under the names of the standard."""
    told = {name: before.text(name) for name in sorted(KEPT_BEFORE)}
    told |= {name: after.text(name) for name in sorted(KEPT_AFTER)}
    for name, fields in (("surfaceintervalbeforedive", before), ("surfaceintervalafterdive", after)):
        told[name] = "infinity" if f"{name}/infinity" in fields else fields.text(f"{name}/passedtime")
    told["anysymptoms"] = after.paragraphs("anysymptoms/notes")
    told["equipmentused"] = linked.other_equipment
    told[MEDIUM] = linked.medium
    told["owner"] = references.owner
    told["datetime"] = before.text("datetime") if not start.sure else ""
    extra = {f"uddf:{name}": text for name, text in told.items() if text}
    return {**(linked.site.extra if linked.site else {}), **extra}

"""What the Settings room says beside its choices: what they change, what rests on what, what is never shared.

The functions are asked in the worker: the first one loads numpy.
"""

from __future__ import annotations

import platform
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from logbook_app import __version__
from logbook_app.analysis.spoken_times import clock_time, full_date
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.record import Dive
from logbook_app.language import _, later
from logbook_app.physics.gradient_factors import GradientFactors

ABOUT = later(
    "Leadline {version} is for the time between dives. It is not a dive computer and never "
    "advises a diver under water."
)
MODEL = later(
    "Residual load, no-stop times and ceilings come from the Bühlmann ZH-L16C model with gradient "
    "factors. Time to fly is the latest of the consensus guideline for flying after recreational "
    "diving (workshop of 2002), the US Navy Diving Manual, Revision 7, where the dives fit its "
    "tables, and the model at a cabin altitude of 2,438 m (ISO 2533). Oxygen follows the limits of "
    "the NOAA Diving Manual, and its allowance for several days the REPEX method. A dive without "
    "samples is taken as square at its greatest depth and called an estimate."
)
CAUTION = later(
    "No model knows the diver. Cold, work, age, illness and dehydration are not in it, and divers "
    "are bent inside every limit. Your training, local rules and a hyperbaric physician come first. "
    "With any symptom after a dive: oxygen, and call a physician."
)
LICENCES = later(
    "Leadline is free software under the Apache License 2.0. The typeface is IBM Plex Sans (SIL Open Font "
    "License 1.1), the icons are from Material Design Icons (Apache License 2.0). It is built with Python, "
    "Kivy, NumPy, SQLite, sqlite-utils, click, defusedxml, platformdirs, plyer, ReportLab and Requests, each "
    "under its own free licence."
)
SHOWN_DEPTHS_M = (18.0, 30.0)
LONGEST_SHOWN = 60  # letters of a note


def about() -> str:
    """Return what Leadline is, with its version."""
    return _(ABOUT).format(version=__version__)


def versions() -> str:
    """Return the versions that a question about a figure should name."""
    import kivy

    from logbook_app.analysis.dive_analysis import MODEL_VERSION

    return _("Leadline {leadline}, model {model}, Kivy {kivy}, Python {python}.").format(
        leadline=__version__, model=MODEL_VERSION, kivy=kivy.__version__, python=platform.python_version()
    )


def factors_effect(factors: GradientFactors, units: SpokenUnits) -> str:
    """Return what the factors mean for a rested diver, beside what 40/85 would."""
    usual = GradientFactors()
    sentence = _("Rested, on air at sea level, without a stop: {limits}.").format(
        limits=_limits(factors, units)
    )
    if factors.high == usual.high:
        return sentence
    return (
        sentence
        + " "
        + _("With {factors}: {limits}.").format(factors=usual.name, limits=_limits(usual, units))
    )


def _limits(factors: GradientFactors, units: SpokenUnits) -> str:
    from logbook_app.physics.breathing_gas import AIR
    from logbook_app.physics.constants import STANDARD_PRESSURE_BAR
    from logbook_app.physics.no_stop_limit import no_stop_at_depths
    from logbook_app.physics.tissue_loading import saturated_on_air

    rested = saturated_on_air(STANDARD_PRESSURE_BAR)
    limits_min = no_stop_at_depths(rested, SHOWN_DEPTHS_M, AIR, STANDARD_PRESSURE_BAR, gf_high=factors.high)
    at_depth = _("{depth} for {minutes} min")
    return ", ".join(
        at_depth.format(depth=units.round_depth(depth_m), minutes=int(limit_min))
        for depth_m, limit_min in zip(SHOWN_DEPTHS_M, limits_min, strict=True)
    )


def backup_words(at: datetime | None, path: str, today: datetime) -> str:
    """Return when the last backup was made and where it went."""
    if at is None:
        return _("There is no backup yet. A lost or broken device would take your logbook with it.")
    local = at.astimezone(today.tzinfo)
    return _("Last backup {date}, {time}, to {path}").format(
        date=full_date(local), time=clock_time(local), path=path
    )


def privacy(club: Any) -> str:
    """Return who sees what is written here.

    club   where the logbook stands with its club
    """
    if not club.joined:
        return _(
            "Nothing leaves this device unless you write a file and give it away. You belong to no club here,"
            " so nobody else sees any of it."
        )
    return _(
        "You belong to {club}. A sync copies your dives, samples, photos, kit and limits to its server for"
        " your other devices. Other members see the dives that you show them, and of those only what you"
        " chose; who looks after the server can see all of it."
    ).format(club=club.club)


def never_shared(dive: Dive | None) -> tuple[tuple[str, str], ...]:
    """Return the fields that are a diver's own business, as they stand in a dive."""
    if dive is None:
        return tuple((_(name), "") for name in _PRIVATE)
    return tuple(zip(map(_, _PRIVATE), _private_values(dive), strict=True))


_PRIVATE = (
    later("Notes"),
    later("Exact position"),
    later("Rating"),
    later("Tags"),
    later("Trip"),
)


def _private_values(dive: Dive) -> Iterator[str]:
    site = dive.site
    place = ""
    if site and site.latitude_deg is not None and site.longitude_deg is not None:
        place = f"{site.latitude_deg:.4f}, {site.longitude_deg:.4f}"
    notes = " ".join(dive.notes.split())
    yield notes if len(notes) <= LONGEST_SHOWN else notes[: LONGEST_SHOWN - 1].rstrip() + "…"
    yield place
    yield "" if dive.rating is None else str(dive.rating)
    yield ", ".join(dive.tags)
    yield dive.trip

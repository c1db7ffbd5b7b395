"""The names of UDDF 3.0 to 3.3 that a dive is read from, and how one value is read.

UDDF writes SI units only: metre, second, kelvin, pascal, cubic metre, kilogram, fractions of one
(UDDF 3.2.x documentation, "Conventions"). Files are met that write degrees Celsius, bar or litres
in their place. Nothing is converted on suspicion: a value that cannot be in the unit that the
standard asks for is left out and reported, and the diver decides.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Final
from xml.etree.ElementTree import Element  # the class only; parsing is defusedxml's

from logbook_app.dive.cylinder import HIGHEST_CYLINDER_BAR, LARGEST_CYLINDER_L
from logbook_app.dive.record import (
    GREATEST_DEPTH_M,
    HIGHEST_SURFACE_BAR,
    LONGEST_DIVE_MIN,
    LOWEST_SURFACE_BAR,
)
from logbook_app.language import _, later
from logbook_app.physics.ambient_pressure import HIGHEST_ELEVATION_M, LOWEST_ELEVATION_M
from logbook_app.physics.units import bar_from_pascals, celsius_from_kelvin


def _names(words: str) -> frozenset[str]:
    return frozenset(words.split())


SECTIONS: Final = _names(
    "generator mediadata maker business diver divesite divetrip gasdefinitions decomodel profiledata "
    "tablegeneration divecomputercontrol"
)

EQUIPMENT: Final = _names(
    "boots buoyancycontroldevice camera compass compressor divecomputer equipmentconfiguration fins gloves "
    "knife lead light mask rebreather regulator scooter suit tank variouspieces videocamera watch"
)

MEDIA: Final = _names("audio image video")
MEDIUM: Final = "notes.link"
"""Name in `Dive.extra`, after "uddf:", of the picture, film or sound that the notes of a dive refer to."""

# Elements of a dive whose text has no field of its own in the record; they are kept as written.
KEPT_BEFORE: Final = _names("divenumberofday internaldivenumber apparatus platform stateofrestbeforedive")
KEPT_AFTER: Final = _names(
    "diveplan equipmentmalfunction pressuredrop problems program thermalcomfort workload "
    "desaturationtime noflighttime divetable globalalarmsgiven highestpo2"
)

# What a waypoint holds: numbers that were measured, and what is marked at that instant.
MEASURED: Final = _names(
    "batterychargecondition bodytemperature calculatedpo2 cns depth divetime gradientfactor heading "
    "heartrate measuredpo2 nodecotime otu ppo2 pulserate remainingbottomtime remainingo2time setpo2 "
    "tankpressure temperature timetosurface"
)
MARKED: Final = _names("alarm decostop divemode setmarker switchmix switchtank")

_TANKDATA: Final = _names("link tankvolume tankpressurebegin tankpressureend breathingconsumptionvolume")

# What may stand where. Whatever else stands there is passed over and named in the report.
CHILDREN: Final[Mapping[str, frozenset[str]]] = {
    "uddf": SECTIONS,
    "profiledata": _names("repetitiongroup dive"),
    "repetitiongroup": _names("dive"),
    "dive": _names("applicationdata link equipmentused informationbeforedive tankdata tankused samples")
    | _names("informationafterdive"),
    "applicationdata": _names("leadline:record leadline:samples"),
    "informationbeforedive": KEPT_BEFORE
    | _names("link divenumber datetime airtemperature surfaceintervalbeforedive altitude equipmentused")
    | _names("tankused purpose tripmembership nosuit surfacepressure"),
    "informationafterdive": KEPT_AFTER
    | _names("lowesttemperature greatestdepth visibility current notes rating anysymptoms diveduration")
    | _names("averagedepth equipmentused surfaceintervalafterdive"),
    "surfaceintervalbeforedive": _names("infinity passedtime"),
    "surfaceintervalafterdive": _names("infinity passedtime"),
    "equipmentused": _names("leadquantity link tankused"),
    "tankused": _TANKDATA | _names("tankdata"),
    "tankdata": _TANKDATA,
    "samples": _names("waypoint"),
    "waypoint": MEASURED | MARKED,
    "anysymptoms": _names("notes"),
    "notes": _names("para link"),
    "para": frozenset(),
    "rating": _names("datetime ratingvalue"),
    "gasdefinitions": _names("mix"),
    "mix": _names("name aliasname o2 n2 he ar h2 priceperlitre maximumpo2 maximumoperationdepth")
    | _names("equivalentairdepth"),
    "diver": _names("owner buddy"),
    "divesite": _names("divebase site"),
    "divetrip": _names("trip"),
    "mediadata": MEDIA,
}

TIDY_PLACES: Final = 9

Odd = Callable[[str], None]
"""Takes one sentence about a value that could not be used."""


def parse_number(text: str | None) -> float | None:
    """Return the number that a text is, None where it is none or not finite.

    >>> parse_number(" 1.43e7 "), parse_number("3.0.1"), parse_number("NaN")
    (14300000.0, None, None)
    """
    if text is None or "_" in text:  # float() reads 1_000, XML Schema does not
        return None
    try:
        number = float(text)
    except ValueError:
        return None
    return number if isfinite(number) else None


def shown(text: str | None) -> str:
    """Return a value as it is quoted in a problem: on one line, and not endless."""
    words = " ".join((text or "").split())
    return f'"{words[:40]}…"' if len(words) > 40 else f'"{words}"'


@dataclass(frozen=True, slots=True)
class Span:
    """What a value in the standard's unit can be; anything else is a mistake or another unit.

    why  what is wrong with a value outside, as it follows the value in a problem
    """

    least: float
    most: float
    why: str

    def holds(self, number: float) -> bool:
        """Tell whether a value can be meant."""
        return self.least <= number <= self.most


KELVIN: Final = Span(100.0, 400.0, later("which is no temperature in kelvin"))
GAUGE_PA: Final = Span(1000.0, HIGHEST_CYLINDER_BAR * 1e5, later("which is no cylinder pressure in pascals"))
SURFACE_PA: Final = Span(
    LOWEST_SURFACE_BAR * 1e5, HIGHEST_SURFACE_BAR * 1e5, later("which is no surface pressure in pascals")
)
TANK_M3: Final = Span(1e-5, LARGEST_CYLINDER_L / 1000.0, later("which is no cylinder volume in cubic metres"))
DIVE_DEPTH_M: Final = Span(1e-3, GREATEST_DEPTH_M, later("which is outside 0 to 350 m"))
DIVE_TIME_S: Final = Span(1e-3, LONGEST_DIVE_MIN * 60.0, later("which is outside 0 to 48 hours in seconds"))
ALTITUDE_M: Final = Span(
    LOWEST_ELEVATION_M, HIGHEST_ELEVATION_M, later("which is no elevation of water in metres")
)
WEIGHTS_KG: Final = Span(0.0, 60.0, later("which is outside 0 to 60 kg"))
VISIBILITY_M: Final = Span(0.0, 200.0, later("which is outside 0 to 200 m"))
INTERVAL_S: Final = Span(0.0, 1e9, later("which is no interval in seconds"))
DENSITY_KG_M3: Final = Span(900.0, 1400.0, later("which is no density of water in kg/m3"))
LATITUDE_DEG: Final = Span(-90.0, 90.0, later("which is outside -90 to 90 degrees"))
LONGITUDE_DEG: Final = Span(-180.0, 180.0, later("which is outside -180 to 180 degrees"))
TIMEZONE_H: Final = Span(-14.0, 14.0, later("which is outside -14 to 14 hours"))
FRACTION: Final = Span(0.0, 1.0, later("which is no fraction of 0 to 1"))
COUNT: Final = Span(1.0, 1e6, later("which is no count from 1"))
RATING: Final = Span(1.0, 10.0, later("which is outside 1 to 10"))


class Fields:
    """One element and a way to say what in it could not be used.

    Paths are child names, as in "geography/latitude". Each method gives None for what is not
    there, and for what cannot be used after telling `odd` so.
    """

    def __init__(self, element: Element | None, odd: Odd) -> None:
        self._element = element if element is not None else Element("nothing")
        self._odd = odd

    def __contains__(self, path: str) -> bool:
        return self._element.find(path) is not None

    def part(self, path: str) -> Fields:
        """Return the fields of a child, empty where it is not there."""
        return Fields(self._element.find(path), self._odd)

    def all(self, path: str) -> list[Element]:
        """Return every element at a path, in the order of the file."""
        return self._element.findall(path)

    def refs(self, path: str = "link") -> list[str]:
        """Return the ids that the links at a path name."""
        return [ref for element in self.all(path) if (ref := element.get("ref", "").strip())]

    def text(self, path: str) -> str:
        """Return a text with its ends trimmed, empty where it is not there."""
        return (self._element.findtext(path) or "").strip()

    def number(self, path: str, span: Span) -> float | None:
        """Return a number in the unit of the standard."""
        text = self._element.findtext(path)
        if text is None:
            return None
        number = parse_number(text)
        if number is None:
            self._odd(_("{path} {text} is not a number and was left out").format(path=path, text=shown(text)))
        elif not span.holds(number):
            sentence = _("{path} is {text}, {why}; it was left out")
            self._odd(sentence.format(path=path, text=shown(text), why=_(span.why)))
            return None
        return number

    def whole(self, path: str, span: Span) -> int | None:
        """Return a whole number."""
        number = self.number(path, span)
        if number is None or number == int(number):
            return None if number is None else int(number)
        sentence = _("{path} {text} is not a whole number and was left out")
        self._odd(sentence.format(path=path, text=shown(self.text(path))))
        return None

    def celsius(self, path: str) -> float | None:
        """Return a temperature, written in kelvin. [deg C]"""
        kelvin = self.number(path, KELVIN)
        return None if kelvin is None else tidy(celsius_from_kelvin(kelvin))

    def bar(self, path: str, span: Span) -> float | None:
        """Return a pressure, written in pascals. [bar]"""
        pascals = self.number(path, span)
        return None if pascals is None else tidy(bar_from_pascals(pascals))

    def litres(self, path: str) -> float | None:
        """Return a cylinder volume, written in cubic metres. [L]"""
        cubic_metres = self.number(path, TANK_M3)
        return None if cubic_metres is None else tidy(cubic_metres * 1000.0)

    def paragraphs(self, path: str) -> str:
        """Return a notes element as text, its paragraphs parted by an empty line."""
        notes = self._element.find(path)
        if notes is None:
            return ""
        texts = [notes.text, *(para.text for para in notes.findall("para"))]
        return "\n\n".join(text.strip() for text in texts if text and text.strip())


def tidy(value: float) -> float:
    """Return a converted value without the dust of binary fractions: 287.15 K is 14 degrees."""
    return round(value, TIDY_PLACES)

"""Figures as the diver reads them: each quantity in the unit they chose, and the unit always said.

Everything inside Leadline is in metres, bar, litres and degrees Celsius; this is the last step
before a person. The decimals are those a recorder's own resolution supports; the decimal mark is that
of the language that is spoken.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from logbook_app.dive.unit_choice import UnitChoice, unit_choice
from logbook_app.language import _, ngettext, number
from logbook_app.physics.units import (
    cubic_feet_from_litres,
    fahrenheit_from_celsius,
    feet_from_metres,
    pounds_from_kilograms,
    psi_from_bar,
)

NARROW_SPACE = "\u202f"  # between thousands, so that a number is never broken over two lines


@dataclass(frozen=True, slots=True)
class SpokenUnits:
    """Words for quantities in the diver's units.

    units   `metric`, `imperial` or a unit for each quantity: see `unit_choice`
    """

    units: str = "metric"
    of: UnitChoice = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "of", unit_choice(self.units))

    @property
    def metric(self) -> bool:
        """True where depths are in metres."""
        return self.of.depth == "m"

    def depth(self, depth_m: float) -> str:
        """Return `28.4 m` or `93 ft`."""
        return number(depth_m, ".1f") + " m" if self.metric else f"{feet_from_metres(depth_m):.0f} ft"

    def round_depth(self, depth_m: float) -> str:
        """Return a depth without decimals: `28 m` or `93 ft`."""
        return f"{depth_m:.0f} m" if self.metric else f"{feet_from_metres(depth_m):.0f} ft"

    def elevation(self, elevation_m: float) -> str:
        """Return `2 438 m` or `8 000 ft`, above sea level."""
        if self.metric:
            return f"{thousands(elevation_m)} m"
        return f"{thousands(float(feet_from_metres(elevation_m)))} ft"

    def rate(self, rate_m_min: float) -> str:
        """Return a vertical speed: `13 m/min` or `43 ft/min`."""
        return f"{rate_m_min:.0f} m/min" if self.metric else f"{feet_from_metres(rate_m_min):.0f} ft/min"

    def pressure(self, pressure_bar: float) -> str:
        """Return a cylinder's gauge pressure: `142 bar` or `2 060 psi`."""
        if self.of.pressure == "bar":
            return f"{pressure_bar:.0f} bar"
        return f"{thousands(round(float(psi_from_bar(pressure_bar)), -1))} psi"

    def temperature(self, temperature_c: float) -> str:
        """Return `9 °C` or `48 °F`."""
        if self.of.temperature == "°C":
            return f"{temperature_c:.0f} °C"
        return f"{fahrenheit_from_celsius(temperature_c):.0f} °F"

    def gas_volume(self, volume_l: float) -> str:
        """Return a volume of free gas: `2 010 L` or `71.0 cu ft`."""
        if self.of.volume == "L":
            return f"{thousands(volume_l)} L"
        return number(cubic_feet_from_litres(volume_l), ".1f") + " cu ft"

    def cylinder_volume(self, volume_l: float) -> str:
        """Return a cylinder's water volume: `12 L`, or `12 L (0.42 cu ft) of water`.

        In cubic feet alone it would be taken for the gas that the cylinder holds, another figure.
        """
        litres = number(volume_l, ".3g") + " L"
        if self.of.volume == "L":
            return litres
        return _("{litres} ({cubic_feet} cu ft) of water").format(
            litres=litres, cubic_feet=number(cubic_feet_from_litres(volume_l), ".2f")
        )

    def minute_volume(self, minute_volume_l_min: float) -> str:
        """Return gas breathed a minute at the surface: `16.8 L/min` or `0.59 cu ft/min`."""
        if self.of.volume == "L":
            return number(minute_volume_l_min, ".1f") + " L/min"
        return number(cubic_feet_from_litres(minute_volume_l_min), ".2f") + " cu ft/min"

    def weight(self, weight_kg: float) -> str:
        """Return `6 kg` or `13 lb`."""
        return (
            number(weight_kg, "g") + " kg"
            if self.of.weight == "kg"
            else f"{pounds_from_kilograms(weight_kg):.0f} lb"
        )


def spoken_duration(minutes: float) -> str:
    """Return whole minutes as `47 min`, `2 h 15 min` or `3 d 4 h`."""
    whole = max(0, int(minutes))
    if whole < 60:
        return f"{whole} min"
    if whole < 48 * 60:
        return f"{whole // 60} h {whole % 60:02d} min"
    return _("{days} d {hours} h").format(days=whole // 1440, hours=whole % 1440 // 60)


def spoken_time(seconds: float) -> str:
    """Return a time on the profile as `18:00`, minutes and seconds."""
    whole = int(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def spoken_dives(count: int) -> str:
    """Return a number of dives: `1 dive` or `12 dives`."""
    return ngettext("{count} dive", "{count} dives", count).format(count=thousands(count))


def percent(fraction: float) -> str:
    """Return a fraction as whole percent; what is under half a percent but above none says so."""
    if 0 < fraction < 0.005:
        return _("under 1 %")
    return f"{fraction * 100:.0f} %"


def thousands(value: float) -> str:
    """Return a whole number with narrow spaces between its thousands."""
    return f"{value:,.0f}".replace(",", NARROW_SPACE)

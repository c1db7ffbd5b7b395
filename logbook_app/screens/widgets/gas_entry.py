"""What was breathed: the gases of the last dives first, then nitrox by its oxygen, then trimix.

The greatest depth for the diver's oxygen limit stands below, because a slip in the gas shows there.
"""

from __future__ import annotations

import math
from typing import Any

from kivy.properties import ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.analysis.physics_sentences import gas_title
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.language import _, number
from logbook_app.physics.ambient_pressure import ambient_bar
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.constants import STANDARD_PRESSURE_BAR
from logbook_app.physics.equivalent_depths import maximum_operating_depth_m
from logbook_app.physics.units import feet_from_metres, metres_from_feet
from logbook_app.screens.entry_units import HELIUM_PERCENT, OXYGEN_PERCENT
from logbook_app.screens.kv_files import KvBeside

NITROX, TRIMIX = "nitrox", "trimix"
FIRST_NITROX = BreathingGas(0.32)
FIRST_TRIMIX = BreathingGas(0.21, 0.35)
# The least share of oxygen that is breathed at the surface. Common practice, no source.
LEAST_OXYGEN_AT_SURFACE = 0.16


class GasEntry(KvBeside, BoxLayout):
    """Chips, steppers for the shares, and what the gas allows. Event: `on_choice(gas)`."""

    __events__ = ("on_choice",)

    name = StringProperty("")
    """Tells it from another on the same page: what tests find by begins with it and a dash."""

    gas = ObjectProperty(None, allownone=True)
    """The gas chosen, None while none is."""

    offered = ListProperty([])
    """Gases of the last dives, most recent first."""

    max_depth_m = NumericProperty(None, allownone=True)
    """Greatest depth of the dive, where it is known."""

    ppo2_limit_bar = NumericProperty(1.4)
    """The diver's limit of oxygen."""

    surface_bar = NumericProperty(STANDARD_PRESSURE_BAR)
    """Pressure of the air where the dive begins."""

    unit_system = StringProperty("metric")
    """The diver's units."""

    own_mix = StringProperty("")
    """`nitrox` or `trimix` while the diver sets the shares; else a chip names the gas."""

    def choose(self, chosen: list[str]) -> None:
        """Take a chip: a gas by its name, or a mix to set."""
        (answer,) = chosen
        self.own_mix = answer if answer in (NITROX, TRIMIX) else ""
        gases = {gas.name: gas for gas in offered_gases(self.offered)}
        self.dispatch("on_choice", gases.get(answer) or first_mix(self.own_mix, self.gas))

    def set_share(self, field: str, percent: float) -> None:
        """Take a share in percent; the other gives way where both would be more than the whole."""
        self.dispatch("on_choice", with_share(self.gas or AIR, field, percent))

    def on_choice(self, gas: BreathingGas) -> None:
        """The diver chose a gas."""

    def on_gas(self, *_args: Any) -> None:
        """Show the shares of a gas that no chip names."""
        gases = [gas.name for gas in offered_gases(self.offered)]
        if self.gas is not None and not self.own_mix and self.gas.name not in gases:
            self.own_mix = TRIMIX if self.gas.helium else NITROX


def offered_gases(recent: list[BreathingGas]) -> list[BreathingGas]:
    """Return the gases offered as chips: up to four of the last dives, and air."""
    gases = list(dict.fromkeys([*recent[:4], AIR]))
    return [gas for at, gas in enumerate(gases) if gas.name not in {other.name for other in gases[:at]}]


def gas_answers(recent: list[BreathingGas]) -> list[tuple[str, str]]:
    """Return the chips: gases by name, then the mixes to set."""
    named = [(gas.name, gas_title(gas)) for gas in offered_gases(recent)]
    nitrox = _("Another nitrox") if any(name.startswith("nitrox") for name, _ in named) else _("Nitrox")
    trimix = _("Another trimix") if any(name.startswith("trimix") for name, _ in named) else _("Trimix")
    return [*named, (NITROX, nitrox), (TRIMIX, trimix)]


def first_mix(kind: str, gas: BreathingGas | None) -> BreathingGas:
    """Return what a mix starts from: the gas so far where it is of that kind, else a common one."""
    if kind == TRIMIX:
        return gas if gas is not None and gas.helium else FIRST_TRIMIX
    return gas if gas is not None and not gas.helium and gas.name != AIR.name else FIRST_NITROX


def with_share(gas: BreathingGas, field: str, percent: float) -> BreathingGas:
    """Return a gas with another share of `oxygen` or `helium`; the other gives way to make a whole.

    >>> with_share(BreathingGas(0.21, 0.35), "oxygen", 80.0)
    BreathingGas(oxygen=0.8, helium=0.2)
    """
    asked = OXYGEN_PERCENT if field == "oxygen" else HELIUM_PERCENT
    share = round(min(max(percent, asked.least), asked.most) / 100, 4)
    if field == "oxygen":
        return BreathingGas(share, min(gas.helium, round(1 - share, 4)))
    return BreathingGas(min(gas.oxygen, round(1 - share, 4)), share)


def what_gas_allows(
    gas: BreathingGas, ppo2_limit_bar: float, unit_system: str, surface_bar: float = STANDARD_PRESSURE_BAR
) -> str:
    """Return the greatest depth for the diver's oxygen limit in words, rounded towards the surface."""
    depth_m = _rounded_up(maximum_operating_depth_m(gas, ppo2_limit_bar, surface_bar), unit_system)
    return _(
        "{gas}: greatest depth {depth} at your limit of {ppo2_limit_bar} bar of oxygen. "
        "It holds only for the gas that you analysed yourself."
    ).format(
        gas=gas_title(gas),
        depth=SpokenUnits(unit_system).depth(depth_m),
        ppo2_limit_bar=number(ppo2_limit_bar, ".2f"),
    )


def gas_caution(gas: BreathingGas, max_depth_m: float | None, ppo2_limit_bar: float, unit_system: str) -> str:
    """Return what is odd about the gas at the dive's greatest depth, empty where nothing is."""
    if gas.oxygen < LEAST_OXYGEN_AT_SURFACE:
        return _("Under 16 % oxygen: too little to breathe at the surface. Check the share.")
    if max_depth_m is None or max_depth_m <= 0:
        return ""
    ppo2_bar = ambient_bar(max_depth_m, STANDARD_PRESSURE_BAR) * gas.oxygen
    if ppo2_bar <= ppo2_limit_bar + 0.005:
        return ""
    return _(
        "At {depth} that is {ppo2_bar} bar of oxygen, over your limit of {ppo2_limit_bar} bar. "
        "Check the gas and the depth."
    ).format(
        depth=SpokenUnits(unit_system).depth(max_depth_m),
        ppo2_bar=number(ppo2_bar, ".2f"),
        ppo2_limit_bar=number(ppo2_limit_bar, ".2f"),
    )


def _rounded_up(depth_m: float, unit_system: str) -> float:
    """Return a depth rounded towards the surface, to 0.1 m or 1 ft."""
    if not SpokenUnits(unit_system).metric:
        return metres_from_feet(math.floor(feet_from_metres(depth_m) + 1e-9))
    return math.floor(depth_m * 10 + 1e-9) / 10


if __name__ == "__main__":  # a demonstration: python -m logbook_app.screens.widgets.gas_entry
    from logbook_app.screens.widgets.alone import show_alone

    show_alone(lambda: GasEntry(offered=[FIRST_NITROX], gas=FIRST_TRIMIX, max_depth_m=60.0))

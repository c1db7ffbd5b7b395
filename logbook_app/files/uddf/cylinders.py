"""Which cylinders a dive had, when each was breathed, and whose pressure was recorded.

The order is that of the file's tankdata. A mix that the diver switched to, or a tank whose
pressure was recorded, counts as one more cylinder where no tankdata names it. A mix that the file
does not define leaves the gas unknown; it is never quietly air.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

import numpy as np

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.profile import FloatArray, GasSwitch
from logbook_app.files.uddf.fields import GAUGE_PA, Fields, Odd
from logbook_app.files.uddf.references import References
from logbook_app.files.uddf.waypoints import Waypoints
from logbook_app.language import _, number


@dataclass(frozen=True)
class Carried:
    """The cylinders of one dive; switches and pressures name them by their place in the list."""

    cylinders: tuple[Cylinder, ...]
    switches: tuple[GasSwitch, ...]
    pressures_bar: dict[int, FloatArray]


def carried(dive: Element, waypoints: Waypoints, references: References, odd: Odd) -> Carried:
    """Return what the diver carried on one dive, from its tankdata and its waypoints."""
    rack = _Rack(references, odd)
    for tankdata in dive.iter("tankdata"):
        rack.add_tankdata(tankdata)
    rack.name_the_only_gas({switch.ref for switch in waypoints.switches if switch.kind == "switchmix"})
    switches = _changes(
        [GasSwitch(told.time_s, rack.place_of(told.kind, told.ref)) for told in waypoints.switches]
    )
    _report_first_gas(rack.cylinders, switches, waypoints.first_s, odd)
    pressures = _pressures(rack, waypoints, switches, odd)
    rack.report_unknown_gas({switch.cylinder for switch in switches})
    return Carried(tuple(rack.cylinders), switches, pressures)


class _Rack:
    """The cylinders found so far, and the ids in the file that lead to each."""

    def __init__(self, references: References, odd: Odd) -> None:
        self.cylinders: list[Cylinder] = []
        self._references = references
        self._odd = odd
        self._places: dict[str, int] = {}
        self._with_tank: set[int] = set()
        self._said_unknown: set[int] = set()

    def add_tankdata(self, tankdata: Element) -> None:
        """Add the cylinder that a tankdata element describes."""
        fields = Fields(
            tankdata,
            lambda what: self._odd(
                _("cylinder {count}: {what}").format(count=len(self.cylinders) + 1, what=what)
            ),
        )
        place = self._add(
            Cylinder(
                volume_l=fields.litres("tankvolume"),
                start_bar=fields.bar("tankpressurebegin", GAUGE_PA),
                end_bar=fields.bar("tankpressureend", GAUGE_PA),
            ),
            tankdata.get("id", "").strip(),
        )
        for ref in fields.refs():
            self._link(place, ref)

    def name_the_only_gas(self, mixes: set[str]) -> None:
        """Give a single cylinder without a mix the single mix that the samples name."""
        if len(self.cylinders) == 1 and len(mixes) == 1 and self.cylinders[0].gas is None:
            (ref,) = mixes
            if ref in self._references.mixes and ref not in self._places:
                self._link(0, ref)

    def place_of(self, kind: str, ref: str) -> int:
        """Return the place of the cylinder that a switch means, adding it where there is none."""
        if ref in self._places:
            return self._places[ref]
        known = self._references.mixes if kind == "switchmix" else self._references.pieces
        if ref not in known:
            self._odd(
                _(
                    '{kind} names "{ref}", which the file does not define: what was breathed from then on '
                    "is not known"
                ).format(kind=kind, ref=ref)
            )
            place = self._add(Cylinder(name=ref), ref)
            self._said_unknown.add(place)
            return place
        place = self._add(Cylinder(), ref)
        self._link(place, ref)
        return place

    def place_of_tank(self, ref: str, only: bool) -> int:
        """Return the place of the cylinder whose pressure was recorded.

        only  True where the dive recorded the pressure of no other tank
        """
        if ref in self._places:
            return self._places[ref]
        defined = ref in self._references.pieces
        if ref and not defined:
            self._odd(
                _(
                    'tankpressure names "{ref}", which the file does not define; the pressures were kept'
                ).format(ref=ref)
            )
        lone = only and len(self.cylinders) == 1 and not self._with_tank
        place = 0 if lone else self._add(Cylinder(name=ref), ref)
        self._places[ref] = place
        if defined:
            self._link(place, ref)
        return place

    def report_unknown_gas(self, breathed: set[int]) -> None:
        """Say which of the cylinders that were changed to have no known gas."""
        for place in sorted(breathed - self._said_unknown):
            if self.cylinders[place].gas is None:
                name = self.cylinders[place].name or str(place + 1)
                self._odd(
                    _("what was in the cylinder {name}, which was breathed from, is not told").format(
                        name=name
                    )
                )

    def _add(self, cylinder: Cylinder, ref: str) -> int:
        self.cylinders.append(cylinder)
        place = len(self.cylinders) - 1
        if ref:
            self._places.setdefault(ref, place)
        return place

    def _link(self, place: int, ref: str) -> None:
        """Take over what a mix or a tank says; a tankdata's own volume goes before the tank's."""
        self._places.setdefault(ref, place)
        cylinder = self.cylinders[place]
        if mix := self._references.mixes.get(ref):
            cylinder = replace(cylinder, gas=mix.gas, name=cylinder.name or mix.name)
        elif (piece := self._references.pieces.get(ref)) and piece.kind == "tank":
            self._with_tank.add(place)
            volume_l = piece.volume_l if cylinder.volume_l is None else cylinder.volume_l
            cylinder = replace(cylinder, volume_l=volume_l, name=piece.name or cylinder.name)
        elif ref not in self._references:
            self._odd(
                _('cylinder {place} links to "{ref}", which the file does not define').format(
                    place=place + 1, ref=ref
                )
            )
        self.cylinders[place] = cylinder


def _changes(switches: list[GasSwitch]) -> tuple[GasSwitch, ...]:
    """Return the switches in order of time, without those that name the cylinder in use."""
    changes: list[GasSwitch] = []
    for switch in sorted(switches, key=lambda switch: switch.time_s):
        if not changes or changes[-1].cylinder != switch.cylinder:
            changes.append(switch)
    return tuple(changes)


def _report_first_gas(
    cylinders: Sequence[Cylinder], switches: tuple[GasSwitch, ...], first_s: float, odd: Odd
) -> None:
    if len(cylinders) < 2:
        return
    words = cylinders[0].gas.name if cylinders[0].gas else _("of unknown gas")
    if not switches:
        odd(
            _(
                "{count} cylinders and no word on which was breathed when; the first ({words}) was "
                "taken for the whole dive"
            ).format(count=len(cylinders), words=words)
        )
    elif switches[0].time_s > first_s and switches[0].cylinder != 0:
        odd(
            _("no gas is named before {time_s} s; the first cylinder ({words}) was taken until then").format(
                time_s=number(switches[0].time_s, "g"), words=words
            )
        )


def _pressures(
    rack: _Rack, waypoints: Waypoints, switches: tuple[GasSwitch, ...], odd: Odd
) -> dict[int, FloatArray]:
    columns = waypoints.pressures_bar()
    unnamed = columns.pop("", None)
    pressures: dict[int, FloatArray] = {}
    for ref, column in columns.items():
        _lay(pressures, rack.place_of_tank(ref, only=len(columns) == 1), column)
    if unnamed is None:
        return pressures
    if len(rack.cylinders) <= 1:
        _lay(pressures, 0 if rack.cylinders else rack.place_of_tank("", only=True), unnamed)
        return pressures
    odd(_("tank pressures that name no tank were counted to the cylinder in use"))
    in_use = _in_use(waypoints.time_s, switches)
    for place in range(len(rack.cylinders)):
        part = np.where(in_use == place, unnamed, np.nan)
        if not np.isnan(part).all():
            _lay(pressures, place, part)
    return pressures


def _lay(pressures: dict[int, FloatArray], place: int, column: FloatArray) -> None:
    """Put a column under a cylinder; where two give a value for one sample the first stays."""
    there = pressures.get(place)
    pressures[place] = column if there is None else np.where(np.isnan(there), column, there)


def _in_use(time_s: FloatArray, switches: tuple[GasSwitch, ...]) -> FloatArray:
    in_use = np.zeros(len(time_s))
    for switch in switches:
        in_use[time_s >= switch.time_s] = switch.cylinder
    return in_use

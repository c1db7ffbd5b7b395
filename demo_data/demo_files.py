"""The files of the demo: UDDF 3.2.3, tables of samples, hand entries.

The children of a dive, of what came before it and of a waypoint stand in the order that the schema
of UDDF 3.2.3 fixes. A waypoint takes one line, or the files would be twice as long to read.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from datetime import timedelta
from itertools import pairwise
from xml.sax.saxutils import escape

from dive_plan import PlannedDive, Table, local_time
from pretend_recording import Cylinder, RecordedDive, Sample, surface_pressure_bar, surface_temperature_c


def uddf(dives: Sequence[RecordedDive], owner: str, scenario: Table) -> str:
    """Return a file of one diver's dives."""
    names = sorted({name for dive in dives for name in dive.buddies})
    places = {dive.plan.place["name"]: dive.plan.place for dive in dives}
    gases = sorted({cylinder.gas for dive in dives for cylinder in dive.cylinders})
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        "<!-- Invented: no such people, places, recorders or dives. Made by demo_data/make_demo.py. -->",
        '<uddf xmlns="http://www.streit.cc/uddf/3.2/" version="3.2.3">',
        f" <generator><name>{escape(scenario['generator'])}</name><type>logbook</type>"
        f"<datetime>{scenario['made_on']}</datetime></generator>",
        " <diver>",
        *owner_lines(owner, dives, scenario),
        *(f'  <buddy id="{buddy_id(name)}">{personal(scenario["people"][name])}</buddy>' for name in names),
        " </diver>",
        " <divesite>",
        *(line for name in sorted(places) for line in site_lines(places[name], scenario)),
        " </divesite>",
        *trip_lines(dives),
        " <gasdefinitions>",
        *(mix_line(gas) for gas in gases),
        " </gasdefinitions>",
        " <profiledata>",
        *(line for group in repetition_groups(dives) for line in group_lines(group, scenario)),
        " </profiledata>",
        "</uddf>",
    ]
    return "\n".join(lines) + "\n"


def owner_lines(owner: str, dives: Sequence[RecordedDive], scenario: Table) -> Iterator[str]:
    """Yield the diver and the equipment that the dives refer to."""
    yield f'  <owner id="diver_{owner}">{personal(scenario["people"][owner], scenario["club"])}'
    yield "   <equipment>"
    kit = [scenario["kit"][key] for key in sorted({key for dive in dives for key in kit_of(dive)})]
    yield from pieces_of(kit, "buoyancycontroldevice")
    for recorder in sorted({dive.recorder["name"] for dive in dives}):
        yield f'    <divecomputer id="{recorder_id(recorder)}"><name>{escape(recorder)}</name></divecomputer>'
    yield from pieces_of(kit, "light")
    yield from pieces_of(kit, "regulator")
    for suit in sorted({suit_of(dive.plan) for dive in dives}):
        name = suit.replace("-", " ")
        yield f'    <suit id="{suit_id(suit)}"><name>{name}</name><suittype>{suit}</suittype></suit>'
    volumes = sorted({cylinder.volume_l for dive in dives for cylinder in dive.cylinders})
    for volume_l in volumes:
        name = "twin 12 L" if volume_l == 24 else f"{volume_l:g} L"
        yield (
            f'    <tank id="tank_{volume_l:g}"><name>{name}</name><tankmaterial>steel</tankmaterial>'
            f"<tankvolume>{volume_l / 1000:g}</tankvolume></tank>"
        )
    yield "   </equipment>"
    yield "  </owner>"


def pieces_of(kit: Sequence[Table], element: str) -> Iterator[str]:
    """Yield the owner's pieces of one kind by their names; the rest of them is in kit.json."""
    for piece in kit:
        if piece["element"] == element:
            yield f'    <{element} id="kit-{piece["id"]}"><name>{escape(piece["name"])}</name></{element}>'


def kit_of(dive: RecordedDive) -> list[str]:
    """Return what a dive was dived with; only the owner's is known."""
    return list(dive.plan.water["kit"]) if dive.number is not None else []


def kit_ref(key: str, scenario: Table) -> str:
    return f"kit-{scenario['kit'][key]['id']}"


def kit_json(scenario: Table) -> str:
    """Return the owner's kit as the logbook's own JSON has it: pieces, what was done for them, sets."""
    kit = scenario["kit"]
    words = "Kit, invented; made by demo_data/make_demo.py."
    plain = ("id", "name", "kind", "maker", "model", "serial", "bought_on", "price", "currency")
    pieces = [
        {key: piece[key] for key in (*plain, "dives_before", "hours_before") if key in piece}
        | {"intervals": piece.get("checks", [])}
        for piece in kit.values()
    ]
    care = [
        {"item_id": piece["id"], "done_on": done["on"]} | {key: done[key] for key in ("id", "check", "note")}
        for piece in kit.values()
        for done in piece.get("care", [])
    ]
    sets = [
        {"id": each["id"], "name": each["name"], "item_ids": [kit[key]["id"] for key in each["pieces"]]}
        for each in scenario["kit_sets"]
    ]
    told = {"about": words, "pieces": pieces, "care": care, "sets": sets}
    return json.dumps(told, ensure_ascii=False, indent=1) + "\n"


def held_json(scenario: Table) -> str:
    """Return what the owner holds beside the dives, as the logbook keeps it."""
    held = scenario["held"]
    told = {
        "born_on": held["born_on"],
        "certificates": held["certificates"],
        "examined": held["examined"],
        "confirmed": [],
    }
    return json.dumps(told, ensure_ascii=False, indent=1) + "\n"


def personal(person: Table, club: str = "") -> str:
    member = f'<membership organisation="{escape(club)}"/>' if club else ""
    names = f"<firstname>{escape(person['first'])}</firstname><lastname>{escape(person['last'])}</lastname>"
    return f"<personal>{names}{member}</personal>"


def site_lines(place: Table, scenario: Table) -> Iterator[str]:
    """Yield one dive site."""
    latitude, longitude = place["position"]
    yield (
        f'  <site id="{site_id(place)}"><name>{escape(place["name"])}</name>'
        f"<environment>{scenario['waters'][place['water']]['environment']}</environment>"
    )
    yield (
        f"   <geography><location>{escape(place['region'])}</location>"
        f"<latitude>{latitude}</latitude><longitude>{longitude}</longitude>"
        f"<altitude>{place['elevation_m']}</altitude><timezone>{place.get('utc_offset_h', 1)}</timezone>"
        "</geography>"
    )
    yield f"   <sitedata><maximumdepth>{place['deepest_m']}</maximumdepth></sitedata>"
    yield "  </site>"


def trip_lines(dives: Sequence[RecordedDive]) -> Iterator[str]:
    """Yield the trips that the dives were a part of, nothing where they were of none."""
    trips = sorted({dive.plan.trip for dive in dives if dive.plan.trip})
    if trips:
        yield " <divetrip>"
        yield from (f'  <trip id="{trip_id(trip)}"><name>{escape(trip)}</name></trip>' for trip in trips)
        yield " </divetrip>"


def mix_line(gas: str) -> str:
    oxygen, helium = fractions(gas)
    return (
        f'  <mix id="{gas_id(gas)}"><name>{gas}</name><o2>{oxygen:g}</o2>'
        f"<n2>{1.0 - oxygen - helium:.2f}</n2><he>{helium:g}</he></mix>"
    )


def fractions(gas: str) -> tuple[float, float]:
    """Return oxygen and helium of a gas by its name."""
    if gas == "air":
        return 0.21, 0.0
    oxygen, _, helium = gas.split()[1].partition("/")
    return int(oxygen) / 100, int(helium or 0) / 100


def repetition_groups(dives: Sequence[RecordedDive]) -> Iterator[list[RecordedDive]]:
    """Yield runs of dives less than two days apart."""
    group: list[RecordedDive] = []
    for dive in dives:
        if group and dive.began - group[-1].began > timedelta(hours=48):
            yield group
            group = []
        group.append(dive)
    yield group


def group_lines(group: Sequence[RecordedDive], scenario: Table) -> Iterator[str]:
    """Yield a repetition group: its first dive from an infinite surface interval, the rest not."""
    yield f'  <repetitiongroup id="days_from_{group[0].began:%Y%m%d}">'
    for before, dive in zip([None, *group], group, strict=False):
        interval = "<infinity/>"
        if before is not None:
            waited = dive.began - before.began - timedelta(seconds=before.duration_s)
            interval = f"<passedtime>{round(waited.total_seconds())}</passedtime>"
        yield f'   <dive id="dive_{dive.began:%Y%m%d_%H%M%S}">'
        yield from before_lines(dive, interval, scenario)
        yield from tank_lines(dive)
        yield "    <samples>"
        yield from (waypoint(sample, dive.cylinders) for sample in dive.samples)
        yield "    </samples>"
        yield from after_lines(dive)
        yield "   </dive>"
    yield "  </repetitiongroup>"


def before_lines(dive: RecordedDive, interval: str, scenario: Table) -> Iterator[str]:
    """Yield what was known before the dive."""
    plan = dive.plan
    yield "    <informationbeforedive>"
    yield "     " + "".join(
        f'<link ref="{ref}"/>' for ref in (site_id(plan.place), *(buddy_id(name) for name in dive.buddies))
    )
    if dive.number is not None:
        yield f"     <divenumber>{dive.number}</divenumber><divenumberofday>{plan.of_day}</divenumberofday>"
    yield f"     <datetime>{dive.began.isoformat()}</datetime>"
    air_c = round(surface_temperature_c(plan.water, plan.began) + 2.0)
    yield f"     <airtemperature>{kelvin(air_c)}</airtemperature>"
    yield f"     <surfaceintervalbeforedive>{interval}</surfaceintervalbeforedive>"
    yield f"     <altitude>{plan.place['elevation_m']}</altitude>"
    lead = plan.remarks.get("weights_kg", LEAD_KG[suit_of(plan)])
    kit = [kit_ref(key, scenario) for key in kit_of(dive)]
    pieces = (recorder_id(dive.recorder["name"]), suit_id(suit_of(plan)), *kit)
    links = "".join(f'<link ref="{piece}"/>' for piece in pieces)
    yield f"     <equipmentused><leadquantity>{lead:g}</leadquantity>{links}</equipmentused>"
    yield f"     <apparatus>open-scuba</apparatus><purpose>{purpose(plan)}</purpose>"
    if plan.trip:
        yield f'     <tripmembership ref="{trip_id(plan.trip)}"/>'
    if dive.recorder["notes_surface_pressure"]:
        yield f"     <surfacepressure>{surface_pressure_bar(plan) * 1e5:.0f}</surfacepressure>"
    yield "    </informationbeforedive>"


def tank_lines(dive: RecordedDive) -> Iterator[str]:
    for cylinder in dive.cylinders:
        yield (
            f'    <tankdata><link ref="{gas_id(cylinder.gas)}"/><link ref="{cylinder.id}"/>'
            f"<tankpressurebegin>{cylinder.start_bar * 1e5:.0f}</tankpressurebegin>"
            f"<tankpressureend>{cylinder.end_bar * 1e5:.0f}</tankpressureend></tankdata>"
        )


def waypoint(sample: Sample, cylinders: Sequence[Cylinder]) -> str:
    """Return one sample on one line, its children in the order that the schema fixes."""
    parts = [
        f"<alarm>{sample.alarm}</alarm>" if sample.alarm else "",
        f"<depth>{sample.depth_m}</depth><divetime>{sample.time_s}</divetime>",
        f"<setmarker>{escape(sample.mark)}</setmarker>" if sample.mark else "",
        f'<switchmix ref="{gas_id(sample.switch_to)}"/>' if sample.switch_to else "",
        *(
            f'<tankpressure ref="{cylinder.id}">{bar * 1e5:.0f}</tankpressure>'
            for cylinder, bar in zip(cylinders, sample.pressures_bar, strict=False)
        ),
        "" if sample.temperature_c is None else f"<temperature>{kelvin(sample.temperature_c)}</temperature>",
    ]
    return f"<waypoint>{''.join(parts)}</waypoint>"


def after_lines(dive: RecordedDive) -> Iterator[str]:
    """Yield what was known after the dive."""
    notes = dive.plan.remarks
    known = [sample.temperature_c for sample in dive.samples if sample.temperature_c is not None]
    yield "    <informationafterdive>"
    yield f"     <lowesttemperature>{kelvin(min(known))}</lowesttemperature>"
    yield f"     <greatestdepth>{max(sample.depth_m for sample in dive.samples)}</greatestdepth>"
    for name, key in (
        ("visibility", "visibility_m"),
        ("current", "current"),
        ("problems", "problems"),
        ("thermalcomfort", "thermalcomfort"),
        ("workload", "workload"),
    ):
        if key in notes:
            yield f"     <{name}>{notes[key]}</{name}>"
    if "notes" in notes:
        yield f"     <notes><para>{escape(notes['notes'])}</para></notes>"
    if "rating" in notes:
        yield f"     <rating><ratingvalue>{notes['rating']}</ratingvalue></rating>"
    yield f"     <diveduration>{dive.duration_s}</diveduration>"
    yield f"     <averagedepth>{mean_depth_m(dive):.1f}</averagedepth>"
    yield "    </informationafterdive>"


def mean_depth_m(dive: RecordedDive) -> float:
    """Return the mean over time, the wait at the surface left out."""
    inside = [sample for sample in dive.samples if sample.time_s <= dive.duration_s]
    area = math.fsum(
        (one.depth_m + two.depth_m) / 2 * (two.time_s - one.time_s) for one, two in pairwise(inside)
    )
    return area / dive.duration_s


LEAD_KG = {"dry-suit": 10.5, "wet-suit": 5.0}


def suit_of(plan: PlannedDive) -> str:
    return "wet-suit" if plan.water["mean_c"] > 20 else "dry-suit"


def purpose(plan: PlannedDive) -> str:
    return str(plan.remarks.get("purpose", "learning" if "pool" in plan.words else "sightseeing"))


def kelvin(celsius: float) -> str:
    return f"{celsius + 273.15:.2f}"


def site_id(place: Table) -> str:
    return "site_" + "".join(c if c.isalnum() else "_" for c in place["name"].lower())


def buddy_id(name: str) -> str:
    return f"buddy_{name}"


def suit_id(suit: str) -> str:
    return suit.replace("-", "_")


def recorder_id(name: str) -> str:
    return name.replace(" ", "_")


def gas_id(gas: str) -> str:
    return "mix_" + gas.replace(" ", "_").replace("/", "_")


def trip_id(trip: str) -> str:
    return "trip_" + "_".join("".join(letter if letter.isalnum() else " " for letter in trip.lower()).split())


def depth_table(dive: RecordedDive, scenario: Table) -> str:
    """Return a dive as a table with commas, seconds, metres, degrees Celsius and bar."""
    plan = dive.plan
    lines = [
        *heading(dive, scenario),
        f"# elevation: {plan.place['elevation_m']} m",
        f"# surface pressure: {surface_pressure_bar(plan)} bar",
        f"# weights: {LEAD_KG[suit_of(plan)]} kg",
        "time (s),depth (m),temperature (C),pressure (bar)",
    ]
    for sample in dive.samples:
        temperature = "" if sample.temperature_c is None else f"{sample.temperature_c:.1f}"
        bar = f"{sample.pressures_bar[0]:g}" if sample.pressures_bar else ""
        lines.append(f"{sample.time_s},{sample.depth_m},{temperature},{bar}")
    return "\n".join(lines) + "\n"


def depth_table_feet(dive: RecordedDive, scenario: Table) -> str:
    """Return a dive as a table with semicolons, mm:ss, decimal commas, feet, degrees Fahrenheit and psi."""
    plan = dive.plan
    lines = [
        *heading(dive, scenario),
        f"# elevation: {plan.place['elevation_m'] / 0.3048:.0f} ft",
        f"# weights: {LEAD_KG[suit_of(plan)] / 0.45359237:.0f} lb",
        "time (min);depth (ft);temperature (F);pressure (psi)",
    ]
    for sample in dive.samples:
        temperature = "" if sample.temperature_c is None else f"{sample.temperature_c * 1.8 + 32:.1f}"
        psi = f"{sample.pressures_bar[0] / 0.0689475729:.0f}" if sample.pressures_bar else ""
        clock = f"{sample.time_s // 60}:{sample.time_s % 60:02d}"
        row = f"{clock};{sample.depth_m / 0.3048:.1f};{temperature};{psi}"
        lines.append(row.replace(".", ","))
    return "\n".join(lines) + "\n"


def heading(dive: RecordedDive, scenario: Table) -> Iterator[str]:
    """Yield the lines before a table that hold no measure."""
    cylinder = dive.cylinders[0]
    yield f"# began: {dive.began.isoformat()}"
    yield f"# number: {dive.number}"
    yield f"# site: {dive.plan.place['name']}"
    yield f"# buddies: {', '.join(full_name(scenario['people'][name]) for name in dive.buddies)}"
    yield f"# gas: {cylinder.gas}"
    yield f"# cylinder: {cylinder.volume_l:g} L"
    if "notes" in dive.plan.remarks:
        yield f"# notes: {dive.plan.remarks['notes']}"


def hand_entries(scenario: Table, numbers: dict[str, int]) -> str:
    """Return the dives without samples as JSON, one field for each thing that was written down."""
    entries = []
    for entry in scenario["by_hand"]:
        place = scenario["places"][entry["at"]]
        began = local_time(entry["began"], place)
        told = {key: value for key, value in entry.items() if key not in ("began", "at", "buddies")}
        entries.append(
            {
                "number": numbers[entry["began"]],
                "began_local": began.isoformat(),
                **told,
                "site": hand_site(place),
                "buddies": [full_name(scenario["people"][name]) for name in entry.get("buddies", [])],
            }
        )
    words = "Dives written down by hand. Invented; made by demo_data/make_demo.py."
    return json.dumps({"about": words, "dives": entries}, ensure_ascii=False, indent=1) + "\n"


def hand_site(place: Table) -> Table:
    latitude, longitude = place["position"]
    return {
        "name": place["name"],
        "elevation_m": place["elevation_m"],
        "latitude_deg": latitude,
        "longitude_deg": longitude,
        "water": "sea" if "coast" in place["water"] else "fresh",
        "region": place["region"],
    }


def full_name(person: Table) -> str:
    return f"{person['first']} {person['last']}"

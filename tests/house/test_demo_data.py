"""The demo dives: made by their script, shaped as UDDF 3.2.3 asks, and dives that could have been.

The orders and word lists are those of the UDDF 3.2.3 schema (streit.cc, read in full), cut down to
the elements that the demo writes. The physics used here is checked against its own sources
elsewhere; here it only tells whether the invented dives are what demo_data/README.md says.
"""

from __future__ import annotations

import itertools
import json
import re
import subprocess
import sys
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import numpy as np
import pytest
from defusedxml.ElementTree import parse

from logbook_app.dive.hand_entry import HandEntry, dive_by_hand
from logbook_app.dive.problems import Problem
from logbook_app.dive.record import Site, Water
from logbook_app.files.kit_json import kit_from_json
from logbook_app.files.read_dive import ReadDive, ReadKit, ReadOptions
from logbook_app.files.recording_file import read_recording
from logbook_app.physics.ambient_pressure import ambient_bar, surface_pressure_bar
from logbook_app.physics.ascent_rate import fast_stretches
from logbook_app.physics.breathing_gas import BreathingGas, parse_gas
from logbook_app.physics.ceiling import ceiling_m
from logbook_app.physics.no_stop_limit import no_stop_min
from logbook_app.physics.safety_stop import safety_stop
from logbook_app.physics.surface_interval import tensions_at
from logbook_app.physics.tissue_loading import Tensions, load_along, saturated_on_air
from logbook_app.physics.units import FloatArray

DEMO = Path(__file__).resolve().parents[2] / "demo_data"
OWN_FILES = sorted(DEMO.glob("*.uddf"))
BUDDY_FILES = sorted((DEMO / "buddies").glob("*.uddf"))
TABLES = sorted(DEMO.glob("*.csv"))

# UDDF 3.2.3: types whose children stand in a fixed order.
FIXED_ORDER = {
    "dive": "applicationdata informationbeforedive tankdata samples informationafterdive",
    "informationbeforedive": "link divenumber divenumberofday internaldivenumber datetime airtemperature "
    "surfaceintervalbeforedive altitude equipmentused apparatus platform purpose stateofrestbeforedive "
    "tripmembership alcoholbeforedive medicalbeforedive nosuit price inputprofile plannedprofile "
    "surfacepressure",
    "tankdata": "link tankvolume tankpressurebegin tankpressureend breathingconsumptionvolume",
    "waypoint": "alarm batterychargecondition cns decostop bodytemperature calculatedpo2 depth divetime "
    "heading heartrate otu pulserate remainingbottomtime remainingo2time setmarker setpo2 switchmix "
    "tankpressure temperature divemode gradientfactor measuredpo2 nodecotime",
    "mix": "name aliasname o2 n2 he ar h2 priceperlitre maximumpo2 maximumoperationdepth equivalentairdepth",
    "site": "name aliasname environment geography ecology sitedata rating notes",
    "tank": "name aliasname link manufacturer model serialnumber purchase serviceinterval nextservicedate "
    "notes tankmaterial tankvolume",
    "equipment": "boots buoyancycontroldevice camera compass compressor divecomputer "
    "equipmentconfiguration fins gloves knife lead light mask rebreather regulator scooter suit tank "
    "variouspieces videocamera watch",
    "equipmentused": "leadquantity link",
    "owner": "personal address contact equipment medical education divepermissions diveinsurances notes",
    "diver": "owner buddy",
}
# The same, where any order is allowed.
ANY_ORDER = {
    "uddf": "generator mediadata maker business diver divesite divetrip gasdefinitions decomodel "
    "profiledata tablegeneration divecomputercontrol",
    "generator": "name aliasname type link manufacturer version datetime",
    "geography": "location address latitude longitude altitude timezone",
    "informationafterdive": "surfaceintervalafterdive lowesttemperature greatestdepth visibility current "
    "diveplan equipmentmalfunction pressuredrop problems program thermalcomfort workload desaturationtime "
    "noflighttime notes rating anysymptoms diveduration divetable globalalarmsgiven highestpo2 "
    "observations averagedepth",
    "repetitiongroup": "dive",
    "samples": "waypoint",
}
WORDS = {
    "environment": "ocean-sea lake-quarry river-spring cave-cavern pool hyperbaric-chamber under-ice other",
    "suittype": "dive-skin wet-suit dry-suit hot-water-suit other",
    "tankmaterial": "aluminium carbon steel",
    "apparatus": "open-scuba rebreather surface-supplied chamber experimental",
    "purpose": "sightseeing learning teaching research photography-videography spearfishing proficiency "
    "work other",
    "current": "no-current very-mild-current mild-current moderate-current hard-current very-hard-current",
    "thermalcomfort": "not-indicated comfortable cold very-cold hot",
    "workload": "not-specified resting light moderate severe exhausting",
    "problems": "none equalisation vertigo out-of-air buoyancy shared-air rapid-ascent sea-sickness other",
}


@dataclass(frozen=True)
class DemoDive:
    """One dive of a demo file, in the units of the physics."""

    file: str
    began: datetime
    number: int | None
    site: str
    duration_s: float
    greatest_m: float
    surface_bar: float
    gas_names: tuple[str, ...]
    time_s: FloatArray
    depth_m: FloatArray
    oxygen: FloatArray
    helium: FloatArray
    pressures_bar: tuple[float, ...]

    @property
    def key(self) -> str:
        return f"{self.began:%Y-%m-%d %H:%M}"

    @property
    def ended(self) -> datetime:
        return self.began + timedelta(seconds=self.duration_s)


def local(element: Element) -> str:
    return element.tag.rsplit("}", 1)[-1]


@cache
def root(path: Path) -> Element:
    tree: Element = parse(path).getroot()
    for element in tree.iter():
        element.tag = local(element)
    return tree


@cache
def dives_of(path: Path) -> tuple[DemoDive, ...]:
    gases = {mix.get("id"): gas_of(mix) for mix in root(path).iter("mix")}
    names = {site.get("id"): site.findtext("name", "") for site in root(path).iter("site")}
    return tuple(demo_dive(path.name, dive, gases, names) for dive in root(path).iter("dive"))


def gas_of(mix: Element) -> BreathingGas:
    return BreathingGas(float(mix.findtext("o2", "")), float(mix.findtext("he", "0")))


def demo_dive(file: str, dive: Element, gases: dict[Any, BreathingGas], sites: dict[Any, str]) -> DemoDive:
    number = dive.findtext("informationbeforedive/divenumber")
    links = [link.get("ref") for link in dive.iterfind("informationbeforedive/link")]
    recorded_pa = dive.findtext("informationbeforedive/surfacepressure")
    altitude_m = float(dive.findtext("informationbeforedive/altitude", ""))
    breathed = breathed_gases(dive, gases)
    pressures = [*dive.iter("tankpressurebegin"), *dive.iter("tankpressureend"), *dive.iter("tankpressure")]
    return DemoDive(
        file=file,
        began=datetime.fromisoformat(dive.findtext("informationbeforedive/datetime", "")),
        number=int(number) if number else None,
        site=next(sites[link] for link in links if link in sites),
        duration_s=float(dive.findtext("informationafterdive/diveduration", "")),
        greatest_m=float(dive.findtext("informationafterdive/greatestdepth", "")),
        surface_bar=float(recorded_pa) / 1e5 if recorded_pa else surface_pressure_bar(altitude_m),
        gas_names=tuple(dict.fromkeys(gas.name for gas in breathed)),
        time_s=np.array([float(point.findtext("divetime", "")) for point in dive.iter("waypoint")]),
        depth_m=np.array([float(point.findtext("depth", "")) for point in dive.iter("waypoint")]),
        oxygen=np.array([gas.oxygen for gas in breathed]),
        helium=np.array([gas.helium for gas in breathed]),
        pressures_bar=tuple(float(pressure.text or "") / 1e5 for pressure in pressures),
    )


def breathed_gases(dive: Element, gases: dict[Any, BreathingGas]) -> list[BreathingGas]:
    """Return the gas of each waypoint; the first waypoint names one."""
    breathed: list[BreathingGas] = []
    for point in dive.iter("waypoint"):
        switch = point.find("switchmix")
        breathed.append(breathed[-1] if switch is None else gases[switch.get("ref")])
    return breathed


@cache
def own_dives() -> tuple[DemoDive, ...]:
    return tuple(sorted((dive for path in OWN_FILES for dive in dives_of(path)), key=lambda dive: dive.began))


@cache
def hand_entries() -> list[dict[str, Any]]:
    entries: list[dict[str, Any]] = json.loads((DEMO / "hand_entries.json").read_text("utf-8"))["dives"]
    return entries


@dataclass(frozen=True)
class Along:
    """What the physics finds along a dive, at 40/85 and with what the dives before left behind."""

    no_stop_least_min: float
    ceiling_max_m: float
    above_ceiling_max_m: float
    ppo2_max_bar: float


@cache
def along_own_dives() -> dict[str, Along]:
    """Return what each own dive does, by its start; hand entries are left out of the chain."""
    found: dict[str, Along] = {}
    tensions, left = saturated_on_air(own_dives()[0].surface_bar), own_dives()[0].began
    for dive in own_dives():
        waited_min = (dive.began - left).total_seconds() / 60
        start = Tensions(*tensions_at(tensions, dive.surface_bar, waited_min))
        found[dive.key], tensions = dived(dive, start)
        left = dive.began + timedelta(seconds=float(dive.time_s[-1]))
    return found


def dived(dive: DemoDive, start: Tensions) -> tuple[Along, Tensions]:
    nitrogen = 1.0 - dive.oxygen - dive.helium
    ambient = ambient_bar(dive.depth_m, dive.surface_bar)
    n2_bar, he_bar = load_along(start, dive.time_s / 60, ambient, nitrogen, dive.helium)
    no_stop = no_stop_min(n2_bar, he_bar, ambient, dive.surface_bar, nitrogen, dive.helium, 0.85)
    ceiling = ceiling_m(n2_bar, he_bar, dive.surface_bar)
    found = Along(
        no_stop_least_min=float(np.min(np.nan_to_num(no_stop, nan=np.inf))),
        ceiling_max_m=float(np.max(ceiling)),
        above_ceiling_max_m=float(np.max(ceiling - dive.depth_m)),
        ppo2_max_bar=float(np.max(ambient * dive.oxygen)),
    )
    return found, Tensions(n2_bar[-1], he_bar[-1])


# --- the files ----------------------------------------------------------------------------------


def test_the_script_makes_the_committed_files_byte_for_byte(tmp_path: Path) -> None:
    subprocess.run([sys.executable, DEMO / "make_demo.py", tmp_path], check=True, capture_output=True)
    made = {path.relative_to(tmp_path).as_posix(): path.read_bytes() for path in tmp_path.rglob("*.*")}
    kept = {
        path.relative_to(DEMO).as_posix(): path.read_bytes()
        for path in DEMO.rglob("*.*")
        if path.suffix in {".uddf", ".csv", ".json"}
    }
    assert made.keys() == kept.keys()
    assert [name for name in made if made[name] != kept[name]] == []


def test_the_files_stay_small() -> None:
    files = [path for path in DEMO.rglob("*.*") if path.is_file() and path.suffix != ".pyc"]
    assert sum(path.stat().st_size for path in files) < 4_000_000


@pytest.mark.parametrize("path", OWN_FILES + BUDDY_FILES, ids=lambda path: path.name)
class TestStructure:
    """UDDF 3.2.3, as far as the demo uses it."""

    def test_children_are_known_and_in_order(self, path: Path) -> None:
        wrong = []
        for element in root(path).iter():
            names = [child.tag for child in element]
            if element.tag in FIXED_ORDER:
                order = FIXED_ORDER[element.tag].split()
                if not set(names) <= set(order) or names != sorted(names, key=order.index):
                    wrong.append((element.tag, names))
            elif element.tag in ANY_ORDER and not set(names) <= set(ANY_ORDER[element.tag].split()):
                wrong.append((element.tag, names))
        assert wrong == []

    def test_words_are_those_of_the_schema(self, path: Path) -> None:
        said = {(element.tag, element.text) for element in root(path).iter() if element.tag in WORDS}
        assert [(tag, text) for tag, text in said if text not in WORDS[tag].split()] == []

    def test_references_hold_and_names_may_be_xml_ids(self, path: Path) -> None:
        ids = [element.get("id") for element in root(path).iter() if element.get("id")]
        refs = {element.get("ref") for element in root(path).iter() if element.get("ref")}
        assert len(ids) == len(set(ids))
        assert refs <= set(ids)
        assert [name for name in ids if not re.fullmatch(r"[A-Za-z_][\w.-]*", name or "")] == []

    def test_version_and_namespace(self, path: Path) -> None:
        tree: Element = parse(path).getroot()
        assert tree.tag == "{http://www.streit.cc/uddf/3.2/}uddf"
        assert tree.get("version") == "3.2.3"
        assert tree.findtext("{*}generator/{*}name")

    def test_a_group_begins_after_an_infinite_interval_and_counts_the_others(self, path: Path) -> None:
        for group in root(path).iter("repetitiongroup"):
            intervals = group.findall("dive/informationbeforedive/surfaceintervalbeforedive/*")
            assert [interval.tag for interval in intervals] == [
                "infinity",
                *["passedtime"] * (len(group) - 1),
            ]

    def test_a_profile_begins_and_ends_at_the_surface(self, path: Path) -> None:
        for dive in dives_of(path):
            at_end = dive.depth_m[np.searchsorted(dive.time_s, dive.duration_s)]
            assert (dive.depth_m[0], dive.time_s[0], at_end) == (0.0, 0.0, 0.0), dive.key
            assert np.all(np.diff(dive.time_s) > 0), dive.key
            assert dive.depth_m.max() == dive.greatest_m, dive.key

    def test_recorders_have_plain_names_and_no_maker(self, path: Path) -> None:
        recorders = {element.findtext("name") for element in root(path).iter("divecomputer")}
        assert recorders
        assert recorders <= {"wrist recorder A", "console recorder B", "bottom timer C"}
        assert [
            element.tag for element in root(path).iter() if element.tag in {"manufacturer", "model"}
        ] == []


# --- the owner's logbook ------------------------------------------------------------------------


def test_there_are_enough_dives_and_their_numbers_run_on() -> None:
    numbers = [dive.number for dive in own_dives()] + [entry["number"] for entry in hand_entries()]
    numbers += [int(re.findall(r"# number: (\d+)", path.read_text("utf-8"))[0]) for path in TABLES]
    assert len(own_dives()) >= 150
    assert sorted(number or 0 for number in numbers) == list(range(46, 215))


def test_no_dive_of_the_owner_overlaps_another() -> None:
    spans = [(dive.began, dive.ended) for dive in own_dives()]
    for entry in hand_entries():
        began = datetime.fromisoformat(entry["began_local"])
        spans.append((began, began + timedelta(minutes=entry["duration_min"])))
    spans.sort()
    gaps_min = [(after[0] - before[1]).total_seconds() / 60 for before, after in itertools.pairwise(spans)]
    assert min(gaps_min) > 60


def test_the_last_dive_is_the_one_that_the_demo_opens_on() -> None:
    last = own_dives()[-1]
    assert (last.file, last.site, last.number) == ("last_weekend.uddf", "Heron Ledge", 214)
    assert last.ended.astimezone(UTC).replace(second=0) == datetime(2026, 11, 14, 10, 52, tzinfo=UTC)
    assert (last.greatest_m, last.duration_s // 60, last.gas_names) == (28.4, 47, ("air",))
    assert [dive.key for dive in dives_of(DEMO / "last_weekend.uddf")] == [
        "2026-11-14 08:20",
        "2026-11-14 11:05",
    ]


def test_hand_entries_become_dives() -> None:
    assert len(hand_entries()) == 15
    for entry in hand_entries():
        place = entry["site"]
        site = Site.named(place["name"], elevation_m=place["elevation_m"], water=Water(place["water"]))
        asked = ("duration_min", "max_depth_m", "volume_l", "start_bar", "end_bar", "weights_kg")
        dive = dive_by_hand(
            HandEntry(
                began_local=datetime.fromisoformat(entry["began_local"]),
                gas=parse_gas(entry.get("gas", "air")),
                site=site,
                buddies=tuple(entry["buddies"]),
                water_temperature_c=entry.get("water_temperature_c"),
                notes=entry.get("notes", ""),
                **{name: entry[name] for name in asked if name in entry},
            )
        )
        assert dive.estimate
        assert dive.max_depth_m < 20


# --- dives that could have been -----------------------------------------------------------------

WITH_STOPS = {"2026-08-15 09:45", "2026-09-05 10:00"}


def test_only_the_two_planned_dives_need_stops_and_they_are_kept() -> None:
    along = along_own_dives()
    assert {key for key, found in along.items() if found.no_stop_least_min == 0} == WITH_STOPS
    assert {key for key, found in along.items() if found.ceiling_max_m > 0} == WITH_STOPS
    assert max(found.above_ceiling_max_m for found in along.values()) <= 0


def test_one_dive_goes_to_the_edge_of_its_no_stop_limit() -> None:
    least = {
        key: found.no_stop_least_min for key, found in along_own_dives().items() if key not in WITH_STOPS
    }
    assert min(least, key=lambda key: least[key]) == "2026-08-29 09:25"
    assert 0.5 < least["2026-08-29 09:25"] < 2


def test_fast_ascents_are_where_the_notes_say_so() -> None:
    fast = {dive.key for dive in own_dives() if fast_stretches(dive.time_s, dive.depth_m)}
    assert fast == {"2025-05-17 10:25", "2026-11-14 11:05"}


def test_one_dive_misses_its_safety_stop() -> None:
    stops = {dive.key: safety_stop(dive.time_s, dive.depth_m) for dive in own_dives() if dive.greatest_m > 10}
    missed = {key for key, stop in stops.items() if stop is None or stop.minutes < 3}
    assert missed == {"2025-07-26 12:45"}


def test_oxygen_and_reserve_stay_within_common_practice() -> None:
    """1.4 bar at depth, 1.6 bar at stops, 50 bar left: common practice, no source."""
    for dive in own_dives():
        found = along_own_dives()[dive.key]
        assert found.ppo2_max_bar <= (1.6 if dive.key in WITH_STOPS else 1.45), dive.key
        assert min(dive.pressures_bar) >= 50, dive.key


def test_the_gases_and_places_that_the_readme_promises_are_there() -> None:
    gases = {name for dive in own_dives() for name in dive.gas_names}
    assert gases == {"air", "nitrox 32", "nitrox 36", "nitrox 50", "trimix 21/35"}
    high = [dive for dive in own_dives() if dive.surface_bar < 0.9]
    assert [dive.site for dive in high] == ["Tindle Landing"] * 4
    most = max(sum(dive.key[:10] == other.key[:10] for other in own_dives()) for dive in own_dives())
    assert most == 4


def test_buddies_recorded_the_same_dives_differently() -> None:
    own = {dive.number: dive for dive in own_dives()}
    for theirs in itertools.chain.from_iterable(dives_of(path) for path in BUDDY_FILES):
        same = min(own.values(), key=lambda dive: abs(dive.began - theirs.began))
        assert same.site == theirs.site
        assert timedelta(0) < abs(same.began - theirs.began) < timedelta(minutes=61)
        assert abs(same.greatest_m - theirs.greatest_m) < 3
        assert len(same.time_s) != len(theirs.time_s)


# --- as the program reads them ------------------------------------------------------------------


def read(path: Path) -> list[ReadDive | Problem]:
    """Return dives and problems; the kit that a file tells beside them is another matter."""
    items = read_recording(path, ReadOptions(), lambda _done, _all: None, lambda: False)
    return [item for item in items if not isinstance(item, ReadKit)]


@pytest.mark.parametrize("path", OWN_FILES + BUDDY_FILES + TABLES, ids=lambda path: path.name)
def test_the_readers_find_nothing_odd(path: Path) -> None:
    found = read(path)
    assert [problem.sentence() for problem in found if isinstance(problem, Problem)] == []
    assert len(found) == (1 if path in TABLES else len(dives_of(path)))


def test_tables_hold_what_the_heading_and_the_columns_say() -> None:
    metres, feet = (one.dive for path in TABLES for one in read(path) if isinstance(one, ReadDive))
    assert (metres.max_depth_m, metres.utc_offset_min, metres.weights_kg) == (20.7, 120, 10.5)
    # 14.6 m is 47.9 ft to the tenth of a foot that the file keeps, half of it 0.015 m.
    assert feet.max_depth_m == pytest.approx(14.6, abs=0.015)
    assert feet.buddies == ("Leandro Quismar",)
    assert metres.site is not None
    assert feet.site is not None
    assert metres.site.elevation_m == 412
    assert feet.site.elevation_m == pytest.approx(412, abs=0.16)  # half a foot


# --- the owner's kit ----------------------------------------------------------------------------


def test_the_kit_is_that_which_the_dives_name() -> None:
    kit = kit_from_json(json.loads((DEMO / "kit.json").read_text("utf-8")))
    ids = {item.id for item in kit.items}
    assert {care.item_id for care in kit.care} <= ids
    assert {item_id for kit_set in kit.sets for item_id in kit_set.item_ids} <= ids
    refs = {
        link.get("ref", "").removeprefix("kit-")
        for path in OWN_FILES
        for link in root(path).iter("link")
        if link.get("ref", "").startswith("kit-")
    }
    assert refs
    assert refs <= ids


@pytest.mark.parametrize("path", BUDDY_FILES, ids=lambda path: path.name)
def test_buddies_wear_none_of_the_owners_kit(path: Path) -> None:
    assert not [link for link in root(path).iter("link") if link.get("ref", "").startswith("kit-")]

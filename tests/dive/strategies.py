"""Hypothesis strategies for records: any dive, cylinder, site and profile that can be.

Everything is invented by Hypothesis within the limits that the records state themselves.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import numpy as np
from hypothesis import strategies as st

from logbook_app.dive.cylinder import HIGHEST_CYLINDER_BAR, LARGEST_CYLINDER_L, Cylinder
from logbook_app.dive.kit import CareInterval, CareRecord, Check, KitItem, KitSet, UsedKit
from logbook_app.dive.photo import MOST_AHEAD_S, Photo
from logbook_app.dive.planned_line import PlannedLine
from logbook_app.dive.pre_dive_card import Fitness, GasAnalysis, KitCheck, PreDiveCard
from logbook_app.dive.profile import GasSwitch, Profile, Remark, profile_digest, profile_to_bytes
from logbook_app.dive.record import (
    GREATEST_DEPTH_M,
    HIGHEST_SURFACE_BAR,
    LONGEST_DIVE_MIN,
    LOWEST_SURFACE_BAR,
    Account,
    Dive,
    Environment,
    Recording,
    Role,
    Site,
    Water,
)
from logbook_app.physics.ambient_pressure import HIGHEST_ELEVATION_M, LOWEST_ELEVATION_M
from logbook_app.physics.breathing_gas import BreathingGas

Entry = tuple[Dive, list[Profile]]

words = st.text(max_size=12)
elevations_m = st.floats(LOWEST_ELEVATION_M, HIGHEST_ELEVATION_M)
_NO_RECORDINGS: st.SearchStrategy[tuple[Recording, ...]] = st.just(())
_NO_ACCOUNT: st.SearchStrategy[Account | None] = st.none()
_BESIDE_THE_DEPTHS = ("temperature_c", "pressure_bar_0", "pressure_bar_1", "ppo2_bar", "heading_deg", "Größe")


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Return the strategy with None, for what is not written down."""
    return st.none() | strategy


@st.composite
def gases(draw: st.DrawFn) -> BreathingGas:
    """Any breathing gas; helium takes a part of what the oxygen leaves."""
    oxygen = draw(st.floats(0.01, 1.0))
    return BreathingGas(oxygen, draw(st.floats(0.0, 0.999)) * (1.0 - oxygen))


cylinders = st.builds(
    Cylinder,
    gas=maybe(gases()),
    volume_l=maybe(st.floats(0.1, LARGEST_CYLINDER_L)),
    start_bar=maybe(st.floats(0, HIGHEST_CYLINDER_BAR)),
    end_bar=maybe(st.floats(0, HIGHEST_CYLINDER_BAR)),
    name=words,
)

# Few ids, so that dives meet at a site which they describe in different words.
sites = st.builds(
    Site,
    id=st.sampled_from(["quarry", "pier", "réef"]),
    name=words,
    elevation_m=maybe(elevations_m),
    latitude_deg=maybe(st.floats(-90, 90)),
    longitude_deg=maybe(st.floats(-180, 180)),
    water=maybe(st.sampled_from(Water)),
    region=words,
)


@st.composite
def instants(draw: st.DrawFn) -> datetime:
    """Any aware instant from 1950 to 2150, to the microsecond, with any offset."""
    zone = timezone(timedelta(minutes=draw(st.integers(-1439, 1439))))
    return draw(st.datetimes(datetime(1950, 1, 1), datetime(2150, 1, 1), timezones=st.just(zone)))


@st.composite
def profiles(draw: st.DrawFn, *, most_samples: int = 30) -> Profile:
    """Any profile: decimals as recorders write them, and doubles as nothing but a test does."""
    n = draw(st.integers(1, most_samples))
    steps_s = st.integers(1, 600).map(float) | st.floats(0.001, 1e6)
    depths_m = st.integers(-5, 3500).map(lambda tenths: tenths / 10) | st.floats(-1e300, 1e300)
    values = st.integers(-4000, 4000).map(lambda tenths: tenths / 10) | st.just(float("nan")) | st.floats()
    names = draw(st.lists(st.sampled_from(_BESIDE_THE_DEPTHS), unique=True, max_size=3))
    times_s = st.floats(0, 1e6)
    return Profile(
        time_s=np.cumsum(draw(st.lists(steps_s, min_size=n, max_size=n))),
        depth_m=np.array(draw(st.lists(depths_m, min_size=n, max_size=n))),
        channels={name: np.array(draw(st.lists(values, min_size=n, max_size=n))) for name in names},
        switches=tuple(draw(st.lists(st.builds(GasSwitch, times_s, st.integers(0, 5)), max_size=3))),
        remarks=tuple(draw(st.lists(st.builds(Remark, times_s, words), max_size=3))),
    )


intervals = st.builds(
    CareInterval,
    check=st.sampled_from(Check),
    months=st.integers(1, 600),
    dives=maybe(st.integers(1, 100_000)),
    hours=maybe(st.floats(0.1, 100_000)),
)
names = words.filter(lambda text: bool(text.strip()))
ids = st.uuids().map(lambda name: name.hex)
kit_items = st.builds(
    KitItem,
    id=ids,
    name=names,
    kind=words,
    maker=words,
    model=words,
    serial=words,
    bought_on=maybe(st.dates()),
    price=maybe(st.floats(0, 1e6)),
    currency=words,
    notes=words,
    retired=st.booleans(),
    dives_before=st.integers(0, 100_000),
    hours_before=st.floats(0, 100_000),
    intervals=st.lists(intervals, max_size=3, unique_by=lambda interval: interval.check).map(tuple),
)
care_records = st.builds(
    CareRecord,
    id=ids,
    item_id=ids,
    check=st.sampled_from(Check),
    done_on=st.dates(),
    note=words,
    taken_back_at=maybe(instants().map(lambda at: at.astimezone(UTC))),
)
kit_sets = st.builds(KitSet, id=ids, name=names, item_ids=st.lists(words, max_size=3).map(tuple))


analyses = st.builds(GasAnalysis, gas=gases(), by=words, at=instants())
planned_lines = st.builds(
    lambda begins_at, points, gas_l: PlannedLine(
        begins_at, *zip(*sorted(points.items()), strict=True), gas_l
    ),
    instants(),
    st.dictionaries(st.floats(0, 300), st.floats(0, 120), min_size=2, max_size=8),
    maybe(st.floats(0, 20_000)),
)
pre_dive_cards = st.builds(
    PreDiveCard,
    id=ids,
    begun_at=instants(),
    utc_offset_min=st.integers(-1439, 1439),
    site=words,
    kit_checked=st.lists(st.sampled_from(KitCheck) | words, max_size=3).map(lambda c: tuple(map(str, c))),
    analyses=st.lists(analyses, max_size=2).map(tuple),
    fitness=st.sampled_from(Fitness),
    checked_with=st.lists(words, max_size=2).map(tuple),
    contacts=words,
    nearest_oxygen=words,
    plan=words,
    planned_line=maybe(planned_lines),
)


photos = st.builds(
    Photo,
    sha256=st.text("0123456789abcdef", min_size=64, max_size=64),
    file_name=words,
    taken_local=st.just("")
    | st.datetimes(datetime(1950, 1, 1), datetime(2150, 1, 1)).map(datetime.isoformat),
)


def dives(recordings: st.SearchStrategy[tuple[Recording, ...]] = _NO_RECORDINGS) -> st.SearchStrategy[Dive]:
    """Any dive, with the recordings of the strategy; none unless asked for."""
    return st.builds(
        Dive,
        id=st.uuids().map(lambda name: name.hex),
        began_at=instants(),
        utc_offset_min=st.integers(-1439, 1439),
        duration_min=st.floats(0.001, LONGEST_DIVE_MIN),
        max_depth_m=st.floats(0.001, GREATEST_DEPTH_M),
        mean_depth_m=maybe(st.floats(0, GREATEST_DEPTH_M)),
        number=maybe(st.integers(0, 100_000)),
        diver=words,
        site=maybe(sites),
        surface_bar=maybe(st.floats(LOWEST_SURFACE_BAR, HIGHEST_SURFACE_BAR)),
        elevation_m=maybe(elevations_m),
        water=st.sampled_from(Water),
        cylinders=_several(cylinders),
        weights_kg=maybe(st.floats(0, 100)),
        suit=words,
        kit=_several(st.builds(UsedKit, id=words, name=words)),
        air_temperature_c=maybe(st.floats(-80, 80)),
        lowest_temperature_c=maybe(st.floats(-5, 60)),
        visibility_m=maybe(st.floats(0, 200)),
        current=words,
        conditions=words,
        buddies=_several(words),
        purpose=words,
        notes=words,
        rating=maybe(st.integers(1, 10)),
        tags=_several(words),
        trip=words,
        supervised_by=words,
        role=maybe(st.sampled_from(Role)),
        environments=_several(st.sampled_from(Environment)),
        pre_dive=maybe(pre_dive_cards),
        photos=_several(photos),
        camera_ahead_s=st.integers(-MOST_AHEAD_S, MOST_AHEAD_S),
        estimate=st.booleans(),
        recordings=recordings,
        extra=st.dictionaries(words, words, max_size=3),
    )


accounts = st.builds(
    Account,
    began_at=instants(),
    duration_min=st.floats(0.001, LONGEST_DIVE_MIN),
    max_depth_m=st.floats(0.001, GREATEST_DEPTH_M),
    utc_offset_min=st.integers(-1439, 1439),
    mean_depth_m=maybe(st.floats(0, GREATEST_DEPTH_M)),
    surface_bar=maybe(st.floats(LOWEST_SURFACE_BAR, HIGHEST_SURFACE_BAR)),
    lowest_temperature_c=maybe(st.floats(-5, 60)),
    cylinders=st.lists(cylinders, max_size=2).map(tuple),
)


@st.composite
def entries(draw: st.DrawFn, *, told: st.SearchStrategy[Account | None] = _NO_ACCOUNT) -> Entry:
    """A dive with the profiles that its recordings name, as the store takes them."""
    recorded = draw(st.lists(maybe(profiles(most_samples=5)), max_size=2))
    recordings = tuple(
        Recording(draw(words), _name(profile) if profile else None, draw(words), draw(words), draw(told))
        for profile in recorded
    )
    return draw(dives(st.just(recordings))), [profile for profile in recorded if profile]


def plain_dive(**known: Any) -> Dive:
    """Return an unremarkable dive, for tests that care about one field."""
    fields = {"began_at": datetime(2031, 5, 4, 9, 30, tzinfo=UTC), "duration_min": 42.0, "max_depth_m": 18.3}
    return Dive(**{**fields, **known})


def _several(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.lists(strategy, max_size=3).map(tuple)


def _name(profile: Profile) -> str:
    return profile_digest(profile_to_bytes(profile))

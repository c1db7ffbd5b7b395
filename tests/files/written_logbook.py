"""Any logbook for a writer, and what the readers make of what it wrote."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from hypothesis import strategies as st

from logbook_app.dive.problems import Problem
from logbook_app.dive.profile import GasSwitch, Profile, Remark, profile_digest, profile_to_bytes
from logbook_app.dive.record import Dive, Site
from logbook_app.files.read_dive import ReadDive, ReadOptions
from logbook_app.files.recording_file import read_recording
from logbook_app.files.uddf.word_lists import WORDS
from logbook_app.files.uddf.writer import write_uddf
from tests.dive.strategies import entries

WRITTEN_AT = datetime(2032, 2, 3, 4, 5, 6, tzinfo=UTC)

Entry = tuple[Dive, list[Profile]]

_KEPT = (
    "divenumberofday", "internaldivenumber", "apparatus", "platform", "stateofrestbeforedive", "diveplan",
    "pressuredrop", "equipmentmalfunction", "problems", "program", "thermalcomfort", "workload",
    "desaturationtime", "noflighttime", "divetable", "globalalarmsgiven", "highestpo2",
    "surfaceintervalbeforedive", "surfaceintervalafterdive", "anysymptoms", "equipmentused", "owner",
    "datetime", "site.environment", "site.density", "site.country", "breathingconsumptionvolume", "unread",
)  # fmt: skip
_WORDS = sorted(set().union(*WORDS.values()))
_TOLD = st.sampled_from(
    [*_WORDS, "infinity", "5400.0", "5400", "-1", "1e3", "0.00025; 0.0003", "fins: long ones; mask: m",
     "<unread><in path='.'><tide>ebb</tide></in><at time_s='0.0'><echo>4</echo></at></unread>",
     "<unread><in path='informationbeforedive'><price>9</price></in><in path='a[b'/></unread>",
     "<unread", "7", "1027.0", "Ada Marsh", "2026-08"]
)  # fmt: skip
extras = st.dictionaries(st.sampled_from([f"uddf:{name}" for name in _KEPT]), _TOLD | st.text(max_size=5))

_REMARKS = st.sampled_from(
    ["alarm: ascent", "alarm: unknown to the standard", "bookmark", "bookmark wreck", "a word",
     "safety stop 5 m, 3 min", "mandatory stop 6 m, 2 min", "recorded stop", "\0\ud800\r\n"]
)  # fmt: skip
_CHANNELS = (
    "temperature_c", "pressure_bar_0", "pressure_bar_1", "ppo2_bar", "measured_ppo2_bar", "set_ppo2_bar",
    "measured_ppo2_bar_2", "recorded_no_stop_min", "recorded_cns_fraction", "recorded_otu", "heading_deg",
    "recorded_stop_depth_m", "recorded_stop_min", "heart_rate_per_min", "battery_charge",
    "remaining_oxygen_min",
    "on_loop",
)  # fmt: skip


@st.composite
def recorder_profiles(draw: st.DrawFn) -> Profile:
    """A profile as recorders write them: every channel that UDDF knows, decimals, marks on samples."""
    n = draw(st.integers(2, 8))
    times_s = [10.0 * place for place in range(n)]
    tenths = st.integers(0, 400).map(lambda value: value / 10) | st.just(float("nan"))
    names = draw(st.lists(st.sampled_from(_CHANNELS), unique=True, max_size=8))
    at_s = st.sampled_from(times_s)
    return Profile(
        times_s,
        draw(st.lists(st.integers(0, 400).map(lambda value: value / 10), min_size=n, max_size=n)),
        {name: draw(st.lists(tenths, min_size=n, max_size=n)) for name in names},
        tuple(draw(st.lists(st.builds(GasSwitch, at_s, st.integers(0, 2)), max_size=3))),
        tuple(draw(st.lists(st.builds(Remark, at_s, _REMARKS), max_size=4))),
    )


@st.composite
def logbooks(draw: st.DrawFn) -> list[Entry]:
    """Any logbook in order of its dives: records that can be, and some that a recorder would give."""
    any_dives = draw(st.lists(entries(), max_size=3, unique_by=lambda entry: entry[0].id))
    found = []
    for dive, profiles in any_dives:
        dive = replace(dive, extra={**dive.extra, **draw(extras)})
        if dive.recordings and profiles and draw(st.booleans()):
            profile = draw(recorder_profiles())
            named = replace(dive.recordings[0], profile_sha256=digest(profile))
            dive = replace(dive, recordings=(named, *dive.recordings[1:]))
            profiles = [profile, *profiles]
        found.append((dive, profiles))
    return sorted(found, key=lambda entry: entry[0].began_at)


def digest(profile: Profile) -> str:
    return profile_digest(profile_to_bytes(profile))


def profiles_of(entries: Sequence[Entry]) -> Callable[[Dive], list[Profile | None]]:
    kept = {digest(profile): profile for _, profiles in entries for profile in profiles}
    return lambda dive: [kept.get(recording.profile_sha256 or "") for recording in dive.recordings]


def written_uddf(path: Path, entries: Sequence[Entry]) -> Path:
    write_uddf(path, [dive for dive, _ in entries], profiles_of(entries), WRITTEN_AT)
    return path


def read_again(path: Path, **options: str) -> tuple[dict[str, ReadDive], list[Problem]]:
    """Return the dives of a file by their ids, and what was odd."""
    items = list(read_recording(path, ReadOptions(**options)))  # type: ignore[arg-type]
    read = [item for item in items if isinstance(item, ReadDive)]
    assert len({item.dive.id for item in read}) == len(read)
    return {item.dive.id: item for item in read}, [item for item in items if isinstance(item, Problem)]


def assert_same(entries: Sequence[Entry], read: dict[str, ReadDive]) -> None:
    """Assert that a file gave every dive and every profile as they were."""
    of_dive = profiles_of(entries)
    assert read.keys() == {dive.id for dive, _ in entries}
    for dive, _ in entries:
        again = read[dive.id]
        assert again.dive == dive
        assert [again.profile, *again.further][: len(dive.recordings)] == of_dive(dive)
        assert again.known_as == dive.id


def plain_site() -> Site:
    return Site.named("Gull Steps", elevation_m=12.5, latitude_deg=1.25, longitude_deg=-2.5, region="Sound")

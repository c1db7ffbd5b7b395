"""A recording has one name, whoever reads it and however often."""

from __future__ import annotations

import re

import pytest
from invented_files import SAMPLES

from logbook_app.dive.profile import profile_digest, profile_to_bytes

ALL = sorted(path.name for path in SAMPLES.iterdir() if path.name != "german_feet_and_psi_latin1.csv")


@pytest.mark.parametrize("name", ALL)
def test_reading_a_file_twice_gives_the_same_dives(name, read):
    first, second = read(name), read(name)
    assert first == second
    assert first.dives
    assert len({dive.recordings[0].fingerprint for dive in first.dives}) == len(first.dives)


@pytest.mark.parametrize("name", ALL)
def test_each_dive_names_its_recording_its_profile_and_its_file(name, read):
    for item in read(name).read:
        (recording,) = item.dive.recordings
        assert re.fullmatch("[0-9a-f]{64}", recording.fingerprint)
        assert recording.file_name == name
        assert item.dive.estimate == (item.profile is None)
        if item.profile is not None:
            assert recording.profile_sha256 == profile_digest(profile_to_bytes(item.profile))


def test_a_corrected_note_leaves_the_recording_as_it_was(one_dive, read, written):
    plain = read(written(one_dive())).dives[0]
    noted = read(written(one_dive(after="<notes><para>Later words.</para></notes>"))).dives[0]
    assert noted.notes != plain.notes
    assert noted.id == plain.id


def test_another_diver_start_or_depth_is_another_recording(one_dive, read, written):
    path = written(one_dive())
    ids = {read(path).dives[0].id, read(path, diver="Odile Marsh").dives[0].id}
    ids.add(read(written(one_dive().replace("T10:00:00Z", "T10:00:01Z"))).dives[0].id)
    ids.add(read(written(one_dive().replace("<depth>12</depth>", "<depth>11.9</depth>"))).dives[0].id)
    assert len(ids) == 4


def test_whose_dives_they_are_is_kept(read):
    assert {dive.diver for dive in read("documented_form.csv", diver="Odile Marsh").dives} == {"Odile Marsh"}

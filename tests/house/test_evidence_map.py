"""The map of the evidence is not stale, and no physics module is without evidence."""

from __future__ import annotations

from tests.house.evidence_map import PAGE, evidence_page, modules_without_evidence


def test_the_map_of_the_evidence_is_as_the_tests_are_now():
    told = "Make it anew with: python -m tests.house.evidence_map"
    assert PAGE.read_text(encoding="utf-8") == evidence_page(), told


def test_every_physics_module_has_evidence_of_somebody_elses_or_a_law():
    assert modules_without_evidence() == set()

"""A plan as it is entered: it comes back equal, and always has legs that can be breathed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.dive_plan import MOST_LEGS, Leg
from logbook_app.dive.cylinder import Cylinder
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.screens.plan_draft import PlanDraft, cylinders_of

LEGS = st.builds(Leg, st.floats(1, 100), st.floats(1, 200), st.integers(0, 3))
GASES = st.sampled_from([AIR, BreathingGas(0.32), BreathingGas(0.18, 0.45)])
CYLINDERS = st.builds(Cylinder, GASES, st.none() | st.floats(1, 40), st.none() | st.floats(0, 300))
DRAFTS = st.builds(
    PlanDraft,
    st.lists(LEGS, min_size=1, max_size=MOST_LEGS).map(tuple),
    st.none() | st.lists(CYLINDERS, min_size=1, max_size=4).map(tuple),
    st.none() | st.floats(5, 90),
)


@given(DRAFTS)
def test_what_is_kept_comes_back_equal(draft: PlanDraft) -> None:
    assert PlanDraft.from_text(draft.to_text()) == draft


@pytest.mark.parametrize(
    "text",
    ["{", "[]", '{"legs": [{}]}', '{"legs": 3}', '{"cylinders": [{"gas": {"oxygen": 7}}]}', "null"],
)
def test_what_cannot_be_read_is_an_empty_plan(text: str) -> None:
    assert PlanDraft.from_text(text) == PlanDraft()


@given(DRAFTS, st.lists(CYLINDERS, min_size=1, max_size=4), st.data())
def test_every_leg_has_a_cylinder(draft: PlanDraft, held: list[Cylinder], data: st.DataObject) -> None:
    assert all(leg.cylinder < len(held) for leg in draft.legs_on(tuple(held)))
    place = data.draw(st.integers(0, len(held) - 1))
    less = draft.without_cylinder(place, tuple(held))
    left = less.cylinders or tuple(held)
    assert all(leg.cylinder < len(left) for leg in less.legs_on(left))


def test_legs_are_added_to_a_limit_and_the_last_one_stays() -> None:
    draft = PlanDraft()
    for _ in range(MOST_LEGS + 3):
        draft = draft.with_another_leg()
    assert len(draft.legs) == MOST_LEGS
    assert all(
        after.depth_m <= before.depth_m for before, after in zip(draft.legs, draft.legs[1:], strict=False)
    )
    assert PlanDraft().without_leg(0) == PlanDraft()


def test_a_plan_before_any_dive_is_on_air() -> None:
    assert cylinders_of(None) == (Cylinder(AIR),)

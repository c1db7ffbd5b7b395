"""Tagging and deleting several dives: one change each, all of it or none, and it can be taken back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from logbook_app.analysis.dive_filter import DiveFilter
from logbook_app.dive.changes import Changes
from logbook_app.dive.problems import Cancelled, RefusedRecord, UnknownDive
from logbook_app.logbook import Logbook
from tests.dive.strategies import plain_dive

pytestmark = pytest.mark.law

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with closing(Logbook.open(tmp_path / "l.leadline", now=lambda: NOW)) as opened:
        opened.keep_dives([plain_dive(id=name, tags=("Wreck", "night")) for name in ("a", "b", "c")])
        yield opened


def tags(logbook: Logbook) -> dict[str, tuple[str, ...]]:
    return {dive.id: dive.tags for dive in logbook.dives()}


def test_tags_come_and_go_whatever_their_case_and_are_found_at_once(logbook: Logbook) -> None:
    changes = logbook.tag_dives(["a", "b"], add=["deep  one", "NIGHT"], remove=["wreck"])
    assert changes == Changes(frozenset({"a", "b"}), undo_id=changes.undo_id)
    assert tags(logbook) == {"a": ("night", "deep one"), "b": ("night", "deep one"), "c": ("Wreck", "night")}
    assert sorted(logbook.find_dives(DiveFilter(text="deep")).ids()) == ["a", "b"]
    logbook.undo_import(changes.undo_id)
    assert set(tags(logbook).values()) == {("Wreck", "night")}
    assert logbook.find_dives(DiveFilter(text="deep")).ids() == []


def test_only_dives_that_change_are_touched(logbook: Logbook) -> None:
    logbook.tag_dives(["a"], add=["deep"])
    assert logbook.tag_dives(["a", "b"], add=["deep"]).dives == {"b"}
    assert logbook.tag_dives(["a", "b"], add=["deep"], remove=["reef"]) == Changes()


def test_several_are_deleted_as_one_and_come_back_as_one(logbook: Logbook) -> None:
    changes = logbook.delete_dives(["a", "c", "a"])
    assert (changes.dives, changes.totals) == ({"a", "c"}, True)
    assert logbook.find_dives().ids() == ["b"]
    (past,) = logbook.imports()
    assert (past.kind, past.dives) == ("delete", {"a", "c"})
    logbook.undo_import(changes.undo_id)
    assert sorted(logbook.find_dives().ids()) == ["a", "b", "c"]
    assert logbook.binned() == []


def test_none_chosen_is_no_change(logbook: Logbook) -> None:
    assert logbook.delete_dives([]) == logbook.tag_dives([], add=["deep"]) == Changes()
    assert logbook.imports() == []


def test_one_that_is_not_there_leaves_all_as_they_were(logbook: Logbook) -> None:
    with pytest.raises(UnknownDive):
        logbook.delete_dives(["a", "nowhere"])
    with pytest.raises(UnknownDive):
        logbook.tag_dives(["a", "nowhere"], add=["deep"])
    with pytest.raises(RefusedRecord, match="needs a word"):
        logbook.tag_dives(["a"], add=[" "])
    assert set(tags(logbook).values()) == {("Wreck", "night")}
    assert len(logbook.imports()) == 0


@pytest.mark.parametrize("ending", [".uddf", ".json", ".pdf"])
def test_an_export_tells_how_far_it_is_and_leaves_nothing_when_it_is_stopped(
    logbook: Logbook, tmp_path: Path, ending: str
) -> None:
    told: list[tuple[int, int, str]] = []
    path = tmp_path / f"dives{ending}"
    assert logbook.export(path, ["a", "c"], progress=lambda *far: told.append(far)) == 2
    assert (told[0], told[-1]) == ((0, 2, path.name), (1, 2, path.name))
    path.unlink()
    with pytest.raises(Cancelled, match="was not written"):
        logbook.export(path, ["a", "c"], cancelled=lambda: len(told) > 0)
    assert not [left for left in tmp_path.iterdir() if left.name.startswith("dives")]

"""Searching the words of the dives: found by what is written, and the index right after every write."""

from __future__ import annotations

import sqlite3
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook_app.analysis.dive_filter import DiveFilter
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Dive, Recording, Site
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.store import logbook_store, migrations
from logbook_app.store.dive_rows import write_dives
from logbook_app.store.logbook_store import LogbookStore
from tests.dive.strategies import dives, plain_dive

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
FULL_TEXT = ("index", "texts alone")


@pytest.fixture(params=FULL_TEXT)
def store(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[LogbookStore]:
    """A logbook with a full-text index, and one on a device that cannot keep one."""
    if request.param == "texts alone":
        without_full_text(monkeypatch)
    with closing(LogbookStore(tmp_path / "logbook.sqlite")) as opened:
        yield opened


def without_full_text(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(logbook_store, "has_full_text", lambda _connection: False)


def found(store: LogbookStore, text: str) -> set[str]:
    """Return the ids of the dives that have a text, those in the bin too."""
    ids = {place: dive_id for dive_id, place in store.places().items()}
    return {ids[place] for place in store.places_with(text) or ()}


def full_dive() -> Dive:
    return plain_dive(
        id="full",
        number=1412,
        diver="Odile Marsh",
        site=Site.named("Gännet Ledge", region="Sorrel Sound"),
        cylinders=(Cylinder(BreathingGas(0.18, 0.45), 12.0, name="twin twelve"),),
        suit="trilaminate",
        buddies=("Żaneta Bąk", "Rune Holt"),
        notes="Saw a wolffish. 沖の島の北 · Ναυάγιο · затонувший",
        tags=("wreck",),
        trip="Sorvane, spring",
        conditions="long swell",
        recordings=(Recording("f", None, "wrist recorder"),),
        extra={"uddf:equipmentused": "mask: Periscope", "uddf:unread": "<moonphase/>"},
    )


@pytest.mark.parametrize(
    "text",
    ["gannet", "GÄNNET", "gann", "ledge gannet", "sound", "zaneta bak", "holt", "wolffish",
     "wreck", "sorvane",
     "spring wolf", "trilam", "swell", "recorder wrist", "trimix", "18/45", "18/4", "1412", "#1412", "twin",
     "periscope", "odile", "島", "の島", "ναυαγιο", "ΝΑΥ", "ЗАТОНУВШИЙ", "затонувшии"],
)  # fmt: skip
def test_a_dive_is_found_by_whatever_is_written_about_it(store: LogbookStore, text: str) -> None:
    store.save([(full_dive(), ()), (plain_dive(id="other", notes="annet olffish reck"), ())])
    assert found(store, text) == {"full"}


@pytest.mark.parametrize(
    "text",
    ["annet", "ledge sound gannet holt reef", "ledgesorrel", "moonphase", "45/18", "twelve/trilaminate"],
)
def test_it_is_not_found_by_what_is_not_there(store: LogbookStore, text: str) -> None:
    """Neither by the end of a word, nor across two fields, nor by another program's markup."""
    store.save([(full_dive(), ())])
    assert found(store, text) == set()


@pytest.mark.parametrize("text", ["", "  ", "·", "?!", '"', "%", "_", "*", "\x00"])
def test_a_text_without_a_word_looks_for_nothing(store: LogbookStore, text: str) -> None:
    store.save([(full_dive(), ())])
    assert store.places_with(text) is None


@pytest.mark.parametrize(
    "text", ['wreck" OR "', "wreck AND", "NEAR(wreck)", "words:wreck", "wr%ck", "wr_ck", "-wreck"]
)
def test_marks_are_no_language(store: LogbookStore, text: str) -> None:
    """What a diver types is words; nothing in it commands the search."""
    store.save([(full_dive(), ())])
    expected = {"full"} if text == "-wreck" else set()
    assert found(store, text) == expected
    assert found(store, 'wreck"') == {"full"}


def test_every_write_keeps_the_index_right(tmp_path: Path) -> None:
    """Edited, binned, restored, joined, taken back: what is written now is what is found."""
    with closing(Logbook.open(tmp_path / "l.leadline", now=lambda: NOW)) as logbook:
        store = logbook._store
        one = plain_dive(id="one", notes="kelp", number=1)
        two = plain_dive(id="two", notes="crab", number=2, began_at=one.began_at + timedelta(minutes=5))
        logbook.keep_dives([one, two])
        assert found(store, "kelp") == {"one"}
        logbook.keep_dives([replace(one, notes="sponge")])
        assert (found(store, "kelp"), found(store, "sponge")) == (set(), {"one"})
        logbook.delete_dive("one")
        logbook.restore_dive("one")
        assert found(store, "sponge") == {"one"}
        changes = logbook.join_dives("one", "two")
        assert found(store, "crab") == {"one", "two"}
        logbook.undo_import(changes.undo_id)
        assert found(store, "crab") == {"two"}
        assert_index_right(store)


def assert_index_right(store: LogbookStore) -> None:
    """Let SQLite compare its index with the texts, and the texts with the dives."""
    store._connection.execute(
        "INSERT INTO dive_word_index (dive_word_index, rank) VALUES ('integrity-check', 1)"
    )
    assert store.places().keys() == {dive.id for dive in store.dives()} | {
        dive.id for dive, _ in store.binned()
    }


short = st.text(st.sampled_from("ab éÉß島·%_\"'-"), max_size=6)
written = st.builds(
    replace,
    dives(),
    id=st.sampled_from(["one", "two", "three"]),
    notes=short,
    tags=st.lists(short, max_size=2).map(tuple),
)
writes = st.lists(
    st.one_of(
        st.lists(written, min_size=1, max_size=3).map(
            lambda some: lambda store: store.save([(d, ()) for d in some])
        ),
        st.sampled_from(["one", "two"]).map(lambda dive_id: lambda store: _if_there(store, dive_id, "bin")),
        st.sampled_from(["one", "two"]).map(
            lambda dive_id: lambda store: _if_there(store, dive_id, "restore")
        ),
        st.lists(written, min_size=1, max_size=2).map(lambda some: lambda store: _refused(store, some)),
    ),
    max_size=6,
)


def _if_there(store: LogbookStore, dive_id: str, what: str) -> None:
    if dive_id in store.places():
        store.bin(dive_id, NOW) if what == "bin" else store.restore(dive_id)


def _refused(store: LogbookStore, some: list[Dive]) -> None:
    """Make a change of which nothing is kept."""
    with pytest.raises(Exception, match="There is no dive nowhere"):
        store.save_together([(dive, ()) for dive in some], NOW, to_bin=["nowhere"])


@pytest.mark.law
@settings(max_examples=40)
@given(writes=writes, asked=short)
def test_index_texts_and_a_plain_look_agree_after_any_writes(
    tmp_path_factory: pytest.TempPathFactory, writes: list[Callable[[LogbookStore], None]], asked: str
) -> None:
    """Whatever was written: the index and the texts give one answer, and the index is what SQLite checks."""
    with closing(LogbookStore(tmp_path_factory.mktemp("law") / "l.sqlite")) as store:
        for write in writes:
            write(store)
        by_index = store.places_with(asked)
        store._full_text = False
        by_texts = store.places_with(asked)
        assert (by_index is None) == (by_texts is None)
        assert sorted(by_index or ()) == sorted(by_texts or ())
        assert_index_right(store)
        for dive in store.dives():
            if words := _whole_words(dive.notes):
                assert dive.id in found(store, words)


def _whole_words(text: str) -> str:
    return " ".join("".join(c if c.isalnum() else " " for c in unicodedata.normalize("NFC", text)).split())


def _without_the_search() -> tuple[Callable[[Any], None], ...]:
    """The tables that dives are written to, as they are today, and not those of the search."""
    return tuple(each for each in migrations.MIGRATIONS if each is not migrations.words_to_search)


def test_a_logbook_from_before_the_search_gets_its_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "old.sqlite"
    with monkeypatch.context() as before:
        before.setattr(migrations, "MIGRATIONS", _without_the_search())
        with closing(sqlite3.connect(path, isolation_level=None)) as old:
            logbook_store.prepare(old)
            migrations.migrate(old)
            write_dives(old, [full_dive(), plain_dive(id="damaged")])
            old.execute("UPDATE dives SET began_at = 'never' WHERE id = 'damaged'")
    with closing(LogbookStore(path)) as store:
        assert found(store, "wolffish") == {"full"}
        revision = store.revision()
    with closing(LogbookStore(path)) as store:
        assert store.revision() == revision


def test_a_file_goes_to_a_device_without_the_index_and_comes_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was written there is found here, and the index is whole again."""
    path = tmp_path / "l.sqlite"
    with closing(LogbookStore(path)) as here:
        here.save([(plain_dive(id="one", notes="kelp"), ())])
    with monkeypatch.context() as there:
        without_full_text(there)
        with closing(LogbookStore(path)) as store:
            store.save([(plain_dive(id="one", notes="sponge"), ()), (plain_dive(id="two", notes="kelp"), ())])
            assert found(store, "kelp") == {"two"}
    with closing(LogbookStore(path)) as here:
        assert (found(here, "kelp"), found(here, "sponge")) == ({"two"}, {"one"})
        assert_index_right(here)


def test_corrections_and_backups_keep_the_index_right(tmp_path: Path) -> None:
    """A field given anew, that taken back, and a whole backup in the place of the logbook."""
    with closing(Logbook.open(tmp_path / "l.leadline", now=lambda: NOW)) as logbook:
        store = logbook._store
        logbook.keep_dives([plain_dive(id="one", notes="kelp")])
        backup = logbook.back_up(tmp_path / "backup.leadline").path
        changes = logbook.change_dive("one", notes="sponge", trip="Sorvane")
        assert (found(store, "kelp"), found(store, "sponge sorv")) == (set(), {"one"})
        logbook.take_back(changes.change_id)
        assert (found(store, "kelp"), found(store, "sorv")) == ({"one"}, set())
        logbook.keep_dives([plain_dive(id="two", notes="crab")])
        assert logbook.find_dives(DiveFilter(text="crab")).ids() == ["two"]
        logbook.restore(backup)
        assert logbook.find_dives(DiveFilter(text="crab")).ids() == []
        assert logbook.find_dives(DiveFilter(text="kelp")).ids() == ["one"]
        assert_index_right(store)

"""The words of every dive, and an index over them where this SQLite can keep one.

`dive_words` has one text a dive, cut and folded by `dive.search_words`; every write of a dive writes
it too, in the same transaction. Where SQLite was built with FTS5, `dive_word_index` indexes it, and is
kept right by the same writes. Where it was not, as on some devices, the texts themselves are searched,
slower and with the same answer. A file may go from one to the other: `logbook.words_indexed` says
whether the index holds what the texts hold, and whoever has FTS5 and finds that it does not makes it anew.

SQLite's tokenizer `ascii` parts words at spaces here and does nothing else.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import suppress
from typing import Final

from logbook_app.dive.problems import LogbookError
from logbook_app.dive.record import Dive
from logbook_app.dive.search_words import WORDS_VERSION, asked_words, search_text
from logbook_app.store.dive_rows import read_dives

_MAKE_INDEX: Final = (
    "CREATE VIRTUAL TABLE IF NOT EXISTS dive_word_index USING fts5"
    " (words, content = 'dive_words', content_rowid = 'place', tokenize = 'ascii', prefix = '1 2 3')"
)
_FORGET: Final = (
    "INSERT INTO dive_word_index (dive_word_index, rowid, words)"
    " SELECT 'delete', place, words FROM dive_words WHERE dive_id = ?"
)
_KEEP: Final = (
    "INSERT INTO dive_words (dive_id, words) VALUES (?, ?)"
    " ON CONFLICT (dive_id) DO UPDATE SET words = excluded.words"
)
_INDEX: Final = (
    "INSERT INTO dive_word_index (rowid, words) SELECT place, words FROM dive_words WHERE dive_id = ?"
)


def has_full_text(connection: sqlite3.Connection) -> bool:
    """Tell whether this SQLite can keep a full-text index."""
    try:
        connection.execute("CREATE VIRTUAL TABLE temp.full_text_here USING fts5 (words)")
        connection.execute("DROP TABLE temp.full_text_here")
    except sqlite3.OperationalError:
        return False
    return True


def words_are_right(connection: sqlite3.Connection, full_text: bool) -> bool:
    """Tell whether every dive has its words as this program cuts them, and the index follows."""
    version, indexed = connection.execute("SELECT words_version, words_indexed FROM logbook").fetchone()
    return version == WORDS_VERSION and (bool(indexed) or not full_text)


def put_words_right(connection: sqlite3.Connection, full_text: bool) -> None:
    """Cut the words of all dives where that is needed and make the index anew, within a change."""
    (version,) = connection.execute("SELECT words_version FROM logbook").fetchone()
    if version != WORDS_VERSION:
        connection.executemany(_KEEP, ((dive.id, search_text(dive)) for dive in _readable(connection)))
    if full_text:
        connection.execute(_MAKE_INDEX)
        connection.execute("INSERT INTO dive_word_index (dive_word_index) VALUES ('rebuild')")
    connection.execute(
        "UPDATE logbook SET words_version = ?, words_indexed = ?", [WORDS_VERSION, int(full_text)]
    )


def write_words(connection: sqlite3.Connection, dives: Iterable[Dive], full_text: bool) -> None:
    """Keep the words of dives that were just written, within the same change."""
    texts = [(dive.id, search_text(dive)) for dive in dives]
    ids = [(dive_id,) for dive_id, _ in texts]
    if not full_text:
        connection.executemany(_KEEP, texts)
        connection.execute("UPDATE logbook SET words_indexed = 0")
        return
    connection.executemany(_FORGET, ids)
    connection.executemany(_KEEP, texts)
    connection.executemany(_INDEX, ids)


def places_with(connection: sqlite3.Connection, text: str, full_text: bool) -> list[int] | None:
    """Return the places of the dives that have all words of a text, those in the bin too.

    None where the text has no word to look for.
    """
    asked = asked_words(text)
    if not asked:
        return None
    if full_text:
        rows = connection.execute(
            "SELECT rowid FROM dive_word_index WHERE dive_word_index MATCH ?", [matching(asked)]
        )
    else:
        holds = " AND ".join(["words LIKE ?"] * len(asked))
        rows = connection.execute(
            f"SELECT place FROM dive_words WHERE {holds}",  # noqa: S608
            [f"% {' '.join(words)}%" for words in asked],
        )
    return [place for (place,) in rows]


def matching(asked: list[list[str]]) -> str:
    """Return what is looked for as FTS5 takes it: phrases of which the last word has only begun.

    >>> matching([["wreck"], ["18", "4"]])
    '"wreck" * "18 4" *'
    """
    return " ".join(f'"{" ".join(words)}" *' for words in asked)


def _readable(connection: sqlite3.Connection) -> Iterator[Dive]:
    """Yield every dive, the bin's too. One that is damaged has no words, and the others are found."""
    try:
        yield from read_dives(connection, "1")
        return
    except LogbookError:
        ids = connection.execute("SELECT id FROM dives").fetchall()
    for dive_id in ids:
        with suppress(LogbookError):
            yield from read_dives(connection, "dives.id = ?", dive_id)

"""What is wrong with a logbook file, in sentences: damage first, then what is only odd.

Looking changes nothing. Damage is what a backup mends; oddities are harmless and left to the diver.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from hashlib import sha256
from itertools import islice
from typing import Any

from logbook_app.dive.problems import LogbookError, Problem, RefusedRecord
from logbook_app.dive.profile import profile_digest, profile_from_bytes
from logbook_app.language import _, ngettext
from logbook_app.store.dive_rows import read_dives

_MOST_TOLD = 5
_NAME_OF_SAMPLES = re.compile(r"\b[0-9a-f]{64}\b")


def damage(connection: sqlite3.Connection) -> Iterator[Problem]:
    """Yield what is broken: pages of the file, references, samples, dives that cannot be read."""
    try:
        broken = list(_broken_pages(connection))
        yield from broken
        if not broken:  # in a file with broken pages the rest would be said twice, or not be readable
            yield from _broken_references(connection)
            yield from _damaged_samples(connection)
            yield from _damaged_pictures(connection)
            yield from _unreadable_dives(connection)
    except sqlite3.DatabaseError as error:
        yield Problem("", "", _file_is_damaged(str(error)))


def oddities(connection: sqlite3.Connection) -> Iterator[Problem]:
    """Yield what is odd and does no harm: samples that no dive names, numbers given twice."""
    yield from _samples_of_no_dive(connection)
    yield from _numbers_given_twice(connection)


def _broken_pages(connection: sqlite3.Connection) -> Iterator[Problem]:
    said = [words for (words,) in connection.execute("PRAGMA integrity_check(100)")]
    if said != ["ok"]:
        yield Problem("", "", _file_is_damaged("; ".join(said[:_MOST_TOLD])))


def _file_is_damaged(how: str) -> str:
    return _("The file is damaged ({how}). Keep a copy of it as it is and put back the last backup.").format(
        how=how
    )


def _broken_references(connection: sqlite3.Connection) -> Iterator[Problem]:
    rows = connection.execute("PRAGMA foreign_key_check").fetchall()
    for table, parent in sorted({(row[0], row[2]) for row in rows}):
        count = sum((row[0], row[2]) == (table, parent) for row in rows)
        sentence = ngettext(
            "{count} row of {table} names something in {parent} that is not there. Put back the last backup.",
            "{count} rows of {table} name something in {parent} that is not there. Put back the last backup.",
            count,
        )
        yield Problem("", "", sentence.format(count=count, table=table, parent=parent))


def _damaged_samples(connection: sqlite3.Connection) -> Iterator[Problem]:
    for name, samples in connection.execute("SELECT sha256, samples FROM profiles ORDER BY sha256"):
        if not sound_samples(name, samples):
            dives = _named_by(connection, name)
            sentence = _("The samples {name} are damaged. Put back the last backup or read their file again.")
            yield Problem("", dives, sentence.format(name=name[:12]))


def _damaged_pictures(connection: sqlite3.Connection) -> Iterator[Problem]:
    for name, image in connection.execute("SELECT sha256, image FROM pictures ORDER BY sha256"):
        if not sound_picture(name, image):
            sentence = _("The photo {name} is damaged. Put back the last backup.")
            yield Problem("", "", sentence.format(name=name[:12]))


def sound_samples(name: str, samples: Any) -> bool:
    """Return whether samples are those that their name says, and can be read."""
    if not isinstance(samples, bytes) or profile_digest(samples) != name:
        return False
    try:
        profile_from_bytes(samples)
    except RefusedRecord:
        return False
    return True


def sound_picture(name: str, image: Any) -> bool:
    """Return whether a photo's bytes are those that its name says."""
    return isinstance(image, bytes) and sha256(image).hexdigest() == name


def _named_by(connection: sqlite3.Connection, name: str) -> str:
    """Say which dives these samples belong to."""
    rows = connection.execute(
        "SELECT began_at FROM dives JOIN recordings ON dives.id = dive_id WHERE profile_sha256 = ?"
        " ORDER BY began_at",
        [name],
    )
    return ", ".join(_("dive of {when}").format(when=began_at[:16]) for (began_at,) in rows)


def _unreadable_dives(connection: sqlite3.Connection) -> Iterator[Problem]:
    try:
        read_dives(connection, "1")
    except LogbookError:
        for (dive_id,) in connection.execute("SELECT id FROM dives ORDER BY began_at").fetchall():
            try:
                read_dives(connection, "dives.id = ?", [dive_id])
            except LogbookError as error:
                yield Problem("", "", str(error))


def _samples_of_no_dive(connection: sqlite3.Connection) -> Iterator[Problem]:
    rows = connection.execute("SELECT sha256, length(samples) FROM profiles").fetchall()
    named = _names_of_samples(connection)
    spare = [length for name, length in rows if name not in named]
    if spare:
        sentence = ngettext(
            "{count} recording is named by no dive. It takes {kilobytes} kB and does no harm.",
            "{count} recordings are named by no dive. They take {kilobytes} kB and do no harm.",
            len(spare),
        )
        yield Problem("", "", sentence.format(count=len(spare), kilobytes=-(-sum(spare) // 1000)))


def _names_of_samples(connection: sqlite3.Connection) -> set[str]:
    """Every name of samples that a dive has, had before a change, or keeps of a recording that was split."""
    named = {name for (name,) in connection.execute("SELECT profile_sha256 FROM recordings")}
    told = connection.execute(
        "SELECT extra FROM dives UNION ALL SELECT dives FROM imports"
        " UNION ALL SELECT before FROM history UNION ALL SELECT after FROM history"
    )
    return named.union(*(_NAME_OF_SAMPLES.findall(text) for (text,) in told if isinstance(text, str)))


def _numbers_given_twice(connection: sqlite3.Connection) -> Iterator[Problem]:
    rows = connection.execute(
        "SELECT number, group_concat(substr(began_at, 1, 16), ', ') FROM"
        " (SELECT number, began_at FROM dives"
        "  WHERE number IS NOT NULL AND binned_at IS NULL AND diver = '' ORDER BY began_at)"
        " GROUP BY number HAVING count(*) > 1 ORDER BY number"
    )
    for number, when in islice(rows, 100):
        sentence = _("Several dives have the number {number}: those of {when}. Give each one of its own.")
        yield Problem("", "", sentence.format(number=number, when=when))

"""What can be taken along: dives as CSV and UDDF, a progress card, everything of one's own, a backup.

Dives go out as the viewer sees them, everything of one's own as the club holds it.
"""

from __future__ import annotations

import json
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from logbook_app.analysis.experience_rules import said
from logbook_app.analysis.experience_words import (
    VERDICTS,
    confirmed_words,
    have_words,
    missing_words,
    name_words,
    names_of,
    source_words,
    summary_words,
)
from logbook_app.analysis.spoken_times import date_alone
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.files.dives_csv import write_dives_csv
from logbook_app.files.uddf.writer import write_uddf
from logbook_app.language import _
from logbook_app.sync.changes import blobs_named
from logbook_app.sync.merging import values_of
from logbook_app.sync.shown_dives import SHOWN
from logbook_app.sync.sign_offs import SIGN_OFF
from server.pages.progress import asked_for
from server.pages.visit import Handed, Told, Visit
from server.reading import SeenDive, whole_blob

CSV, UDDF, PDF, ZIP = "text/csv; charset=utf-8", "application/xml", "application/pdf", "application/zip"
DATABASE: Final = "application/vnd.sqlite3"


def dives_csv(visit: Visit) -> Told:
    """Give a member's dives as a table, those that the viewer may see."""
    with _file("dives.csv") as path:
        write_dives_csv(path, [each.dive for each in _dives(visit)])
        return Handed(path.read_bytes(), CSV, "dives.csv")


def dives_uddf(visit: Visit) -> Told:
    """Give a member's dives with their samples, those that the viewer may see."""
    seen = {each.key: each for each in _dives(visit)}

    def profiles_of(dive: Dive) -> list[Profile | None]:
        return [visit.reading.profile(seen[dive.id])]

    with _file("dives.uddf") as path:
        write_uddf(path, [each.dive for each in seen.values()], profiles_of, visit.now)
        return Handed(path.read_bytes(), UDDF, "dives.uddf")


def progress_pdf(visit: Visit) -> Told:
    """Give a member's progress toward one set of requirements as a card to print."""
    from logbook_app.files.pdf.progress_card import CardLine, progress_card  # loads the PDF library

    member, rules = asked_for(visit)
    answer, _evidence = visit.progress.answer(member, rules, visit.name_of)
    names = names_of(visit.requirement_sets())
    lines = [
        CardLine(
            name_words(each.requirement, names),
            _(VERDICTS[each.verdict]),
            tuple(filter(None, (have_words(each), missing_words(each, names), confirmed_words(each)))),
        )
        for each in answer.answers
    ]
    title = f"{member.name}: {said(rules.program)}, {said(rules.name)}"
    under = f"{visit.name}, {date_alone(visit.today)}"
    foot = (summary_words(answer), source_words(rules), said(rules.note))
    data = progress_card(title, under, lines, [each for each in foot if each])
    return Handed(data, PDF, "progress.pdf")


def everything(visit: Visit) -> Told:
    """Give everything that the club holds of the viewer: records, samples and photos, what was signed."""
    store, member = visit.home.store, visit.member
    signed = [
        each.key for each in visit.register.for_whom(SIGN_OFF, member.id) if visit.reading.may_see(each.key)
    ]
    records = {key: store.record(key) for key in [*store.keys_of(member.id), *signed]}
    told = {
        "member": {"id": member.id, "name": member.name, "role": member.role, "signs_as": member.signs_as},
        "club": visit.name,
        "records": {key: values_of(record) for key, record in records.items() if record},
    }
    names = {name for record in records.values() for name in blobs_named(record)}
    with _file("everything.zip") as path:
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("records.json", json.dumps(told, ensure_ascii=False, indent=1))
            for name in sorted(names):
                if (data := whole_blob(store, name)) is not None:
                    archive.writestr(f"blobs/{name}", data)
        return Handed(path.read_bytes(), ZIP, "everything.zip")


def backup(visit: Visit) -> Told:
    """Give the whole club as one file, to be kept apart and put back with `restore`."""
    with _file("club.sqlite") as path:
        visit.home.back_up(path)
        with visit.home.store.change():
            visit.home.trail.write(visit.now_ms, visit.member.id, "took a backup")
        return Handed(path.read_bytes(), DATABASE, "club.sqlite")


def _dives(visit: Visit) -> list[SeenDive]:
    member = visit.member_named(visit.asked.place["member"])
    keys = [each.key for each in visit.register.of_owner(SHOWN, member.id)]
    return sorted(visit.reading.dives(keys), key=lambda each: (each.dive.began_at, each.key))


@contextmanager
def _file(name: str) -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="leadline-") as folder:
        yield Path(folder) / name
